// horizon/photo/photo_line.h: the line between sky and ground in a photograph, and where it is sure.
// Units:    pixels of the photograph, x to the right, y down, from the outer corner of the top left
// Method:   three witnesses: a score of sky trained on photographs traced by hand, what sky and
//           ground look like in this picture, and steps; a line by dynamic programming, drawn to
//           the steepest step nearby at full resolution. `chance` comes from how far the witnesses
//           agree, how much worse a rival line would be, and the neighbours, by a small network
//           trained on columns that the score's training had not met
// Accuracy: tests/photo says what was measured on photographs kept apart: a point called sure is
//           within 8 thousandths of the width in 19 of 20 columns or better
// Errors:   a picture in which no line stands out is returned with `unsure` and the reason, never
//           with an invented line passed off as found
// Source:   dynamic programming on region and edge terms, in the manner of Lie et al. 2005 (A robust
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
  double chance = 0;  // that the point is within 8 thousandths of the width, 0 to 1
};

// Another line that the picture allows: where it leaves the found one.
struct RivalLine {
  std::vector<Pixel> points;  // from left to right
  Pixel pull() const { return points[points.size() / 2]; }
};

struct PhotoLine {
  std::vector<LinePoint> points;  // from left to right, at most kWorkWidth
  std::vector<RivalLine> rivals;  // at most two, the widest first
  double sure_fraction = 0;
  bool unsure = false;  // less than a third of the points are sure
  std::string why;      // where unsure: what to do
};

inline constexpr int kWorkWidth = 1000, kFilmWidth = 320;

struct LineHelp {
  std::span<const Pixel> pulls = {};  // spots of a finger: the line goes through each, sky above
  std::span<const LinePoint> known = {};  // where terrain, marks, contacts or an overlapping
                                          // photograph put it, with their sigma_px
  const PhotoLine* last = nullptr;        // a film's last frame, moved to this one: quicker
  int work_width = kWorkWidth;
};

Result<PhotoLine> photo_line(const PictureView& picture, const LineHelp& help);
Result<PhotoLine> photo_line(const PictureView& picture, std::span<const Pixel> pulls = {});

}  // namespace horizon
