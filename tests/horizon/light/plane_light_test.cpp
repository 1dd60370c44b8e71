#include "horizon/light/plane_light.h"

#include <doctest/doctest.h>

#include <cmath>

#include "horizon/light/growing_light.h"
#include "horizon/light/solar_terms.h"
#include "horizon/light/transposition.h"
#include "tests/horizon/skylines.h"
#include "tests/near.h"

using namespace horizon;

namespace {

struct Bench {
  SunSteps sun;
  std::vector<SkyStep> sky;
  explicit Bench(double latitude = 46.6, SkyInput input = {}, int stride = 1)
      : sun(sun_steps({latitude, 10.3, 1480}, 2025, 1, 10, stride)), sky(sky_steps(sun, input)) {}
  SiteLight site(const Skyline& skyline = {}, GroundSlope slope = {}, double albedo = 0.2) const {
    Monthly all;
    all.fill(albedo);
    return SiteLight(sun, sky, skyline, skyline.points.empty() ? Masks{} : masks_of(skyline), slope,
                     all, 0.2);
  }
};

const TransmittanceCurve kOpen{no_glazing()};
Plane plane(double facing, double tilt) { return {TrueAzimuth::degrees(facing), tilt}; }
double yearly(const std::array<PlaneMonth, 12>& months, double PlaneMonth::*part) {
  double total = 0;
  for (const PlaneMonth& m : months) total += m.*part;
  return total;
}

}  // namespace

TEST_CASE("the monthly ratio of beam on a tilted plane to the level [published]") {
  // Liu & Jordan 1963 as in Duffie & Beckman eq. 2.19.3: 40 N, 60 degrees south, mean day of the
  // month. Our sun is the true one, theirs Cooper's, up to a degree off: 3 %.
  const SunSteps sun = sun_steps({40, 0, 0}, 2025, 0, 5);
  const struct {
    int day;
    double ratio;
  } rows[] = {{17, 2.507}, {47, 1.880}, {105, 0.906}, {198, 0.618}, {344, 2.730}};
  for (const auto& row : rows) {
    double tilted = 0, level = 0;
    for (const SunStep& s : sun.steps) {
      if (s.day != row.day - 1 || s.up <= 0) continue;
      level += s.up;
      tilted += std::max(0.0, s.up * std::cos(60 * kDegree) - s.north * std::sin(60 * kDegree));
    }
    CHECK_NEAR(tilted / level, row.ratio, 0.03 * row.ratio);
  }
}

TEST_CASE("the disc's share over a line: circle segments [published]") {
  // Area of a segment, r^2 (acos d - d sqrt(1 - d^2)); Abramowitz & Stegun 3.3.
  CHECK_NEAR(disc_shown(0, 0, 0.27), 0.5, 1e-9);
  CHECK_NEAR(disc_shown(0.135, 0.135, 0.27),
             1 - (std::acos(0.5) - 0.5 * std::sqrt(0.75)) / std::numbers::pi, 1e-6);
  CHECK_NEAR(disc_shown(-0.27, 0.27, 0.27), 0.5, 1e-9);
  CHECK_NEAR(disc_shown(-1, 1, 0.27), 0.5, 1e-9);
  CHECK(disc_shown(0.3, 5, 0.27) == 1);
  CHECK(disc_shown(-0.3, -5, 0.27) == 0);
  for (double d = -0.4; d < 0.4; d += 0.01)
    CHECK_NEAR(disc_shown(d, d + 1e-5, 0.27), disc_shown(d, d, 0.27), 1e-3);
}

TEST_CASE("open level ground gets the sky's global radiation [property]") {
  const Bench bench;
  const SiteLight site = bench.site();
  for (int m = 0; m < 12; ++m) CHECK_NEAR(site.level_kwh_m2()[m], site.open_kwh_m2()[m], 0.15);
  const auto level = site.months(plane(180, 0), kOpen);
  for (int m = 0; m < 12; ++m) CHECK_NEAR(level[m].on_plane_kwh_m2(), site.open_kwh_m2()[m], 0.2);
}

TEST_CASE("a tilted plane without a skyline is Perez 1990 summed over the steps [published]") {
  // The model itself is checked against printed values in transposition_test.
  Bench bench(46.6, {}, 3);
  // Above 6 degrees, where the published form holds.
  for (size_t i = 0; i < bench.sky.size(); ++i)
    if (bench.sun.steps[i].up <= 0.1) bench.sky[i] = {};
  const SiteLight site = bench.site();
  for (const Plane& p : {plane(180, 60), plane(140, 30), plane(200, 90)}) {
    double total = 0;
    for (size_t i = 0; i < bench.sun.steps.size(); ++i) {
      const SunStep& s = bench.sun.steps[i];
      if (s.up <= 0.1) continue;
      const double el = std::asin(s.up) / kDegree, az = std::atan2(s.east, s.north) / kDegree;
      const double c = cos_incidence(p.tilt_deg, p.facing.degrees(), el, az);
      const double diffuse = bench.sky[i].global - bench.sky[i].beam_normal * s.up;
      const double e0 = kSolarConstant_wm2 * distance_factor(s.day + 1);
      const PerezSky perez =
          perez_sky(bench.sky[i].beam_normal, diffuse, e0, 90 - el, air_mass_kasten_young(90 - el));
      total += perez_diffuse(perez, diffuse, 90 - el, c, p.tilt_deg).total_wm2() +
               bench.sky[i].beam_normal * std::max(0.0, c) +
               ground_reflected_wm2(bench.sky[i].global, 0.2, p.tilt_deg);
    }
    const double ours = [&] {
      double sum = 0;
      for (const PlaneMonth& m : site.months(p, kOpen)) sum += m.on_plane_kwh_m2();
      return sum;
    }();
    CHECK_NEAR(ours / (total * bench.sun.step_h / 1000), 1, 0.002);
  }
}

TEST_CASE("a skyline that hides everything leaves only reflection [property]") {
  const Bench bench(46.6, {}, 5);
  const SiteLight site = bench.site(ring(90));
  const auto months = site.months(plane(180, 60), kOpen);
  for (int m = 0; m < 12; ++m) {
    CHECK(months[m].beam_kwh_m2 == 0);
    CHECK_NEAR(months[m].sky_kwh_m2, 0, 1e-6);
    CHECK(months[m].reflected_kwh_m2 > 0);
    // Three quarters of what a plane of 60 degrees sees is the hillside, in open light.
    CHECK(months[m].reflected_kwh_m2 >= 0.75 * 0.2 * site.open_kwh_m2()[m] * 0.99);
    CHECK_NEAR(months[m].on_plane_kwh_m2(), months[m].through_kwh_m2, 1e-3);
  }
}

TEST_CASE("beam over a full sphere of planes is a quarter of the beam [property]") {
  const Bench bench(30, {}, 20);
  const SiteLight site = bench.site();
  double normal = 0, planes = 0;
  for (size_t i = 0; i < bench.sun.steps.size(); ++i)
    normal += bench.sky[i].sun_normal * bench.sun.step_h / 1000;
  const int rings = 40, spokes = 36;
  for (int r = 0; r < rings; ++r)
    for (int s = 0; s < spokes; ++s)
      planes += yearly(
          site.months(plane(s * 10.0, std::acos(-1 + (r + 0.5) * 2 / rings) / kDegree), kOpen),
          &PlaneMonth::beam_kwh_m2);
  CHECK_NEAR(planes / (rings * spokes) / normal, 0.25, 0.0005);
}

TEST_CASE("the hours of a weather file come back as the months' sums [property]") {
  auto year = std::make_shared<WeatherYear>();
  year->place = {46.6, 10.3, 1480};
  year->utc_offset_h = 1;
  constexpr int days[12] = {31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31};
  for (int m = 1; m <= 12; ++m)
    for (int d = 1; d <= days[m - 1]; ++d)
      for (int h = 1; h <= 24; ++h) {
        WeatherHour hour;
        hour.month = m;
        hour.day = d;
        hour.hour = h;
        if (h > 10 && h <= 14) hour.diffuse_horizontal_wm2 = hour.global_horizontal_wm2 = 100;
        year->hours.push_back(hour);
      }
  SkyInput input;
  input.source = SkySource::weather;
  input.weather = year;
  const Bench bench(46.6, input);
  const SiteLight site = bench.site({}, {}, 0);
  // Four hours of 100 W/m2 a day.
  CHECK_NEAR(site.open_kwh_m2()[0], 31 * 0.4, 0.01);
  CHECK_NEAR(site.open_kwh_m2()[6], 31 * 0.4, 0.01);
}

TEST_CASE("monthly normals come back as the months' means [property]") {
  SkyInput input;
  input.source = SkySource::normals;
  MonthlyNormals normals;
  normals.what = MonthlyNormals::What::global_kwh_m2_day;
  // A high valley near 47 N, kWh/m2 a day.
  normals.values = {1.5, 2.5, 3.9, 4.9, 5.5, 5.9, 5.9, 5.0, 4.0, 2.7, 1.7, 1.3};
  input.normals = normals;
  REQUIRE(check_sky(input, {46.6, 10.3, 1480}));
  const Bench bench(46.6, input);
  const SiteLight site = bench.site();
  constexpr int days[12] = {31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31};
  for (int m = 0; m < 12; ++m)
    CHECK_NEAR(site.open_kwh_m2()[m] / days[m], normals.values[m], 0.02 * normals.values[m]);

  // Sunshine for half the day: 0.25 + 0.50 x 0.5 of what arrives outside (FAO-56 eq. 35).
  normals.what = MonthlyNormals::What::sunshine_fraction;
  normals.values.fill(0.5);
  for (double k : monthly_clearness(normals, 46.6)) CHECK_NEAR(k, 0.5, 1e-12);
}

TEST_CASE("wrong normals name the month and the cure [property]") {
  SkyInput input;
  input.source = SkySource::normals;
  CHECK(!check_sky(input, {46.6, 10.3, 0}));
  MonthlyNormals normals;
  normals.values.fill(0.4);
  normals.values[2] = 40;  // a percentage
  input.normals = normals;
  CHECK(check_sky(input, {46.6, 10.3, 0}).error().where == "March");
  normals.what = MonthlyNormals::What::global_kwh_m2_day;
  normals.values = {1.5, 2.5, 3.9, 4.9, 5.5, 21.0, 5.9, 5.0, 4.0, 2.7, 1.7, 1.3};  // MJ in June
  input.normals = normals;
  CHECK(check_sky(input, {46.6, 10.3, 0}).error().where == "June");
}

TEST_CASE("leaves let their share through, by the month [property]") {
  const Bench bench(46.6, {}, 5);
  const SiteLight bare = bench.site(), leafy = bench.site(ring(30, Kind::leafy)),
                  wood = bench.site(ring(30, Kind::evergreen));
  const Plane p = plane(180, 60);
  const auto a = bare.months(p, kOpen), b = leafy.months(p, kOpen), c = wood.months(p, kOpen);
  // December's sun stays under 30 degrees: bare trees let 60 % through, evergreens nothing.
  CHECK_NEAR(b[11].beam_kwh_m2 / a[11].beam_kwh_m2, 0.60, 0.005);
  CHECK(c[11].beam_kwh_m2 == 0);
  // June's morning and evening sun meets leaves.
  CHECK(b[5].beam_kwh_m2 > c[5].beam_kwh_m2);
  CHECK(b[5].beam_kwh_m2 < 0.99 * a[5].beam_kwh_m2);
}

TEST_CASE("the slope at the station hides the sun that stands below it [property]") {
  const Bench bench(46.6, {}, 5);
  // A 35 degree slope to the north: no midwinter sun.
  const SiteLight north = bench.site({}, {35, TrueAzimuth::degrees(0)});
  CHECK(north.months(plane(180, 60), kOpen)[11].beam_kwh_m2 == 0);
  CHECK(north.months(plane(180, 60), kOpen)[5].beam_kwh_m2 > 10);
  const SiteLight south = bench.site({}, {35, TrueAzimuth::degrees(180)});
  CHECK_NEAR(south.months(plane(180, 60), kOpen)[11].beam_kwh_m2,
             bench.site().months(plane(180, 60), kOpen)[11].beam_kwh_m2, 1e-6);
}

TEST_CASE(
    "glazing takes the light that its angles take, and the bed less than open ground "
    "[property]") {
  const Bench bench(46.6, {}, 5);
  const SiteLight site = bench.site();
  const TransmittanceCurve glass(double_glass());
  const Plane p = plane(180, 60);
  const auto months = site.months(p, glass);
  for (const PlaneMonth& m : months) {
    CHECK(m.through_kwh_m2 < m.on_plane_kwh_m2() * glass(1));
    CHECK(m.through_kwh_m2 > m.on_plane_kwh_m2() * 0.5);
  }
  // Ten MJ of sunlight are 20.6 mol; the bed gets less than the open field.
  CHECK_NEAR(10 * kPhotonsPerMegajoule, 20.6, 1e-9);
  const std::vector<double> bed = site.bed_mol_m2(p, glass);
  for (int d = 0; d < 365; d += 5)
    CHECK(bed[d] < site.open_daily_kwh_m2()[d] * 3.6 * kPhotonsPerMegajoule);
  CHECK(bed[355] > 0);
}

TEST_CASE("southern, polar and equatorial skies are answers [property]") {
  for (double latitude : {-45.0, 0.0, 70.0, -80.0, 89.9}) {
    const Bench bench(latitude, {}, 10);
    const SiteLight site = bench.site();
    for (const PlaneMonth& m : site.months(plane(180, 45), kOpen)) {
      CHECK(std::isfinite(m.on_plane_kwh_m2()));
      CHECK(m.on_plane_kwh_m2() >= -1e-6);
    }
  }
}
