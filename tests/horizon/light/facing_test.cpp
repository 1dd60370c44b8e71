#include "horizon/light/facing.h"

#include <doctest/doctest.h>

#include "horizon/light/plane_light.h"
#include "tests/near.h"

using namespace horizon;

namespace {

struct Site {
  SunSteps sun;
  std::vector<SkyStep> sky;
  Skyline skyline;
  std::optional<SiteLight> light;
  Site(double latitude, Skyline line = {}, int stride = 1, SkyInput input = {})
      : sun(sun_steps({latitude, 10.3, 500}, 2025, 1, 10, stride)), skyline(std::move(line)) {
    sky = sky_steps(sun, input);
    light.emplace(sun, sky, skyline, skyline.points.empty() ? Masks{} : masks_of(skyline),
                  GroundSlope{}, kGrassAlbedo, 0.2);
  }
};

Skyline valley(double high_from, double high_to, double height) {
  Skyline skyline;
  skyline.obstacles.push_back({Kind::ridge, "ridge"});
  for (int az = 0; az < 360; az += 5) {
    SkylinePoint point;
    point.azimuth = TrueAzimuth::degrees(az);
    point.elevation = Elevation::degrees(az >= high_from && az <= high_to ? height : 2);
    skyline.points.push_back(point);
  }
  return skyline;
}

}  // namespace

TEST_CASE(
    "without a skyline glazing faces true south in the north, true north in the south "
    "[common practice]") {
  for (double latitude : {35.0, 46.6, 60.0, -35.0, -45.0}) {
    const Site site(latitude, {}, 2);
    const auto found = facings_of(*site.light, TransmittanceCurve(twin_wall_polycarbonate()), {});
    const TrueAzimuth equator = TrueAzimuth::degrees(latitude > 0 ? 180 : 0);
    for (const FacingFinding& f : found) {
      INFO(latitude << " season " << static_cast<int>(f.season));
      CHECK_NEAR(clockwise_deg(equator, f.best.plane.facing), 0, 1);
      CHECK(f.solar_south.loss < 0.001);
      // East and west of it alike.
      for (int turn = 1; turn < kFacings / 2; ++turn) {
        const int middle = latitude > 0 ? 36 : 0;
        const double east = f.surface.at((middle + kFacings - turn) % kFacings, 24);
        const double west = f.surface.at((middle + turn) % kFacings, 24);
        CHECK_NEAR(east / west, 1, 0.005);
      }
    }
  }
}

TEST_CASE(
    "a glazing of 30 degrees loses only a few percent of the shoulder seasons' best near 51 N "
    "[common practice]") {
  const Site site(51);
  const auto found = facings_of(*site.light, TransmittanceCurve(twin_wall_polycarbonate()), {});
  const FacingFinding& shoulder = found[static_cast<int>(Season::shoulder)];
  MESSAGE("51 N, shoulder seasons, clear sky: best tilt "
          << shoulder.best.plane.tilt_deg << ", 30 degrees loses " << 100 * shoulder.tilt_30.loss
          << " %");
  CHECK(shoulder.tilt_30.loss > 0.005);
  CHECK(shoulder.tilt_30.loss < 0.09);
  // The weather of such places, sunshine for two fifths of the day, flattens it further.
  SkyInput cloudy;
  cloudy.source = SkySource::normals;
  cloudy.normals.emplace();
  cloudy.normals->values.fill(0.4);
  const Site usual(51, {}, 1, cloudy);
  const auto by_weather =
      facings_of(*usual.light, TransmittanceCurve(twin_wall_polycarbonate()), {});
  const FacingFinding& typical = by_weather[static_cast<int>(Season::shoulder)];
  MESSAGE("51 N, shoulder seasons, sunshine 40 %: best tilt "
          << typical.best.plane.tilt_deg << ", 30 degrees loses " << 100 * typical.tilt_30.loss
          << " %");
  CHECK(typical.tilt_30.loss < 0.07);
  CHECK(typical.tilt_30.loss < shoulder.tilt_30.loss);
  // Over the winter half it is no few percent any more.
  CHECK(found[0].tilt_30.loss > 0.12);
}

TEST_CASE("a valley that is open to the south-east turns the best facing there [property]") {
  const Site site(46.6, valley(170, 330, 30));
  const auto found = facings_of(*site.light, TransmittanceCurve(twin_wall_polycarbonate()),
                                Plane{TrueAzimuth::degrees(200), 45});
  const FacingFinding& f = found[0];
  CHECK(f.best.plane.facing.degrees() > 120);
  CHECK(f.best.plane.facing.degrees() < 165);
  CHECK(f.solar_south.loss > 0.03);
  REQUIRE(f.chosen);
  CHECK(f.chosen->loss > f.solar_south.loss);
  // Bands hold the best and each other.
  const double best = f.best.plane.facing.degrees();
  CHECK(f.within_5.from.degrees() < f.within_2.from.degrees());
  CHECK(f.within_2.from.degrees() < best);
  CHECK(best < f.within_2.to.degrees());
  CHECK(f.within_2.to.degrees() < f.within_5.to.degrees());
  CHECK(f.tilt_within_5.from_deg <= f.tilt_within_2.from_deg);
  // The ends of the band lose what they say.
  const double at_end = f.surface.interpolated({f.within_5.from, f.best.plane.tilt_deg});
  CHECK_NEAR(at_end / f.best.kwh_m2, 0.95, 0.006);
  CHECK_NEAR(f.loss_by_tilt[12], f.tilt_30.loss, 0.002);
}

TEST_CASE("the gathered sum is the sum over the steps [property]") {
  const Site site(46.6, valley(100, 140, 18));
  const TransmittanceCurve glazing(triple_wall_polycarbonate());
  CHECK(Sources::Passed(glazing).error() < 0.001);
  const auto found = facings_of(*site.light, glazing, {});
  for (const FacingFinding& f : found)
    for (const Plane& p : {f.best.plane, Plane{TrueAzimuth::degrees(90), 30}}) {
      double direct = 0;
      const auto months = site.light->months(p, glazing);
      for (int m = 0; m < 12; ++m)
        if (f.months >> m & 1) direct += months[m].through_kwh_m2;
      const double gathered =
          p.facing == f.best.plane.facing ? f.best.kwh_m2 : f.surface.at(18, 12);
      CHECK_NEAR(gathered / direct, 1, 0.003);
    }
}

// Snow slides from 30 degrees on. [common practice, no source]
TEST_CASE("[common practice] the best from 30 degrees on is 30 where the best of all is flatter") {
  const Site site(15, {}, 2);
  const TransmittanceCurve glazing(triple_wall_polycarbonate());
  int flatter = 0;
  for (const FacingFinding& f : facings_of(*site.light, glazing, {})) {
    CHECK(f.best_from_30.plane.tilt_deg >= 30);
    CHECK(f.best_from_30.loss <= f.tilt_30.loss + 1e-9);
    if (f.best.plane.tilt_deg >= 30) {
      CHECK(f.best_from_30.plane.tilt_deg == f.best.plane.tilt_deg);
      continue;
    }
    ++flatter;
    CHECK(f.best_from_30.plane.tilt_deg <= 32.5);
  }
  CHECK(flatter > 0);
}

TEST_CASE("seasons hold the months they are named for [property]") {
  CHECK(months_of(Season::winter_half, false) == 0b111000000111);
  CHECK(months_of(Season::winter_half, true) == 0b000111111000);
  CHECK(months_of(Season::year, false) == 0xFFF);
}
