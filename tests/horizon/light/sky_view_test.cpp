#include "horizon/light/sky_view.h"

#include <doctest/doctest.h>

#include <initializer_list>

#include "tests/horizon/skylines.h"
#include "tests/near.h"

using namespace horizon;

namespace {

// The same elevation all round.
Masks even(double elevation_deg, Kind kind = Kind::ridge) {
  return masks_of(ring(elevation_deg, kind));
}

double sum(const SkyView& v) { return v.sky + v.behind_leaves + v.ground + v.skyline; }

}  // namespace

TEST_CASE("a flat horizon gives (1 + cos tilt) / 2 [published]") {
  // Liu & Jordan 1963; the isotropic case 40 degrees, 100 W/m2 -> 88.30222216.
  CHECK_NEAR(100 * sky_view(Masks{}, {TrueAzimuth::degrees(180), 40}).sky, 88.30222216, 0.001);
  for (double tilt = 0; tilt <= 180; tilt += 7.5)
    for (double facing : {0.0, 33.0, 180.0, 291.0}) {
      const SkyView view = sky_view(Masks{}, {TrueAzimuth::degrees(facing), tilt});
      CHECK_NEAR(view.sky, (1 + std::cos(tilt * kDegree)) / 2, 1e-5);
      CHECK_NEAR(sum(view), 1, 1e-5);
      CHECK_NEAR(view.horizon_band, 1, 1e-12);
    }
}

TEST_CASE("a level plane in a ring of even height sees cos^2 of it [published]") {
  // Sky-view factor of a basin with an even horizon: Oke, Boundary Layer Climates, app. A1.
  for (double height : {5.0, 20.0, 45.0, 80.0}) {
    const double c = std::cos(height * kDegree);
    CHECK_NEAR(sky_view(even(height), {TrueAzimuth::degrees(0), 0}).sky, c * c, 1e-6);
  }
}

TEST_CASE("a vertical plane facing an endless vertical wall as high as 45 degrees [published]") {
  // A long straight wall whose top stands at elevation h square ahead shows at azimuth a at
  // atan(tan h cos a). A level plane beside it sees (1 + cos h) / 2 of the sky (Oke, app. A1;
  // the infinitely long case of Johnson & Watson 1984).
  Skyline wall;
  wall.obstacles.push_back({Kind::building, "wall"});
  const double h = 45;
  for (double a = -90; a <= 90; a += 0.25) {
    SkylinePoint point;
    point.azimuth = TrueAzimuth::degrees(180 + a);
    point.elevation =
        Elevation::degrees(std::atan(std::tan(h * kDegree) * std::cos(a * kDegree)) / kDegree);
    wall.points.push_back(point);
  }
  CHECK_NEAR(sky_view(masks_of(wall), {TrueAzimuth::degrees(180), 0}).sky,
             (1 + std::cos(h * kDegree)) / 2, 1e-4);
  // Upright and facing it: only the sky over the wall, (1 - sin h) / 2.
  CHECK_NEAR(sky_view(masks_of(wall), {TrueAzimuth::degrees(180), 90}).sky,
             (1 - std::sin(h * kDegree)) / 2, 1e-4);
  CHECK_NEAR(sky_view(masks_of(wall), {TrueAzimuth::degrees(0), 90}).sky, 0.5, 1e-4);
}

TEST_CASE(
    "the slope's own horizon: a plane laid on the slope sees all but nothing below it "
    "[property]") {
  const GroundSlope slope{25, TrueAzimuth::degrees(160)};
  const SkyView laid = sky_view(Masks{}, slope, {TrueAzimuth::degrees(160), 25});
  CHECK_NEAR(laid.ground, 0, 1e-12);
  // The sky dome ends at the level: what lies between slope and level is far ground.
  CHECK_NEAR(laid.sky, (1 + std::cos(25 * kDegree)) / 2, 1e-4);
  CHECK_NEAR(sum(laid), 1, 1e-5);
  // Upright facing uphill: the slope hides the sky up to its own plane: (1 - sin 25) / 2.
  const SkyView uphill = sky_view(Masks{}, slope, {TrueAzimuth::degrees(340), 90});
  CHECK_NEAR(uphill.sky, (1 - std::sin(25 * kDegree)) / 2, 1e-4);
  CHECK_NEAR(sum(uphill), 1, 1e-5);
}

TEST_CASE("a skyline to the zenith leaves ground and skyline only [property]") {
  const SkyView view = sky_view(even(90), {TrueAzimuth::degrees(180), 60});
  CHECK_NEAR(view.sky, 0, 1e-12);
  CHECK_NEAR(view.ground, 0.25, 1e-12);
  CHECK_NEAR(view.skyline, 0.75, 1e-12);
  CHECK(view.horizon_band == 0);
}

TEST_CASE("sky behind leaves is counted apart [property]") {
  const Plane plane{TrueAzimuth::degrees(180), 50};
  const SkyView leafy = sky_view(even(20, Kind::leafy), plane), hard = sky_view(even(20), plane);
  CHECK_NEAR(leafy.sky, hard.sky, 1e-12);
  CHECK_NEAR(leafy.sky + leafy.behind_leaves, sky_view(Masks{}, plane).sky, 1e-9);
  CHECK(hard.behind_leaves == 0);
}

TEST_CASE("an isotropic sky lights a full sphere of planes with its energy [property]") {
  // Mean over all directions of a plane's normal: a quarter of radiance x solid angle. For a
  // uniform upper hemisphere of horizontal irradiance 1 that is (2 pi / pi) / 4 = 0.5.
  double total = 0;
  const int rings = 90, spokes = 24;
  for (int i = 0; i < rings; ++i) {
    const double cos_tilt = -1 + (i + 0.5) * 2 / rings;
    for (int j = 0; j < spokes; ++j)
      total +=
          sky_view(Masks{}, {TrueAzimuth::degrees(j * 15.0), std::acos(cos_tilt) / kDegree}).sky;
  }
  CHECK_NEAR(total / (rings * spokes), 0.5, 1e-4);
}
