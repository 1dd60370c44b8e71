// horizon/photo/line_search.h: the likeliest line between sky and ground at working size.
// Units:  working pixels; rows count from the top, a line's row is the first of the ground
// Method: three witnesses: a trained score of sky, what sky and ground look like in this very
//         picture (colour and roughness, learned again from the line), and steps. Dynamic
//         programming over all columns, forward and back, tells for every row of a column what the
//         best line through it would cost
#pragma once

#include <array>
#include <optional>
#include <span>
#include <vector>

#include "horizon/photo/sky_score.h"

namespace horizon {

inline constexpr int kLineFeatures = 24;
using LineNet = SmallNet<kLineFeatures, 16, 8>;
LineNet trained_line_net();

// What a column is told from outside.
struct ColumnHint {
  double row = 0;      // where the line is, by a finger or another source
  double sigma = 1;    // rows
  bool fixed = false;  // a finger: it goes through here
};

class LineSearch {
 public:
  LineSearch(const WorkPicture& work, const Grid& roughness, const SkyNet& net);

  // `hints`: one a column or none at all. `start`: a line to begin from, as of the last frame.
  void find(std::span<const std::optional<ColumnHint>> hints, const std::vector<int>* start);

  const std::vector<int>& line() const { return line_; }
  // Rows a line hardly dearer could have.
  int least(int x) const { return least_[static_cast<std::size_t>(x)]; }
  int most(int x) const { return most_[static_cast<std::size_t>(x)]; }
  // The best line with the same witnesses but through these hints; the found one stays.
  std::vector<int> line_through(std::span<const std::optional<ColumnHint>> hints);
  // The row of the best line that passes well apart from the found one, and what more it costs.
  int rival_row(int x, float& dearer) const;
  float step_at(int x) const;
  // How clearly, in levels, a faint edge with the darker side below runs close above the line: a
  // ridge in haze that the found line may have missed. One a column.
  std::vector<float> faint_above();
  // What speaks for and against the line at a column.
  std::array<float, kLineFeatures> features(int x) const;

 private:
  struct Solved {
    std::vector<int> line, least, most;
  };
  Solved solve(std::span<const std::optional<ColumnHint>> hints, bool keep);
  void weigh(const Grid& look, float score_gain, float look_gain);
  void settle();

  const WorkPicture& work_;
  const Grid& rough_;
  int width_, height_;
  Grid score_;  // trained, coarse
  Grid up_;     // the same, at working size
  Grid steps_, sky_, cost_, forward_, through_;
  std::vector<int> cells_;  // each pixel's look
  std::vector<int> line_, least_, most_, by_score_, by_look_;
  float agree_ = 0, decided_ = 0, margin_ = 0;
};

}  // namespace horizon
