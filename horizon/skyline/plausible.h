// horizon/skyline/plausible.h: which lines could the true skyline have, given what was sighted?
// Units:    degrees, metres
// Frame:    true azimuths; elevations as seen
// Valid:    any skyline, none sighted included; marks fewer than about a thousand
// Method:   ridges are drawn by ridge_lines.h: through the marks as closely as their errors ask,
//           wandering between them and over stretches that nobody aimed at. Trees wander between
//           their own marks; a straight edge stays straight. Where only the sun's way bounds the
//           line, it wanders on its side of that way. A shared turn and the
//           eye's height move all aims together, a shared level those that have one; a near thing without a distance stands anywhere near
// Accuracy: counted on relief that this knows nothing of, docs/uncertainty.md
// Source:   Monte Carlo propagation of distributions, JCGM 101:2008
#pragma once

#include <cstdint>
#include <vector>

#include "horizon/skyline/ridge_lines.h"
#include "horizon/skyline/skyline.h"

namespace horizon {

class PlausibleLines {
 public:
  PlausibleLines(const Skyline& sighted, double eye_height_sigma_m, int draws, std::uint32_t seed);
  // One skyline that could be the true one; 0 <= draw < draws.
  Skyline draw(int index) const;
  int draws() const { return static_cast<int>(turn_deg_.size()); }

 private:
  struct Piece {  // of the outline, from one mark to the next
    int from = 0, to = 0;
    double width_deg = 0;
    enum class How : std::uint8_t { straight, ridge, crowns } how = How::straight;
    int obstacle = 0;  // of the points put in
  };
  void learn(int draws, std::uint32_t seed);
  void keep_bounds();
  void set_pieces();
  void add_points(const Piece& piece, int index, const std::vector<double>& lift_deg, Gauss& gauss,
                  Skyline& out) const;

  Skyline sighted_;
  double eye_height_sigma_m_ = 0;
  std::uint32_t seed_ = 0;
  std::vector<int> outline_;    // points of layer 0 but poles, by azimuth
  std::vector<char> of_ridge_;  // by point: its elevation is the drawn line's
  std::vector<Piece> pieces_;
  std::vector<double> crowns_;                   // by obstacle: degrees squared a degree
  std::vector<RidgeLine> lines_;                 // of the ridge
  std::vector<double> turn_deg_, level_, land_;  // by draw; the last two of one sigma
};

}  // namespace horizon
