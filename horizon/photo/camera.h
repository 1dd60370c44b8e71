// horizon/photo/camera.h: from a pixel of a tilted camera to a direction in the sky, and back.
// Units:    pixels (x to the right, y down, from the outer corner of the top left pixel), degrees
// Frame:    true azimuth; tilt = elevation of the optical axis; roll clockwise positive, seen from
//           behind the camera
// Model:    pinhole with one radial term: distorted = undistorted * (1 + k1 r^2), r in focal
//           lengths
// Valid:    directions less than 90 degrees from the axis
// Accuracy: exact rotation; pixel to direction and back within 1e-9 of a pixel for |k1| r^2 < 0.2
// Source:   collinearity equations, e.g. Luhmann et al., Close-Range Photogrammetry, ch. 3 and 4;
//           least squares after Levenberg and Marquardt (Eigen)
#pragma once

#include <array>
#include <cmath>
#include <optional>
#include <span>
#include <vector>

#include "horizon/angle.h"
#include "horizon/result.h"

namespace horizon {

struct Pixel {
  double x = 0, y = 0;
};

struct Direction {
  TrueAzimuth azimuth;
  Elevation elevation;
};

struct Camera {
  double width_px = 0, height_px = 0;
  double focal_px = 0;
  double k1 = 0;
  TrueAzimuth bearing;
  Elevation tilt;
  double roll_deg = 0;

  double horizontal_view_deg() const;  // of the middle row, without distortion
};

double focal_px_of_view(double width_px, double horizontal_view_deg);
// focal_35mm: the equivalent focal length of the photo's data, for a 43.27 mm picture diagonal.
double focal_px_of_35mm(double width_px, double height_px, double focal_35mm);

Direction direction_of(const Camera& camera, Pixel pixel);
// Nothing for a direction behind the camera.
std::optional<Pixel> pixel_of(const Camera& camera, const Direction& direction);

// A spot of the photo whose direction was aimed at or is known.
struct PhotoMark {
  Pixel pixel;
  Direction direction;
  double azimuth_sigma_deg = 0.5;
  double elevation_sigma_deg = 0.3;
  double pixel_sigma_px = 2;
};

// Symmetric, of five unknowns, by row and column.
struct Covariance5 {
  std::array<double, 25> values{};
  double& operator()(std::size_t row, std::size_t column) { return values[5 * row + column]; }
  double operator()(std::size_t row, std::size_t column) const { return values[5 * row + column]; }
};

struct PhotoOrientation {
  Camera camera;
  // Of bearing, tilt, roll (degrees), focal length (pixels), k1; rows of what was held are zero.
  Covariance5 covariance;
  std::vector<double> residual_deg;  // of each mark, as an angle
  int degrees_of_freedom = 0;
  double bearing_sigma_deg() const { return std::sqrt(covariance(0, 0)); }
  double focal_sigma_px() const { return std::sqrt(covariance(3, 3)); }
};

// Bearing, tilt, roll and, unless `start.focal_px` is held, the focal length from two or more
// marks; the distortion too from five. `start` gives the picture's size and what is known. Fails
// with fewer than two marks, marks in one spot, or no convergence; a residual over four of its
// sigmas is named.
Result<PhotoOrientation> orientation_of(const Camera& start, std::span<const PhotoMark> marks,
                                        bool hold_focal);

// The direction of a pixel with the standard deviations that follow from the orientation's
// covariance and the pixel's own.
struct UncertainDirection {
  Direction direction;
  double azimuth_sigma_deg = 0, elevation_sigma_deg = 0;
};
UncertainDirection direction_of(const PhotoOrientation& orientation, Pixel pixel, double sigma_px);

}  // namespace horizon
