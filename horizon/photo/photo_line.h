// horizon/photo/photo_line.h: the line between sky and ground in a photograph.
// Units:    pixels of the photograph, x to the right, y down, from the outer corner of the top left
// Method:   what sky and ground look like (colour, roughness) is learned from the picture itself,
// in
//           rounds: a line by dynamic programming over all columns, then new likelihoods from it.
//           The line is then drawn to the steepest step nearby at full resolution
// Accuracy: about 1 pixel in 1000 of width on a clear skyline; each point tells its own sigma, from
//           how much worse the best line through its neighbours would be
// Errors:   a picture in which no line stands out is returned with `unsure` and the reason, never
//           with an invented line passed off as found
// Source:   dynamic programming on region and edge terms, in the manner of Lie et al. 2005 (A
// robust
//           dynamic programming algorithm to extract skyline in images for navigation)
#pragma once

#include <cstdint>
#include <span>
#include <string>
#include <vector>

#include "horizon/photo/camera.h"
#include "horizon/result.h"

namespace horizon {

struct PictureView {
  int width = 0, height = 0;
  int channels = 3;  // 1 grey, 3 RGB, 4 RGBA
  const std::uint8_t* pixels = nullptr;
};

struct LinePoint {
  double x_px = 0, y_px = 0;
  double sigma_px = 0;
  bool sure = false;
};

struct PhotoLine {
  std::vector<LinePoint> points;  // from left to right, at most kWorkWidth
  double sure_fraction = 0;
  bool unsure = false;  // less than a third of the points are sure
  std::string why;      // where unsure: what to do
};

inline constexpr int kWorkWidth = 1000;

// `pulls`: spots that the user has put the line on; it goes through each.
Result<PhotoLine> photo_line(const PictureView& picture, std::span<const Pixel> pulls = {});

}  // namespace horizon
