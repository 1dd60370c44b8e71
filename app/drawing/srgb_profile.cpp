#include "app/drawing/srgb_profile.h"

#include <array>
#include <cmath>
#include <cstdint>
#include <utility>
#include <vector>

namespace app {
namespace {

void put16(std::string& out, unsigned value) {
  out += static_cast<char>(value >> 8 & 0xFF);
  out += static_cast<char>(value & 0xFF);
}

void put32(std::string& out, std::uint32_t value) {
  put16(out, value >> 16);
  put16(out, value & 0xFFFF);
}

void put_fixed(std::string& out, double value) {  // s15Fixed16Number
  put32(out, static_cast<std::uint32_t>(std::lround(value * 65536)));
}

std::string xyz(const std::array<double, 3>& value) {
  std::string out("XYZ \0\0\0\0", 8);
  for (const double part : value) put_fixed(out, part);
  return out;
}

std::string curve() {
  constexpr unsigned kSteps = 1024;
  std::string out("curv\0\0\0\0", 8);
  put32(out, kSteps);
  for (unsigned i = 0; i < kSteps; ++i) {
    const double v = i / (kSteps - 1.0);
    const double linear = v <= 0.04045 ? v / 12.92 : std::pow((v + 0.055) / 1.055, 2.4);
    put16(out, static_cast<unsigned>(std::lround(linear * 65535)));
  }
  return out;
}

std::string description(const std::string& words) {
  std::string out("desc\0\0\0\0", 8);
  put32(out, static_cast<std::uint32_t>(words.size() + 1));
  out += words;
  out.append(1 + 4 + 4 + 2 + 1 + 67, '\0');  // its end; no Unicode, no script code
  return out;
}

}  // namespace

std::string srgb_profile() {
  const std::string shared_curve = curve();
  const std::vector<std::pair<const char*, std::string>> tags{
      {"desc", description("sRGB IEC61966-2.1")},
      {"cprt", std::string("text\0\0\0\0No copyright\0", 21)},
      {"wtpt", xyz({0.95045, 1, 1.08905})},  // D65
      {"rXYZ", xyz({0.43607, 0.22249, 0.01392})},
      {"gXYZ", xyz({0.38515, 0.71687, 0.09708})},
      {"bXYZ", xyz({0.14307, 0.06061, 0.71410})},
      {"rTRC", shared_curve},
      {"gTRC", shared_curve},
      {"bTRC", shared_curve},
  };
  std::string table, data;
  put32(table, static_cast<std::uint32_t>(tags.size()));
  const std::size_t first = 128 + 4 + 12 * tags.size();
  std::size_t curve_at = 0;
  for (const auto& [name, bytes] : tags) {
    const bool again = name[1] == 'T' && curve_at > 0;
    const std::size_t at = again ? curve_at : first + data.size();
    if (name[1] == 'T') curve_at = at;
    table += name;
    put32(table, static_cast<std::uint32_t>(at));
    put32(table, static_cast<std::uint32_t>(bytes.size()));
    if (again) continue;
    data += bytes;
    data.append((4 - data.size() % 4) % 4, '\0');
  }
  std::string out;
  put32(out, static_cast<std::uint32_t>(first + data.size()));
  put32(out, 0);           // made for no module
  put32(out, 0x02400000);  // version 2.4
  out += "mntrRGB XYZ ";
  for (const unsigned part : {2026u, 1u, 1u, 0u, 0u, 0u}) put16(out, part);
  out += "acsp";
  out.append(28, '\0');  // platform, flags, maker, model, attributes, perceptual
  put_fixed(out, 0.9642), put_fixed(out, 1), put_fixed(out, 0.8249);  // D50
  out.append(48, '\0');
  return out + table + data;
}

}  // namespace app
