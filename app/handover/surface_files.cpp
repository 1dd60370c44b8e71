#include <algorithm>
#include <cmath>
#include <cstdint>
#include <cstdio>
#include <cstring>
#include <nlohmann/json.hpp>

#include "app/handover/surfaces.h"

namespace app {
namespace {

using nlohmann::ordered_json;

std::string layer_of(const Surface& surface) {
  std::string name = surface.open ? "open" : std::string(horizon::name_of(surface.kind));
  for (char& c : name) c = static_cast<char>(std::toupper(static_cast<unsigned char>(c)));
  return (surface.near ? "NEAR_" : "RING_") + name;
}

// AutoCAD colour index: 8 grey, 92 dark green, 40 ochre, 252 light grey, 250 dark, 1 red.
int color_index(const Surface& surface) {
  if (surface.open) return 1;
  switch (surface.kind) {
    case horizon::Kind::evergreen:
      return 92;
    case horizon::Kind::leafy:
      return 40;
    case horizon::Kind::building:
      return 252;
    case horizon::Kind::pole:
      return 250;
    case horizon::Kind::ridge:
      break;
  }
  return 8;
}

void pair(std::string& out, int code, const std::string& value) {
  char head[8];
  std::snprintf(head, sizeof head, "%3d\n", code);
  out += head + value + "\n";
}

std::string metres(double value) {
  char text[40];
  std::snprintf(text, sizeof text, "%.5f", value);
  return text;
}

// Release 12 reads ASCII; a comment may hold nothing else.
std::string ascii(const std::string& text) {
  std::string out;
  for (char c : text) {
    if (static_cast<unsigned char>(c) < 0x20) continue;
    if (static_cast<unsigned char>(c) < 0x80) out += c;
  }
  return out;
}

std::string base64(const std::string& bytes) {
  constexpr const char* kDigits =
      "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/";
  std::string out;
  for (std::size_t i = 0; i < bytes.size(); i += 3) {
    std::uint32_t block = 0;
    const std::size_t count = std::min<std::size_t>(3, bytes.size() - i);
    for (std::size_t k = 0; k < 3; ++k) {
      block = block << 8 | (k < count ? static_cast<unsigned char>(bytes[i + k]) : 0u);
    }
    for (std::size_t k = 0; k < 4; ++k) {
      out += k <= count ? kDigits[block >> (18 - 6 * k) & 63] : '=';
    }
  }
  return out;
}

ordered_json material(const Surface& surface) {
  double r = .36, g = .44, b = .51;
  if (surface.open) {
    r = .8, g = .35, b = .28;
  } else if (surface.kind == horizon::Kind::evergreen) {
    r = .18, g = .42, b = .30;
  } else if (surface.kind == horizon::Kind::leafy) {
    r = .74, g = .57, b = .20;
  } else if (surface.kind == horizon::Kind::building) {
    r = .55, g = .50, b = .46;
  } else if (surface.kind == horizon::Kind::pole) {
    r = .17, g = .18, b = .19;
  }
  return {
      {"name", layer_of(surface)},
      {"doubleSided", true},
      {"pbrMetallicRoughness",
       {{"baseColorFactor", {r, g, b, 1.0}}, {"metallicFactor", 0.0}, {"roughnessFactor", 1.0}}}};
}

}  // namespace

std::string dxf_of(const ShadingModel& model, const std::string& title) {
  std::string out;
  pair(out, 999, ascii(title));
  pair(out, 999, "metres; x east, y north (true), z up; origin on the ground under the eye");
  pair(out, 999, "eye at 0, 0, " + metres(model.eye_height_m));
  pair(out, 0, "SECTION");
  pair(out, 2, "HEADER");
  pair(out, 9, "$ACADVER");
  pair(out, 1, "AC1009");
  double reach = 1;
  for (const auto& surface : model.surfaces) {
    for (const auto& face : surface.faces) {
      for (const auto& v : face) reach = std::max({reach, std::abs(v.x), std::abs(v.y), v.z});
    }
  }
  for (const auto& [name, sign] : {std::pair{"$EXTMIN", -1.0}, std::pair{"$EXTMAX", 1.0}}) {
    pair(out, 9, name);
    for (int code : {10, 20, 30}) pair(out, code, metres(sign * reach));
  }
  pair(out, 0, "ENDSEC");
  pair(out, 0, "SECTION");
  pair(out, 2, "TABLES");
  pair(out, 0, "TABLE");
  pair(out, 2, "LAYER");
  std::vector<std::pair<std::string, int>> layers;
  for (const auto& surface : model.surfaces) {
    const std::pair<std::string, int> layer{layer_of(surface), color_index(surface)};
    if (std::find(layers.begin(), layers.end(), layer) == layers.end()) layers.push_back(layer);
  }
  pair(out, 70, std::to_string(layers.size()));
  for (const auto& [name, color] : layers) {
    pair(out, 0, "LAYER");
    pair(out, 2, name);
    pair(out, 70, "0");
    pair(out, 62, std::to_string(color));
    pair(out, 6, "CONTINUOUS");
  }
  pair(out, 0, "ENDTAB");
  pair(out, 0, "ENDSEC");
  pair(out, 0, "SECTION");
  pair(out, 2, "ENTITIES");
  for (const auto& surface : model.surfaces) {
    for (const auto& face : surface.faces) {
      pair(out, 0, "3DFACE");
      pair(out, 8, layer_of(surface));
      for (int i = 0; i < 4; ++i) {
        const Vertex& v = face[static_cast<std::size_t>(i)];
        pair(out, 10 + i, metres(v.x));
        pair(out, 20 + i, metres(v.y));
        pair(out, 30 + i, metres(v.z));
      }
    }
  }
  pair(out, 0, "ENDSEC");
  pair(out, 0, "EOF");
  return out;
}

std::string gltf_of(const ShadingModel& model, const std::string& title) {
  std::string buffer;
  ordered_json gltf;
  gltf["asset"] = {{"version", "2.0"}, {"generator", "Adret"}};
  gltf["asset"]["extras"] = {{"title", title},
                             {"unit", "m"},
                             {"frame", "x east, y up, z south (true); origin on the ground"},
                             {"eye_height_m", model.eye_height_m}};
  gltf["scene"] = 0;
  ordered_json nodes = ordered_json::array(), meshes = ordered_json::array(),
               materials = ordered_json::array(), accessors = ordered_json::array(),
               views = ordered_json::array(), children = ordered_json::array();
  for (const auto& surface : model.surfaces) {
    const auto look = material(surface);
    auto known = std::find(materials.begin(), materials.end(), look);
    if (known == materials.end()) {
      materials.push_back(look);
      known = materials.end() - 1;
    }
    const auto material_index = known - materials.begin();
    std::vector<float> points;
    std::vector<std::uint32_t> corners;
    float low[3] = {1e30f, 1e30f, 1e30f}, high[3] = {-1e30f, -1e30f, -1e30f};
    for (const auto& face : surface.faces) {
      const auto base = static_cast<std::uint32_t>(points.size() / 3);
      for (const auto& v : face) {
        const float p[3] = {static_cast<float>(v.x), static_cast<float>(v.z),
                            static_cast<float>(-v.y)};
        for (int a = 0; a < 3; ++a) {
          low[a] = std::min(low[a], p[a]);
          high[a] = std::max(high[a], p[a]);
        }
        points.insert(points.end(), p, p + 3);
      }
      for (std::uint32_t k : {0u, 1u, 2u, 0u, 2u, 3u}) corners.push_back(base + k);
    }
    const auto add_view = [&](const void* data, std::size_t bytes, int target) {
      views.push_back({{"buffer", 0},
                       {"byteOffset", buffer.size()},
                       {"byteLength", bytes},
                       {"target", target}});
      buffer.append(static_cast<const char*>(data), bytes);
      return views.size() - 1;
    };
    const auto point_view = add_view(points.data(), points.size() * 4, 34962);
    accessors.push_back({{"bufferView", point_view},
                         {"componentType", 5126},
                         {"count", points.size() / 3},
                         {"type", "VEC3"},
                         {"min", {low[0], low[1], low[2]}},
                         {"max", {high[0], high[1], high[2]}}});
    const auto corner_view = add_view(corners.data(), corners.size() * 4, 34963);
    accessors.push_back({{"bufferView", corner_view},
                         {"componentType", 5125},
                         {"count", corners.size()},
                         {"type", "SCALAR"}});
    meshes.push_back({{"primitives",
                       {{{"attributes", {{"POSITION", accessors.size() - 2}}},
                         {"indices", accessors.size() - 1},
                         {"material", material_index}}}}});
    children.push_back(nodes.size());
    nodes.push_back({{"name", surface.name},
                     {"mesh", meshes.size() - 1},
                     {"extras",
                      {{"kind", surface.open ? "open" : horizon::name_of(surface.kind)},
                       {"at_measured_distance", surface.near},
                       {"distance_m", surface.distance_m}}}});
  }
  gltf["scenes"] = {{{"name", title}, {"nodes", children}}};
  gltf["nodes"] = nodes;
  gltf["meshes"] = meshes;
  gltf["materials"] = materials;
  gltf["accessors"] = accessors;
  gltf["bufferViews"] = views;
  gltf["buffers"] = {{{"byteLength", buffer.size()},
                      {"uri", "data:application/octet-stream;base64," + base64(buffer)}}};
  return gltf.dump(1) + "\n";
}

}  // namespace app
