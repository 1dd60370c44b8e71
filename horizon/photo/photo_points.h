// horizon/photo/photo_points.h: the line of an oriented photograph as points of the skyline.
// Units:    degrees, pixels
// Frame:    true azimuths and apparent elevations, as the photograph's marks had them
// Accuracy: each point's own sigma is that of its pixel; what all points of a photograph share is
//           returned apart, for it does not average out
// Errors:   an unsure line gives no points; unsure stretches of a good line stay open
// Source:   horizon/photo/camera.h; line thinning after Douglas & Peucker (1973)
#pragma once

#include <span>
#include <vector>

#include "horizon/photo/camera.h"
#include "horizon/photo/photo_line.h"
#include "horizon/result.h"
#include "horizon/skyline/skyline.h"

namespace horizon {

// A part of the picture's width whose line is of one obstacle: the trees on the left, the ridge.
struct PhotoStretch {
  double from_px = 0, to_px = 0;  // of x
  int obstacle = 0;               // index into Skyline::obstacles
};

struct PhotoSkyline {
  std::vector<SkylinePoint> points;  // from left to right; `source` = index into the line's points
  double bearing_sigma_deg = 0;      // shared by all points
  double tilt_sigma_deg = 0;         // shared by all points
};

// Points are thinned until the line moves by no more than `tolerance_deg`. What no stretch covers
// belongs to obstacle 0. Fails where the line is unsure, or the orientation has no focal length.
Result<PhotoSkyline> photo_skyline(const PhotoLine& line, const PhotoOrientation& orientation,
                                   std::span<const PhotoStretch> stretches = {},
                                   double tolerance_deg = 0.1);

// Of one obstacle's points in the order of azimuth, those that the line cannot do without: none of the
// others lies further off than the tolerance, and neighbours no further apart than `widest_deg`
// where there are points between.
std::vector<SkylinePoint> thinned_points(std::span<const SkylinePoint> run, double tolerance_deg,
                                         double widest_deg = 360);

}  // namespace horizon
