#include "horizon/photo/photo_points.h"

#include <doctest/doctest.h>

#include <cmath>

#include "horizon/skyline/mask.h"
#include "tests/near.h"
#include "tests/said.h"

using namespace horizon;

namespace {

double ridge_el(double azimuth_deg) {
  return 12 + 4 * std::sin(azimuth_deg * kDegree * 5) + 1.5 * std::sin(azimuth_deg * kDegree * 23);
}

PhotoOrientation tilted_camera() {
  PhotoOrientation o;
  o.camera.width_px = 4000;
  o.camera.height_px = 3000;
  o.camera.focal_px = focal_px_of_view(4000, 62);
  o.camera.bearing = TrueAzimuth::degrees(355);
  o.camera.tilt = Elevation::degrees(11);
  o.camera.roll_deg = -4;
  o.covariance(0, 0) = 0.25 * 0.25;
  o.covariance(1, 1) = 0.1 * 0.1;
  return o;
}

// The ridge as the camera sees it, column by column.
PhotoLine line_seen(const Camera& camera) {
  PhotoLine line;
  for (double x = 2; x < camera.width_px; x += 4) {
    double low = 0, high = camera.height_px;  // sky at the top
    for (int i = 0; i < 50; ++i) {
      const double y = (low + high) / 2;
      const Direction d = direction_of(camera, {x, y});
      (d.elevation.degrees() > ridge_el(d.azimuth.degrees()) ? low : high) = y;
    }
    line.points.push_back({x, low, 2, true});
  }
  line.sure_fraction = 1;
  return line;
}

}  // namespace

TEST_CASE("[property] the ridge comes back from a tilted photograph over north, thinned") {
  const PhotoOrientation o = tilted_camera();
  const PhotoLine line = line_seen(o.camera);
  const auto skyline = photo_skyline(line, o, {}, 0.05);
  REQUIRE(skyline.has_value());
  CHECK(skyline->points.size() < line.points.size() / 5);
  CHECK_NEAR(skyline->bearing_sigma_deg, 0.25, 1e-12);
  CHECK_NEAR(skyline->tilt_sigma_deg, 0.1, 1e-12);
  for (const SkylinePoint& p : skyline->points) {
    CHECK_NEAR(p.elevation.degrees(), ridge_el(p.azimuth.degrees()), 0.002);
    CHECK_NEAR(p.elevation_sigma_deg, 2 / o.camera.focal_px / kDegree, 1e-12);
  }
  Skyline whole;
  whole.obstacles.push_back({Kind::ridge, "ridge"});
  whole.points = skyline->points;
  const Mask mask(whole);
  for (double az = 330; az < 380; az += 0.5) CHECK_NEAR(mask.elevation_deg(az), ridge_el(az), 0.07);
}

TEST_CASE("[property] stretches split into kinds, unsure parts stay open") {
  const PhotoOrientation o = tilted_camera();
  PhotoLine line = line_seen(o.camera);
  for (LinePoint& p : line.points) p.sure = p.x_px < 1500 || p.x_px > 2500;
  const PhotoStretch trees[] = {{0, 800, 1}};
  const auto skyline = photo_skyline(line, o, trees);
  REQUIRE(skyline.has_value());
  for (const SkylinePoint& p : skyline->points) {
    const double x = line.points[static_cast<size_t>(p.source)].x_px;
    CHECK(p.obstacle == (x < 800 ? 1 : 0));
    CHECK((x < 1500 || x > 2500));
  }
  line.unsure = true;
  line.why = "error.photo_no_line";
  const auto none = photo_skyline(line, o);
  REQUIRE_FALSE(none.has_value());
  CHECK(said(none.error()) == "error.photo_no_line");
  CHECK_FALSE(photo_skyline(line_seen(o.camera), PhotoOrientation{}).has_value());
  CHECK(photo_skyline(PhotoLine{}, o)->points.empty());
}
