// horizon/skyline/plausible.h: which lines could the true skyline have, given what was sighted?
// Units:    degrees, metres
// Frame:    true azimuths; elevations as seen
// Valid:    any skyline, none sighted included; marks fewer than about a thousand
// Method:   the ridge line is a random line round the compass: its mean level, how far it strays,
//           over which width and how rough it is are weighed by how well they explain the marks
//           with their errors. Lines are drawn through the marks, as closely as their errors ask,
//           and wander between them and over stretches that nobody aimed at. Trees wander between
//           their own marks; a straight edge stays straight. A shared turn and the eye's height
//           move all aims together; a near thing without a distance stands anywhere near
// Accuracy: counted on relief that this knows nothing of, docs/uncertainty.md
// Source:   conditioning a Gaussian process by kriging (Journel & Huijbregts, Mining
//           Geostatistics, 1978); powered exponential over the chord; draws by the spectrum
#pragma once

#include <array>
#include <cstdint>
#include <random>
#include <vector>

#include "horizon/skyline/skyline.h"

namespace horizon {

// Normal deviates, the same on every system (the standard library's are not).
class Gauss {
 public:
  explicit Gauss(std::uint32_t seed) : bits_(seed) {}
  double next();
  double even();  // above 0, up to 1

 private:
  std::mt19937_64 bits_;
  double kept_ = 0;
  bool has_kept_ = false;
};

class PlausibleLines {
 public:
  PlausibleLines(const Skyline& sighted, double eye_height_sigma_m, int draws, std::uint32_t seed);
  // One skyline that could be the true one; 0 <= draw < draws.
  Skyline draw(int index) const;
  int draws() const { return static_cast<int>(turn_deg_.size()); }
  // One standard deviation of the line half-way between two marks 8 degrees apart, as learned.
  double between_marks_deg() const { return between_deg_; }

  static constexpr int kSteps = 720;  // half a degree
  static constexpr double kStep_deg = 360.0 / kSteps;

 private:
  struct Piece {  // of the outline, from one mark to the next
    int from = 0, to = 0;
    double width_deg = 0;
    enum class How : std::uint8_t { straight, ridge, crowns } how = How::straight;
    int obstacle = 0;  // of the points put in
  };
  void learn(int draws, std::uint32_t seed);
  void set_pieces();
  void add_points(const Piece& piece, int index, const std::vector<double>& lift_deg, Gauss& gauss,
                  Skyline& out) const;
  double line_deg(int index, double azimuth_deg) const;

  Skyline sighted_;
  double eye_height_sigma_m_ = 0, between_deg_ = 0;
  std::uint32_t seed_ = 0;
  std::vector<int> outline_;    // points of layer 0 but poles, by azimuth
  std::vector<char> of_ridge_;  // by point: its elevation is the drawn line's
  std::vector<Piece> pieces_;
  std::vector<double> crowns_;                    // by obstacle: degrees squared a degree
  std::vector<std::array<float, kSteps>> lines_;  // of the ridge
  std::vector<double> turn_deg_;
};

}  // namespace horizon
