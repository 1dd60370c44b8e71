// The plan as IFC4: a site with its place on the grid, the ground, the obstacles, the skyline, the
// lines and the places for the house, each with its figures as properties.
// Source: ISO 16739-1:2018; ISO 10303-21:2016 for the file
#include <algorithm>
#include <cmath>
#include <cstdint>
#include <cstdio>

#include "survey/exchange/plan_files.h"
#include "survey/exchange/plan_text.h"

namespace survey {
namespace {

using Eigen::Vector2d;
using Eigen::Vector3d;
using Properties = std::vector<std::pair<std::string, std::string>>;  // name, value as written

std::string real(double value, int decimals = 4) {
  char text[48];
  std::snprintf(text, sizeof text, "%.*f", decimals, value == 0 ? 0.0 : value);
  return text;
}

std::string quoted(const std::string& text) {
  std::string out = "'";
  for (const char32_t c : code_points(text)) {
    if (c < 0x20) continue;
    if (c == '\'' || c == '\\') {
      out += std::string(2, static_cast<char>(c));
    } else if (c < 0x7F) {
      out += static_cast<char>(c);
    } else {
      char code[24];
      std::snprintf(code, sizeof code, c > 0xFFFF ? "\\X4\\%08X\\X0\\" : "\\X2\\%04X\\X0\\",
                    static_cast<unsigned>(c));
      out += code;
    }
  }
  return out + "'";
}
std::string length(double metres) { return "IFCLENGTHMEASURE(" + real(metres) + ")"; }
std::string figure(double value) { return "IFCREAL(" + real(value) + ")"; }
std::string label(const std::string& words) { return "IFCLABEL(" + quoted(words) + ")"; }

// 128 bits out of a key, in the 22 letters of the standard. The same key, the same id.
std::string global_id(const std::string& key) {
  constexpr const char* kDigits =
      "0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz_$";
  std::uint64_t half[2] = {0xcbf29ce484222325ull, 0x84222325cbf29ce4ull};
  for (auto& h : half)
    for (const char c : key) h = (h ^ static_cast<unsigned char>(c)) * 0x100000001b3ull;
  half[1] = half[1] * 0x9e3779b97f4a7c15ull ^ half[1] >> 29;
  std::string out(22, '0');
  for (int i = 21; i >= 0; --i) {
    out[static_cast<std::size_t>(i)] = kDigits[half[1] & 63];
    half[1] = half[1] >> 6 | half[0] << 58;
    half[0] >>= 6;
  }
  return out;
}

std::string ref(int id) { return "#" + std::to_string(id); }
template <class Each, class Say>
std::string list(const Each& each, Say&& say) {
  std::string out = "(";
  for (const auto& one : each) out += (out.size() > 1 ? "," : "") + say(one);
  return out + ")";
}
std::string refs(const std::vector<int>& ids) { return list(ids, ref); }

class File {
 public:
  File(const horizon::SitePlan& plan, const std::string& made_utc, const std::string& software)
      : plan_(plan), made_utc_(made_utc), software_(software) {}

  std::string whole() {
    frame();
    ground();
    for (const auto& thing : plan_.obstacles) obstacle(thing);
    for (const auto& station : plan_.stations) this->station(station);
    for (const auto& l : plan_.lines) line(l);
    for (const auto& house : plan_.houses) this->house(house);
    for (const auto& probe : plan_.probes) this->probe(probe);
    for (const auto& hazard : plan_.hazards) this->hazard(hazard);
    site_properties();
    if (!contained_.empty())
      add("IFCRELCONTAINEDINSPATIALSTRUCTURE(" + id("contained") + ",$,$,$," + refs(contained_) +
          "," + ref(site_) + ")");
    const std::string stamp = made_utc_.substr(0, 19);
    return "ISO-10303-21;\nHEADER;\nFILE_DESCRIPTION(('ViewDefinition [ReferenceView_V1.2]'),'2;1');\n"
           "FILE_NAME(" +
           quoted("site.ifc") + "," + quoted(stamp) + ",(''),('')," + quoted(software_) + "," +
           quoted(software_) + ",'');\nFILE_SCHEMA(('IFC4'));\nENDSEC;\nDATA;\n" + out_ +
           "ENDSEC;\nEND-ISO-10303-21;\n";
  }

 private:
  int add(const std::string& entity) {
    out_ += ref(++last_) + "=" + entity + ";\n";
    return last_;
  }
  std::string id(const std::string& key) { return quoted(global_id(plan_.site + "/" + key)); }
  int point(const Vector3d& p) {
    return add("IFCCARTESIANPOINT((" + real(p.x()) + "," + real(p.y()) + "," + real(p.z()) + "))");
  }

  // Degrees as degrees, minutes, seconds, millionths.
  static std::string compound(double degrees) {
    const double sign = degrees < 0 ? -1 : 1;
    const auto millionths = static_cast<long long>(std::llround(std::abs(degrees) * 3600e6));
    const auto say = [&](long long v) { return std::to_string(static_cast<long long>(sign) * v); };
    return "(" + say(millionths / 3600000000) + "," + say(millionths / 60000000 % 60) + "," +
           say(millionths / 1000000 % 60) + "," + say(millionths % 1000000) + ")";
  }

  void frame() {
    const int metre = add("IFCSIUNIT(*,.LENGTHUNIT.,$,.METRE.)");
    const int units = add("IFCUNITASSIGNMENT(" +
                          refs({metre, add("IFCSIUNIT(*,.PLANEANGLEUNIT.,$,.RADIAN.)"),
                                add("IFCSIUNIT(*,.AREAUNIT.,$,.SQUARE_METRE.)"),
                                add("IFCSIUNIT(*,.VOLUMEUNIT.,$,.CUBIC_METRE.)")}) +
                          ")");
    const int axes = add("IFCAXIS2PLACEMENT3D(" + ref(point({0, 0, 0})) + ",$,$)");
    const int north = add("IFCDIRECTION((0.,1.))");
    const int context = add("IFCGEOMETRICREPRESENTATIONCONTEXT($,'Model',3,1.E-5," + ref(axes) +
                            "," + ref(north) + ")");
    const auto part = [&](const char* name, const char* view) {
      return add("IFCGEOMETRICREPRESENTATIONSUBCONTEXT(" + quoted(name) + ",'Model',*,*,*,*," +
                 ref(context) + ",$,." + view + ".,$)");
    };
    body_ = part("Body", "MODEL_VIEW");
    drawn_ = part("Annotation", "MODEL_VIEW");
    const int project = add("IFCPROJECT(" + id("project") + ",$," + quoted(plan_.site) +
                            ",$,$,$,$," + refs({context}) + "," + ref(units) + ")");
    if (plan_.grid) {
      const auto& grid = *plan_.grid;
      const double turn = grid.convergence_deg * horizon::kDegree;
      const std::string vertical =
          plan_.height_datum == "ellipsoid" ? "'WGS 84 ellipsoid'" : "'sea level, as surveyed'";
      const int crs = add("IFCPROJECTEDCRS(" + quoted(grid.code) + "," + quoted(grid.name) + ",$," +
                          vertical + ",$,$," + ref(metre) + ")");
      add("IFCMAPCONVERSION(" + ref(context) + "," + ref(crs) + "," + real(grid.easting) + "," +
          real(grid.northing) + "," + real(plan_.origin.height_m) + "," + real(std::cos(turn), 12) +
          "," + real(std::sin(turn), 12) + "," + real(grid.scale, 10) + ")");
    }
    placement_ = add("IFCLOCALPLACEMENT($," + ref(axes) + ")");
    site_ = add("IFCSITE(" + id("site") + ",$," + quoted(plan_.site) + ",$,$," + ref(placement_) +
                ",$,$,.ELEMENT.," + compound(plan_.origin.latitude_deg) + "," +
                compound(plan_.origin.longitude_deg) + "," + real(plan_.origin.height_m) + ",$,$)");
    add("IFCRELAGGREGATES(" + id("project/site") + ",$,$,$," + ref(project) + "," + refs({site_}) +
        ")");
  }

  int shape(int context, const char* name, const char* type, int item) {
    const int representation = add("IFCSHAPEREPRESENTATION(" + ref(context) + "," + quoted(name) +
                                   "," + quoted(type) + "," + refs({item}) + ")");
    return add("IFCPRODUCTDEFINITIONSHAPE($,$," + refs({representation}) + ")");
  }
  int faces(const std::vector<Vector3d>& points, const std::vector<std::array<int, 3>>& triangles) {
    const int corners =
        add("IFCCARTESIANPOINTLIST3D(" +
            list(points,
                 [](const Vector3d& p) {
                   return "(" + real(p.x()) + "," + real(p.y()) + "," + real(p.z()) + ")";
                 }) +
            ")");
    const int set = add("IFCTRIANGULATEDFACESET(" + ref(corners) + ",$,.F.," +
                        list(triangles,
                             [](const std::array<int, 3>& t) {
                               return "(" + std::to_string(t[0] + 1) + "," +
                                      std::to_string(t[1] + 1) + "," + std::to_string(t[2] + 1) +
                                      ")";
                             }) +
                        ",$)");
    return shape(body_, "Body", "Tessellation", set);
  }
  int curve(std::vector<Vector3d> points, bool closed) {
    if (closed && !points.empty()) points.push_back(points.front());
    std::vector<int> ids;
    for (const auto& p : points) ids.push_back(point(p));
    const int joined = add("IFCPOLYLINE(" + refs(ids) + ")");
    return shape(drawn_, "Annotation", "Curve3D", joined);
  }

  void properties(int of, const std::string& key, const std::string& set, const Properties& all) {
    std::vector<int> ids;
    for (const auto& [name, value] : all)
      ids.push_back(add("IFCPROPERTYSINGLEVALUE(" + quoted(name) + ",$," + value + ",$)"));
    if (ids.empty()) return;
    const int made =
        add("IFCPROPERTYSET(" + id(key + "/set") + ",$," + quoted(set) + ",$," + refs(ids) + ")");
    add("IFCRELDEFINESBYPROPERTIES(" + id(key + "/by") + ",$,$,$," + refs({of}) + "," + ref(made) +
        ")");
  }
  int element(const std::string& key, const std::string& name, const std::string& type, int shown) {
    const std::string kind = type == "Terrain" ? ".TERRAIN." : ".USERDEFINED.";
    const int made =
        add("IFCGEOGRAPHICELEMENT(" + id(key) + ",$," + quoted(name) + ",$," + quoted(type) + "," +
            ref(placement_) + "," + (shown ? ref(shown) : std::string("$")) + ",$," + kind + ")");
    contained_.push_back(made);
    return made;
  }
  int annotation(const std::string& key, const std::string& name, const std::string& type,
                 int shown) {
    const int made = add("IFCANNOTATION(" + id(key) + ",$," + quoted(name) + ",$," + quoted(type) +
                         "," + ref(placement_) + "," + ref(shown) + ")");
    contained_.push_back(made);
    return made;
  }

  void ground() {
    if (plan_.ground_triangles.empty()) return;
    const int made =
        element("ground", "Ground", "Terrain", faces(plan_.ground, plan_.ground_triangles));
    Properties all = {
        {"LevelledPoints", "IFCINTEGER(" + std::to_string(plan_.ground.size()) + ")"}};
    if (plan_.slope) {
      all.push_back({"SlopeDegrees", figure(plan_.slope->slope_deg)});
      all.push_back({"DownhillTrueDegrees", figure(plan_.slope->downhill_true_deg)});
    }
    properties(made, "ground", "Adret_Ground", all);
  }

  double ground_at(const Vector2d& p) const {
    // The nearest levelled point, else the origin's: feet of walls only have to reach below it.
    double best = 1e18, up = 0;
    for (const auto& g : plan_.ground)
      if (const double d = (g.head<2>() - p).squaredNorm(); d < best) best = d, up = g.z();
    return up;
  }

  void obstacle(const horizon::PlanObstacle& thing) {
    std::vector<Vector3d> points;
    std::vector<std::array<int, 3>> triangles;
    const bool known = thing.placing != horizon::Placing::direction;
    const auto top_of = [&](const horizon::PlanPoint& p) {
      return p.up_m.value_or(ground_at(p.flat()) + thing.height_m);
    };
    if (known && thing.radius_m) {
      round(thing, top_of(thing.tops.front()), points, triangles);
    } else if (known) {
      for (const auto& p : thing.tops) {
        points.emplace_back(p.east_m, p.north_m, top_of(p));
        points.emplace_back(p.east_m, p.north_m,
                            std::min(top_of(p) - thing.height_m, top_of(p) - 0.1));
      }
      for (int i = 0; i + 3 < static_cast<int>(points.size()); i += 2) {
        triangles.push_back({i, i + 1, i + 2});
        triangles.push_back({i + 2, i + 1, i + 3});
      }
    }
    const std::string key = "obstacle/" + std::string(name_of(thing.kind)) + "/" + thing.name;
    int shown = 0;
    if (!triangles.empty())
      shown = faces(points, triangles);
    else if (known && points.size() == 2)
      shown = curve(points, false);
    constexpr const char* kTypes[] = {"Ridge", "EvergreenTree", "LeafyTree", "Building", "Pole"};
    const int made = element(key, thing.name, kTypes[static_cast<int>(thing.kind)], shown);
    constexpr const char* kPlacings[] = {"placed", "rough", "direction only"};
    Properties all = {{"Placing", label(kPlacings[static_cast<int>(thing.placing)])},
                      {"SeenFromStations", "IFCINTEGER(" + std::to_string(thing.stations) + ")"}};
    if (!thing.note.empty()) all.push_back({"Note", "IFCTEXT(" + quoted(thing.note) + ")"});
    if (known) {
      all.push_back({"Height", length(thing.height_m)});
      all.push_back({"HeightSigma", length(thing.height_sigma_m)});
      all.push_back({"Width", length(thing.width_m)});
      if (thing.ellipse) {
        all.push_back({"PlaceSigmaMajor", length(thing.ellipse->major_m)});
        all.push_back({"PlaceSigmaMinor", length(thing.ellipse->minor_m)});
        all.push_back(
            {"PlaceSigmaMajorTrueDegrees", figure(thing.ellipse->major_azimuth.degrees())});
      }
    } else {
      all.push_back({"BearingTrueDegrees", figure(thing.azimuth_deg)});
    }
    properties(made, key, "Adret_Obstacle", all);
  }

  // A cone, or a ball on a stem.
  static void round(const horizon::PlanObstacle& thing, double top, std::vector<Vector3d>& points,
                    std::vector<std::array<int, 3>>& triangles) {
    constexpr int kRound = 16;
    const Vector2d at = thing.tops.front().flat();
    const double radius = *thing.radius_m, foot = top - thing.height_m;
    struct Ring {
      double up, radius;
    };
    std::vector<Ring> rings;
    if (thing.kind == horizon::Kind::leafy)
      for (const double t : {-60.0, -30.0, 0.0, 30.0, 60.0})
        rings.push_back({top - radius + radius * std::sin(t * horizon::kDegree),
                         radius * std::cos(t * horizon::kDegree)});
    else
      rings.push_back({foot, radius});
    points.emplace_back(at.x(), at.y(), top);
    for (const auto& ring : rings)
      for (int i = 0; i < kRound; ++i) {
        const double t = 360.0 / kRound * i * horizon::kDegree;
        points.emplace_back(at.x() + ring.radius * std::cos(t), at.y() + ring.radius * std::sin(t),
                            std::max(ring.up, foot));
      }
    const int last = static_cast<int>(rings.size()) - 1;
    for (int i = 0; i < kRound; ++i) {
      const int n = (i + 1) % kRound;
      triangles.push_back({0, 1 + last * kRound + i, 1 + last * kRound + n});
      for (int r = 0; r < last; ++r) {
        const int a = 1 + r * kRound;
        triangles.push_back({a + i, a + n, a + kRound + i});
        triangles.push_back({a + n, a + kRound + n, a + kRound + i});
      }
    }
  }

  void station(const horizon::PlanStation& station) {
    const Vector3d at(station.ground.east_m, station.ground.north_m,
                      station.ground.up_m.value_or(0));
    const int cross = curve({at, at + Vector3d(0, 0, station.eye_height_m)}, false);
    const std::string key = "station/" + station.name;
    const int made = annotation(key, station.name, "Station", cross);
    Properties all = {{"Main", station.main ? "IFCBOOLEAN(.T.)" : "IFCBOOLEAN(.F.)"},
                      {"EyeHeight", length(station.eye_height_m)}};
    if (station.winter_sun_h_day)
      all.push_back({"WinterSunHoursADay", figure(*station.winter_sun_h_day)});
    if (station.ground.sigma_m) all.push_back({"PlaceSigma", length(*station.ground.sigma_m)});
    properties(made, key, "Adret_Station", all);
    if (station.skyline.size() < 3) return;
    // As far out as it is drawn; only its direction from the eye is known.
    constexpr double kOut_m = 1000;
    std::vector<Vector3d> line;
    const Vector3d eye = at + Vector3d(0, 0, station.eye_height_m);
    double highest = -90;
    for (const auto& p : station.skyline) {
      const double az = p.x() * horizon::kDegree;
      highest = std::max(highest, p.y());
      const Vector3d next =
          eye + kOut_m * Vector3d(std::sin(az), std::cos(az), std::tan(p.y() * horizon::kDegree));
      if (line.empty() || (line.back() - next).norm() > 1e-3) line.push_back(next);
    }
    const int sky = element("skyline/" + station.name, "Skyline from " + station.name, "Skyline",
                            curve(line, true));
    properties(sky, "skyline/" + station.name, "Adret_Skyline",
               {{"FromStation", label(station.name)},
                {"DrawnAt", length(kOut_m)},
                {"HighestDegrees", figure(highest)}});
  }

  void line(const horizon::PlanLine& l) {
    std::vector<Vector3d> points;
    for (const auto& p : l.points)
      points.emplace_back(p.east_m, p.north_m, p.up_m.value_or(ground_at(p.flat())));
    if (points.size() < 2) return;
    const std::string kind(name_of(l.kind));
    annotation("line/" + kind + "/" + l.name + "/" + std::to_string(contained_.size()),
               l.name.empty() ? kind : l.name, kind, curve(points, l.closed));
  }

  void house(const horizon::PlanHouse& house) {
    double low = 1e9;
    for (const auto& peg : house.pegs)
      low = std::min(low, peg.at.up_m.value_or(ground_at(peg.at.flat())));
    std::vector<Vector3d> points;
    for (const double up : {low, low + house.height_m})
      for (const auto& peg : house.pegs) points.emplace_back(peg.at.east_m, peg.at.north_m, up);
    std::vector<std::array<int, 3>> triangles = {{0, 2, 1}, {0, 3, 2}, {4, 5, 6}, {4, 6, 7}};
    for (int i = 0; i < 4; ++i) {
      const int n = (i + 1) % 4;
      triangles.push_back({i, n, i + 4});
      triangles.push_back({n, n + 4, i + 4});
    }
    const int shown = faces(points, triangles);
    const std::string key = "house/" + house.name;
    const int made =
        add("IFCBUILDINGELEMENTPROXY(" + id(key) + ",$," + quoted("Place " + house.name) + ",$," +
            quoted(std::string(name_of(house.choice))) + "," + ref(placement_) + "," + ref(shown) +
            ",$,.PROVISIONFORSPACE.)");
    contained_.push_back(made);
    Properties all = {{"Choice", label(std::string(name_of(house.choice)))},
                      {"FacingTrueDegrees", figure(house.facing_true_deg)},
                      {"Length", length(house.length_m)},
                      {"Depth", length(house.depth_m)},
                      {"WinterSunHoursADay", figure(house.winter_h_day.value)},
                      {"WinterSunHoursADayLow", figure(house.winter_h_day.low)},
                      {"WinterSunHoursADayHigh", figure(house.winter_h_day.high)}};
    for (const auto& peg : house.pegs)
      if (plan_.grid) {
        all.push_back({"Peg" + peg.name + "Easting", length(peg.easting)});
        all.push_back({"Peg" + peg.name + "Northing", length(peg.northing)});
      }
    properties(made, key, "Adret_House", all);
  }

  void probe(const horizon::PlanProbe& probe) {
    if (!probe.at) return;
    const double up = probe.at->up_m.value_or(ground_at(probe.at->flat()));
    const Vector3d top(probe.at->east_m, probe.at->north_m, up);
    const std::string key = "probe/" + probe.name;
    const int made =
        annotation(key, probe.name, probe.percolation ? "PercolationTest" : "SoilPit",
                   curve({top, top - Vector3d(0, 0, probe.depth_m.value_or(0.5))}, false));
    Properties all;
    if (probe.depth_m) all.push_back({"Depth", length(*probe.depth_m)});
    if (probe.water_m) all.push_back({"WaterBelowSurface", length(*probe.water_m)});
    if (probe.rock_m) all.push_back({"RockBelowSurface", length(*probe.rock_m)});
    properties(made, key, "Adret_Probe", all);
  }

  void hazard(const horizon::PlanHazard& hazard) {
    if (!hazard.at) return;
    const Vector3d at(hazard.at->east_m, hazard.at->north_m, hazard.at->up_m.value_or(0));
    const std::string key = "hazard/" + hazard.kind + "/" + hazard.text;
    const int made = annotation(key, hazard.text.empty() ? hazard.kind : hazard.text, "Hazard",
                                curve({at, at + Vector3d(0, 0, 2)}, false));
    properties(made, key, "Adret_Hazard",
               {{"Kind", label(hazard.kind)},
                {"Severity", "IFCINTEGER(" + std::to_string(hazard.severity) + ")"}});
  }

  void site_properties() {
    Properties all = {{"OriginStation", label(plan_.origin_station)},
                      {"HeightDatum", label(plan_.height_datum)}};
    if (plan_.height_sigma_m) all.push_back({"HeightSigma", length(*plan_.height_sigma_m)});
    if (plan_.declination_deg)
      all.push_back({"DeclinationDegreesEast", figure(*plan_.declination_deg)});
    if (plan_.grid) all.push_back({"ConvergenceDegreesEast", figure(plan_.grid->convergence_deg)});
    if (plan_.compass_off_deg)
      all.push_back({"CompassReadsLowDegrees", figure(*plan_.compass_off_deg)});
    for (const auto& station : plan_.stations)
      if (station.main && station.winter_sun_h_day)
        all.push_back({"WinterSunHoursADay", figure(*station.winter_sun_h_day)});
    std::string missing;
    for (const auto& each : plan_.unknown)
      missing += (missing.empty() ? "" : "; ") + each.key.substr(each.key.rfind('.') + 1) +
                 (each.filled.empty() ? "" : " (" + each.filled + ")");
    if (!missing.empty()) all.push_back({"NotKnown", "IFCTEXT(" + quoted(missing) + ")"});
    properties(site_, "site", "Adret_Site", all);
  }

  const horizon::SitePlan& plan_;
  std::string made_utc_, software_, out_;
  int last_ = 0, body_ = 0, drawn_ = 0, placement_ = 0, site_ = 0;
  std::vector<int> contained_;
};

}  // namespace

std::string plan_ifc(const horizon::SitePlan& plan, const std::string& made_utc,
                     const std::string& software) {
  return File(plan, made_utc, software).whole();
}

}  // namespace survey
