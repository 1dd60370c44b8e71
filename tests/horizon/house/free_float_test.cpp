// The free-float cases of ASHRAE Standard 140-2020 with the standard's own weather. Every value used
// stands beside the standard's in docs/references.md.
#include <doctest/doctest.h>

#include <cmath>
#include <functional>

#include "horizon/house/air.h"
#include "horizon/house/heat_zone.h"
#include "horizon/house/house_weather.h"
#include "horizon/house/sky_temperature.h"
#include "tests/csv_rows.h"
#include "tests/horizon/house/denver_year.h"

using namespace horizon;

namespace {

constexpr double kAlbedo = 0.2, kSolarAbsorptance = 0.6;
constexpr double kAirVolume_m3 = 129.6, kAirDensity_kg_m3 = 1.2041 * 0.829;
struct Sun {
  SiteSun site{sun_steps(denver::kPlace, 2023, -7, 5), Skyline(), Masks{}};
  HouseWeather weather = *house_weather(denver::year(), site);
  std::vector<float> on(const PlaneHours& plane, float PlaneShares::*part) const {
    std::vector<float> out(8760);
    const PlaneHours level = site.plane({TrueAzimuth(), 0}, PaneAngles::opaque());
    for (int h = 0; h < 8760; ++h) {
      const HouseHour& w = weather.hours[h];
      const int m = month_of_hour(h);
      out[h] = w.sun_normal * plane.sun[h].*part + w.isotropic * plane.sky[m].*part +
               w.band * plane.band.*part +
               static_cast<float>(kAlbedo) * w.global * plane.ground.*part;
    }
    return out;
  }
  std::vector<float> wall(double facing, double tilt) const {
    return on(site.plane({TrueAzimuth::degrees(facing), tilt}, PaneAngles::opaque()),
              &PlaneShares::incident);
  }
};
const Sun& sun() {
  static const Sun s;
  return s;
}

PaneAngles pane() {
  std::vector<PaneAngles::Row> rows;
  for (const CsvRow& row : csv_rows("house/double_glazing_angles.csv"))
    if (row.text.at("angle_deg") != "hemispherical")
      rows.push_back(
          {row["angle_deg"], row["transmittance"], row["absorbed_outer"], row["absorbed_inner"]});
  return PaneAngles(rows);
}

struct Face {
  HeatElement element;
  double outside_film = 11.9;
  const std::vector<float>* sun = nullptr;
  double inside_share = 0;
};

HeatElement opaque(double area, std::vector<HeatLayer> layers, double inside_film, double sky) {
  HeatElement e;
  e.area_m2 = area;
  e.layers = std::move(layers);
  e.inside = HeatElement::Inside::constant;
  e.inside_film_w_m2k = inside_film;
  e.sky_share = sky;
  return e;
}

std::vector<HeatLayer> wall_layers(bool heavy) {
  if (heavy)
    return {solid_layer(.100, .51, 1400, 1000, 4), solid_layer(.0615, .04, 10, 1400, 1),
            solid_layer(.009, .14, 530, 900, 1)};
  return {solid_layer(.012, .16, 950, 840, 1), solid_layer(.066, .04, 12, 840, 1),
          solid_layer(.009, .14, 530, 900, 1)};
}
std::vector<HeatLayer> floor_layers(bool heavy) {
  if (heavy) return {solid_layer(.080, 1.13, 1400, 1000, 4), resistance_layer(25.175)};
  return {solid_layer(.025, .14, 650, 1200, 1), resistance_layer(25.075)};
}
std::vector<HeatLayer> roof_layers() {
  return {solid_layer(.010, .16, 950, 840, 1), solid_layer(.1118, .04, 12, 840, 1),
          solid_layer(.019, .14, 530, 900, 1)};
}

HeatElement window() {
  // U 2.10 between the standard's combined films of 17.8 outside and 4.5 inside.
  HeatElement e = opaque(12, {resistance_layer(1 / 2.10 - 1 / 17.8 - 1 / 4.5)}, 2.4, 0.5);
  e.inside_emittance = e.outside_emittance = 0.84;  // [from memory]
  return e;
}

struct Box {
  std::vector<Face> faces;
  int window = -1;
  std::vector<float> through, outer, inner;  // W/m2 of window
  void add(Face face) { faces.push_back(std::move(face)); }
  HeatZone zone(double start_c, double volume = kAirVolume_m3) const {
    std::vector<HeatElement> elements;
    for (const Face& f : faces) elements.push_back(f.element);
    return HeatZone(volume * kAirDensity_kg_m3 * kAirHeat_j_kgk, elements, start_c);
  }
  void load(HeatZone& zone, int h) const {
    for (size_t i = 0; i < faces.size(); ++i) {
      HeatLoad& l = zone.loads[i];
      l.outside_film_w_m2k = faces[i].outside_film;
      l.outside_w_m2 = faces[i].sun ? kSolarAbsorptance * (*faces[i].sun)[h] : 0;
      l.inside_w_m2 = 0;
      if (window >= 0)
        l.inside_w_m2 = faces[i].inside_share * through[h] * faces[window].element.area_m2 /
                        faces[i].element.area_m2;
      if (static_cast<int>(i) == window) {
        l.outside_w_m2 = outer[h];
        l.inside_w_m2 += inner[h];
      }
    }
  }
};

void glaze(Box& box, double glass_m2) {
  const PlaneHours south = sun().site.plane({TrueAzimuth::degrees(180), 90}, pane());
  box.through = sun().on(south, &PlaneShares::through);
  box.outer = sun().on(south, &PlaneShares::outer);
  box.inner = sun().on(south, &PlaneShares::inner);
  Face glass{window(), 8.0};
  glass.element.area_m2 = glass_m2;
  box.window = static_cast<int>(box.faces.size());
  box.add(glass);
}

// Skies of walls, kept for as long as the test runs.
const std::vector<float>& on_wall(double facing, double tilt) {
  static std::map<std::pair<double, double>, std::vector<float>> kept;
  auto [at, fresh] = kept.try_emplace({facing, tilt});
  if (fresh) at->second = sun().wall(facing, tilt);
  return at->second;
}

Box box_600(bool heavy) {
  Box box;
  const auto wall = wall_layers(heavy);
  box.add({opaque(21.6, wall, 2.2, .5), 11.9, &on_wall(0, 90), .053});    // north
  box.add({opaque(16.2, wall, 2.2, .5), 11.9, &on_wall(90, 90), .038});   // east
  box.add({opaque(16.2, wall, 2.2, .5), 11.9, &on_wall(270, 90), .038});  // west
  box.add({opaque(9.6, wall, 2.2, .5), 11.9, &on_wall(180, 90), .027});   // south, net
  box.add({opaque(48, roof_layers(), 1.8, 1), 14.4, &on_wall(0, 0), .167});
  box.add({opaque(48, floor_layers(heavy), 2.2, 0), 0.8, nullptr, .642});
  glaze(box, 12);
  return box;
}

struct Stats {
  double low = 1e9, mean = 0, high = -1e9;
  int low_hour = 0, high_hour = 0;
  void add(double c, int h) {
    if (c < low) low = c, low_hour = h;
    if (c > high) high = c, high_hour = h;
    mean += c / 8760;
  }
};

constexpr int kSteps = 6;

double sky_c(int h) {
  const HouseHour& w = sun().weather.hours[h];
  return sky_temperature_c(w.air_c, w.dew_c, w.cloud, sun().site.hours()[h].sky_term,
                           sun().weather.pressure_pa);
}

// A year after two months of running in.
void year_of(const std::function<void(int h, double outside_c, int step)>& each) {
  const auto& hours = sun().weather.hours;
  for (int i = -60 * 24; i < 8760; ++i) {
    const int h = (i + 8760) % 8760;
    const double before = hours[(h + 8759) % 8760].air_c, now = hours[h].air_c;
    for (int s = 0; s < kSteps; ++s) each(i, before + (now - before) * (s + 1.0) / kSteps, s);
  }
}

Stats free_float(const Box& box, bool night_vent) {
  HeatZone zone = box.zone(10);
  Stats stats;
  double sum = 0;
  year_of([&](int i, double outside, int s) {
    const int h = (i + 8760) % 8760;
    if (s == 0) {
      box.load(zone, h);
      zone.hour.sky_c = sky_c(h);
      const double w_k_ach = kAirVolume_m3 * kAirHeat_j_kgk / 3600;
      zone.hour.exchange_w_k = 0.5 * w_k_ach * kAirDensity_kg_m3;
      // 10.87 air changes of standard air.
      if (night_vent && (h % 24 >= 18 || h % 24 < 7))
        zone.hour.exchange_w_k += 10.87 * w_k_ach * 1.2041;
      zone.hour.convective_w = 80;
      zone.hour.radiative_w = 120;
      zone.begin_hour(3600.0 / kSteps);
      sum = 0;
    }
    zone.step(outside);
    sum += zone.air_c() / kSteps;
    if (s == kSteps - 1 && i >= 0) stats.add(sum, h);
  });
  return stats;
}

// The sun space against a back room held at 20 to 27 C, the wall between them shared.
Stats sun_space() {
  Box back, front;
  const auto light = wall_layers(false), heavy = wall_layers(true);
  back.add({opaque(21.6, light, 2.2, .5), 11.9, &on_wall(0, 90)});
  back.add({opaque(16.2, light, 2.2, .5), 11.9, &on_wall(90, 90)});
  back.add({opaque(16.2, light, 2.2, .5), 11.9, &on_wall(270, 90)});
  back.add({opaque(48, roof_layers(), 1.8, 1), 14.4, &on_wall(0, 0)});
  back.add({opaque(48, floor_layers(false), 2.2, 0), 0.8});
  // The shared wall's far face as the back room feels it.
  HeatElement far = opaque(21.6, {resistance_layer(1e-4)}, 2.2, 0);
  far.outside = HeatElement::Outside::fixed;
  back.add({far, 1e5});

  HeatElement common = opaque(21.6, {solid_layer(.20, .51, 1400, 1000, 8)}, 2.2, 0);
  common.outside = HeatElement::Outside::fixed;
  front.add({common, 2.2, nullptr, .2});
  front.add({opaque(5.4, heavy, 2.2, .5), 11.9, &on_wall(90, 90), .02});
  front.add({opaque(5.4, heavy, 2.2, .5), 11.9, &on_wall(270, 90), .02});
  front.add({opaque(9.6, heavy, 2.2, .5), 11.9, &on_wall(180, 90), .03});
  front.add({opaque(16, roof_layers(), 1.8, 1), 14.4, &on_wall(0, 0), .05});
  front.add({opaque(16, floor_layers(true), 2.2, 0), 0.8, nullptr, .6});
  glaze(front, 12);

  HeatZone b = back.zone(20), f = front.zone(20, 43.2);
  Stats stats;
  double sum = 0;
  year_of([&](int i, double outside, int s) {
    const int h = (i + 8760) % 8760;
    const double w_k_ach = kAirHeat_j_kgk / 3600 * kAirDensity_kg_m3;
    if (s == 0) {
      back.load(b, h);
      front.load(f, h);
      b.hour.sky_c = f.hour.sky_c = sky_c(h);
      b.hour.exchange_w_k = 0.5 * kAirVolume_m3 * w_k_ach;
      f.hour.exchange_w_k = 0.5 * 43.2 * w_k_ach;
      b.hour.convective_w = 80;
      b.hour.radiative_w = 120;
      b.hour.heat_below_c = 20;
      b.hour.cool_above_c = 27;
    }
    // Each step takes the other's last.
    const double convective = 2.2, radiative = 0.9 * 4 * kStefanBoltzmann * std::pow(293.15, 3);
    f.loads[0].outside_film_w_m2k = convective + radiative;
    f.loads[0].outside_c =
        (convective * b.air_c() + radiative * b.radiant_c()) / (convective + radiative);
    b.loads[5].outside_c = f.outside_face_c(0);
    if (s == 0) {
      f.begin_hour(3600.0 / kSteps);
      b.begin_hour(3600.0 / kSteps);
      sum = 0;
    }
    f.step(outside);
    b.step(outside);
    sum += f.air_c() / kSteps;
    if (s == kSteps - 1 && i >= 0) stats.add(sum, h);
  });
  return stats;
}

struct Range {
  double low, high;
};
Range range_of(const std::string& name, const std::string& stat) {
  for (const CsvRow& row : csv_rows("house/free_float_ranges.csv"))
    if (row.text.at("case") == name && row.text.at("stat") == stat) return {row["min"], row["max"]};
  FAIL("no such case");
  return {};
}

void check_case(const std::string& name, const Stats& s) {
  INFO(name << ": " << s.low << " (day " << s.low_hour / 24 + 1 << " h " << s.low_hour % 24 + 1
            << ") mean " << s.mean << " high " << s.high << " (day " << s.high_hour / 24 + 1
            << " h " << s.high_hour % 24 + 1 << ")");
  const auto within = [&](const char* stat, double value) {
    const Range r = range_of(name, stat);
    CHECK_MESSAGE(value >= r.low - 0.05, name << " " << stat << " " << value << " < " << r.low);
    CHECK_MESSAGE(value <= r.high + 0.05, name << " " << stat << " " << value << " > " << r.high);
  };
  within("min", s.low);
  within("mean", s.mean);
  within("max", s.high);
}

}  // namespace

TEST_CASE("the light on the walls of ASHRAE 140 lies in the published ranges [published]") {
  const auto sum = [](const std::vector<float>& v) {
    double s = 0;
    for (float x : v) s += x / 1000;
    return s;
  };
  const double north = sum(on_wall(0, 90)), east = sum(on_wall(90, 90)),
               south = sum(on_wall(180, 90)), west = sum(on_wall(270, 90)),
               level = sum(on_wall(0, 0));
  INFO("N " << north << " E " << east << " S " << south << " W " << west << " level " << level);
  // ASHRAE 140-2020, table B8-13, kWh/m2 a.
  CHECK(level > 1663 - 5);
  CHECK(level < 1670 + 5);
  CHECK(north > 399);
  CHECK(north < 477);
  CHECK(east > 1017);
  CHECK(east < 1068);
  CHECK(south > 1291);
  CHECK(south < 1387);
  CHECK(west > 903);
  CHECK(west < 997);
}

TEST_CASE("the sky's temperature of ASHRAE 140 lies in the published ranges [published]") {
  double mean = 0, low = 99, high = -99;
  for (int h = 0; h < 8760; ++h) {
    const double c = sky_c(h);
    mean += c / 8760;
    low = std::min(low, c);
    high = std::max(high, c);
  }
  INFO("sky " << mean << " " << low << " " << high);
  // Table B8-16; 0.2 K for dew points out of humidities in whole percent.
  CHECK(mean > -5.9 - .05);
  CHECK(mean < -2.0 + .05);
  CHECK(low > -46.9 - .2);
  CHECK(low < -38.0 + .05);
  CHECK(high > 24.6 - .05);
  CHECK(high < 30.1 + .05);
}

TEST_CASE("the light free-float boxes of ASHRAE 140 lie in the published ranges [published]") {
  check_case("600FF", free_float(box_600(false), false));
  check_case("650FF", free_float(box_600(false), true));
}

TEST_CASE("the heavy free-float boxes of ASHRAE 140 lie in the published ranges [published]") {
  check_case("900FF", free_float(box_600(true), false));
  check_case("950FF", free_float(box_600(true), true));
}

TEST_CASE("the sun space of ASHRAE 140 lies in the published range [published]") {
  check_case("960 sunspace", sun_space());
}
