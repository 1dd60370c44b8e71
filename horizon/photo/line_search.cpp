#include "horizon/photo/line_search.h"

#include <cmath>

#include "horizon/photo/photo_looks.h"
#include "horizon/photo/photo_weights.inc"

namespace horizon {
namespace {

constexpr float kScoreGain = 0.16F;  // of the trained score's log odds, a pixel
constexpr float kLookGain = 0.12F;   // of this picture's own likelihoods
constexpr float kMostScore = 3.0F;
constexpr float kEdgeGain = 14.0F;  // what a clear step is worth
constexpr float kCrossing = 0.5F;   // what each row of a clear step above the line costs
constexpr float kFaint = 0.4F;      // steps below this are noise and wisps of cloud
constexpr float kSlope = 0.6F;      // cost of a row of rise from one column to the next
constexpr float kJump = 20.0F;      // the most a rise may cost: a wall, a tree
constexpr float kSureCost = 3.0F;   // rows that cost less than this more are still likely
constexpr float kFixed = 1e6F;
constexpr float kTaught = 20.0F;  // columns near a finger count so many times in the learning

// Cheapest way to come to each row from the column before. The ways from above and from below are
// followed side by side: neither waits for the other.
void spread(std::vector<float>& costs, std::vector<float>& down, std::vector<float>& up) {
  const std::size_t n = costs.size();
  down.resize(n);
  up.resize(n);
  float from_above = costs[0], from_below = costs[n - 1];
  for (std::size_t y = 0; y < n; ++y) {
    from_above = std::min(costs[y], from_above + kSlope);
    from_below = std::min(costs[n - 1 - y], from_below + kSlope);
    down[y] = from_above;
    up[n - 1 - y] = from_below;
  }
  float least[4] = {1e30F, 1e30F, 1e30F, 1e30F};
  for (std::size_t y = 0; y < n; ++y) least[y % 4] = std::min(least[y % 4], costs[y]);
  const float jump = std::min(std::min(least[0], least[1]), std::min(least[2], least[3])) + kJump;
  for (std::size_t y = 0; y < n; ++y) costs[y] = std::min(std::min(down[y], up[y]), jump);
}

Grid enlarged(const Grid& in, int width, int height) {
  Grid out(width, height);
  const float sx = static_cast<float>(in.width) / width,
              sy = static_cast<float>(in.height) / height;
  for (int x = 0; x < width; ++x) {
    const float u = std::clamp((x + 0.5F) * sx - 0.5F, 0.0F, in.width - 1.0F);
    const int u0 = static_cast<int>(u), u1 = std::min(u0 + 1, in.width - 1);
    for (int y = 0; y < height; ++y) {
      const float v = std::clamp((y + 0.5F) * sy - 0.5F, 0.0F, in.height - 1.0F);
      const int v0 = static_cast<int>(v), v1 = std::min(v0 + 1, in.height - 1);
      const float a = u - u0, b = v - v0;
      out.at(x, y) = (1 - a) * ((1 - b) * in.at(u0, v0) + b * in.at(u0, v1)) +
                     a * ((1 - b) * in.at(u1, v0) + b * in.at(u1, v1));
    }
  }
  return out;
}

// How clear a step there is between the rows above and below each row, 0 to 1: in all colours,
// against the roughness of what lies above, for a sky is smooth.
Grid steps_of(const WorkPicture& work, const Grid& rough) {
  Grid steps(work.luma.width, work.luma.height);
  constexpr int kReach = 3;
  constexpr float kNoise = 2.5F, kClear = 3.5F, kWeak = 0.6F, kStrong = 250.0F;
  for (const Grid* g : {&work.luma, &work.blue, &work.red}) {
    for (int x = 0; x < g->width; ++x) {
      for (int y = kReach; y + kReach <= g->height; ++y) {
        float above = 0, below = 0;
        for (int k = 1; k <= kReach; ++k) {
          above += g->at(x, y - k);
          below += g->at(x, y + k - 1);
        }
        const float step = (g == &work.luma ? 1.0F : 2.0F) * std::abs(above - below) / kReach;
        const float noise = kNoise + rough.at(x, std::max(0, y - 5));
        const float clear = std::min(1.0F, step / noise / kClear);
        steps.at(x, y) = std::max(steps.at(x, y), clear * std::min(1.0F, kWeak + step / kStrong));
      }
    }
  }
  return steps;
}

float lg(float v) { return std::log(1 + std::max(0.0F, v)); }

}  // namespace

LineNet trained_line_net() { return {kLineWeights}; }

LineSearch::LineSearch(const WorkPicture& work, const Grid& roughness, const SkyNet& net)
    : work_(work),
      rough_(roughness),
      width_(work.luma.width),
      height_(work.luma.height),
      score_(sky_score(work, roughness, net)),
      up_(enlarged(score_, width_, height_)),
      steps_(steps_of(work, roughness)),
      sky_(width_, height_),
      cost_(width_, height_ + 1),
      forward_(width_, height_ + 1),
      through_(width_, height_ + 1),
      cells_(look_cells(work, roughness)) {
  for (float& v : up_.values) v = std::clamp(v, -kMostScore, kMostScore);
}

LineSearch::Solved LineSearch::solve(std::span<const std::optional<ColumnHint>> hints, bool keep) {
  const int rows = height_ + 1;
  for (int x = 0; x < width_; ++x) {
    float sum = 0;
    for (int y = 0; y < rows; ++y) {
      const float step = y < height_ ? steps_.at(x, y) : 0;
      cost_.at(x, y) = -sum - kEdgeGain * step;
      if (y < height_)
        sum += sky_.at(x, y) - kCrossing * std::max(0.0F, step - kFaint) / (1 - kFaint);
    }
    if (hints.empty() || !hints[static_cast<std::size_t>(x)]) continue;
    const ColumnHint& hint = *hints[static_cast<std::size_t>(x)];
    for (int y = 0; y < rows; ++y) {
      const double off = std::abs(y - hint.row);
      cost_.at(x, y) +=
          hint.fixed ? (off > 1 ? kFixed : 0.0F)
                     : static_cast<float>(std::min(12.0, off * off / 2 / hint.sigma / hint.sigma));
    }
  }
  std::vector<float> column(static_cast<std::size_t>(rows), 0.0F), down, up;
  for (int x = 0; x < width_; ++x) {
    if (x > 0) spread(column, down, up);
    for (int y = 0; y < rows; ++y) forward_.at(x, y) = column[y] += cost_.at(x, y);
  }
  std::fill(column.begin(), column.end(), 0.0F);
  const auto n = static_cast<std::size_t>(width_);
  Solved result{std::vector<int>(n), std::vector<int>(n), std::vector<int>(n)};
  std::vector<float> all(static_cast<std::size_t>(rows));
  for (int x = width_ - 1; x >= 0; --x) {
    if (x + 1 < width_) spread(column, down, up);
    for (int y = 0; y < rows; ++y) {
      all[y] = forward_.at(x, y) + column[y];
      column[y] += cost_.at(x, y);
    }
    const auto best = std::min_element(all.begin(), all.end());
    int& least = result.least[x];
    int& most = result.most[x];
    result.line[x] = least = most = static_cast<int>(best - all.begin());
    while (least > 0 && all[least - 1] <= *best + kSureCost) --least;
    while (most + 1 < rows && all[most + 1] <= *best + kSureCost) ++most;
    if (keep)
      for (int y = 0; y < rows; ++y) through_.at(x, y) = all[y] - *best;
  }
  return result;
}

void LineSearch::weigh(const Grid& look, float score_gain, float look_gain) {
  for (std::size_t i = 0; i < sky_.values.size(); ++i)
    sky_.values[i] = score_gain * up_.values[i] + look_gain * look.values[i];
}

std::vector<int> LineSearch::line_through(std::span<const std::optional<ColumnHint>> hints) {
  return solve(hints, false).line;
}

void LineSearch::find(std::span<const std::optional<ColumnHint>> hints,
                      const std::vector<int>* start) {
  // Where a finger has spoken, it is believed more than the training.
  std::vector<float> weight(static_cast<std::size_t>(width_), 1.0F);
  bool taught = false;
  for (int x = 0; x < static_cast<int>(hints.size()); ++x)
    if (hints[x] && hints[x]->fixed) {
      taught = true;
      for (int u = std::max(0, x - width_ / 60); u <= std::min(width_ - 1, x + width_ / 60); ++u)
        weight[u] = kTaught;
    }
  const float score_gain = taught ? kScoreGain / 2 : kScoreGain;
  Grid look(width_, height_);
  if (start && static_cast<int>(start->size()) == width_) {
    line_ = *start;
  } else {
    weigh(look, score_gain, 0);
    line_ = solve(hints, false).line;
  }
  by_score_ = by_look_ = line_;
  for (int round = 0; round < (start ? 1 : 2); ++round) {
    look_likelihood(cells_, line_, weight, look);
    if (round == 1) {
      weigh(look, 0, 2 * kLookGain);
      by_look_ = solve(hints, false).line;
    }
    weigh(look, score_gain, kLookGain);
    if (round == 0 && !start) line_ = solve(hints, false).line;
  }
  Solved last = solve(hints, true);
  line_ = std::move(last.line);
  least_ = std::move(last.least);
  most_ = std::move(last.most);
  if (start) by_look_ = line_;
  settle();
}

// What is true of the whole picture.
void LineSearch::settle() {
  double agree = 0, decided = 0;
  for (int x = 0; x < width_; ++x)
    for (int y = 0; y < height_; ++y) {
      agree += (up_.at(x, y) > 0) == (y < line_[x]);
      decided += std::abs(up_.at(x, y)) > 2;
    }
  agree_ = static_cast<float>(agree / (static_cast<double>(width_) * height_));
  decided_ = static_cast<float>(decided / (static_cast<double>(width_) * height_));
  std::vector<float> margins;
  for (int x = 0; x < width_; x += 4) {
    float dearer = 0;
    rival_row(x, dearer);
    margins.push_back(dearer);
  }
  std::nth_element(margins.begin(), margins.begin() + margins.size() / 2, margins.end());
  margin_ = margins[margins.size() / 2];
}

int LineSearch::rival_row(int x, float& dearer) const {
  const int apart = std::max(3, width_ / 80);
  int row = -1;
  dearer = 1e9F;
  for (int y = 0; y <= height_; ++y)
    if (std::abs(y - line_[x]) > apart && through_.at(x, y) < dearer) {
      dearer = through_.at(x, y);
      row = y;
    }
  return row;
}

std::vector<float> LineSearch::faint_above() {
  constexpr float kMostLevels = 8.0F;
  const int reach = std::max(2, width_ / 160), gap = std::max(5, width_ / 110);
  const int within = std::max(8, width_ / 16);
  const Grid smooth = box_mean(work_.luma, std::max(1, reach / 2));
  const auto levels = [&](int x, int y) {
    const auto at = [&](int row) { return smooth.at(x, std::clamp(row, 0, height_ - 1)); };
    const float darker = at(y - reach) - at(y + reach);
    // What a sky that darkens evenly would show.
    const float even = (at(y - 3 * reach) - at(y - reach) + at(y + reach) - at(y + 3 * reach)) / 2;
    return std::clamp(darker - std::max(0.0F, even), 0.0F, kMostLevels);
  };
  const auto rows = static_cast<std::size_t>(height_ + 1);
  for (int x = 0; x < width_; ++x)
    for (int y = 0; y <= height_; ++y) {
      const bool here = y < line_[x] - gap && y > line_[x] - within && y > 3 * reach;
      cost_.at(x, y) = here ? -levels(x, y) : 0.0F;
    }
  std::vector<float> column(rows, 0.0F), down, up;
  for (int x = 0; x < width_; ++x) {
    if (x > 0) spread(column, down, up);
    for (int y = 0; y <= height_; ++y) forward_.at(x, y) = column[y] += cost_.at(x, y);
  }
  std::fill(column.begin(), column.end(), 0.0F);
  std::vector<float> on(static_cast<std::size_t>(width_));
  for (int x = width_ - 1; x >= 0; --x) {
    if (x + 1 < width_) spread(column, down, up);
    int best = 0;
    for (int y = 0; y <= height_; ++y) {
      if (forward_.at(x, y) + column[y] < forward_.at(x, best) + column[best]) best = y;
    }
    on[x] = -cost_.at(x, best);
    for (int y = 0; y <= height_; ++y) column[y] += cost_.at(x, y);
  }
  std::vector<float> result;
  const int along = std::max(4, width_ / 30);
  for (int x = 0; x < width_; ++x) {
    float sum = 0;
    const int a = std::max(0, x - along), b = std::min(width_, x + along + 1);
    for (int u = a; u < b; ++u) sum += on[u];
    result.push_back(sum / static_cast<float>(b - a));
  }
  return result;
}

float LineSearch::step_at(int x) const {
  float step = 0;
  for (int y = std::max(0, line_[x] - 1); y <= std::min(height_ - 1, line_[x] + 1); ++y)
    step = std::max(step, steps_.at(x, y));
  return step;
}

std::array<float, kLineFeatures> LineSearch::features(int x) const {
  const int row = line_[x], reach = std::max(4, width_ / 60), gap = 2;
  const auto mean = [&](const Grid& g, int from, int to, float none) {
    from = std::max(0, from);
    to = std::min(height_, to);
    if (from >= to) return none;
    float sum = 0;
    for (int y = from; y < to; ++y) sum += g.at(x, y);
    return sum / static_cast<float>(to - from);
  };
  const auto differ = [&](const Grid& g) {
    return mean(g, row - gap - reach, row - gap, 128) - mean(g, row + gap, row + gap + reach, 128);
  };
  float dearer = 0;
  rival_row(x, dearer);
  float along = 0, turn = 0;
  int count = 0;
  for (int u = std::max(0, x - 10); u <= std::min(width_ - 1, x + 10); u += 2, ++count)
    along += step_at(u);
  for (int u = std::max(1, x - 6); u <= std::min(width_ - 1, x + 6); ++u)
    turn += std::abs(line_[u] - line_[u - 1]);
  float above_step = 0, agree = 0, wet = 0;
  for (int y = 0; y < row - 4; ++y) above_step = std::max(above_step, steps_.at(x, y));
  for (int y = row + 4; y < height_; ++y) wet = std::max(wet, up_.at(x, y));
  for (int y = 0; y < height_; ++y) agree += (up_.at(x, y) > 0) == (y < row);
  const float w = static_cast<float>(width_);
  return {mean(up_, row - gap - reach, row - gap, -3),
          mean(up_, row + gap, row + gap + reach, 3),
          mean(up_, 0, row, -3),
          mean(up_, row, height_, 3),
          step_at(x),
          along / static_cast<float>(std::max(1, count)),
          lg(mean(rough_, row - gap - reach, row - gap - 1, 30)),
          lg(mean(rough_, row + gap, row + gap + reach, 0)),
          lg(1000 * static_cast<float>(std::abs(row - by_score_[x])) / w),
          lg(1000 * static_cast<float>(std::abs(row - by_look_[x])) / w),
          lg(std::min(dearer, 1e4F)),
          lg(1000 * static_cast<float>(most_[x] - least_[x]) / w),
          above_step,
          static_cast<float>(row) / height_,
          decided_,
          agree_,
          agree / height_,
          lg(1000 * turn / w),
          lg(std::min(margin_, 1e4F)),
          differ(work_.luma),
          lg(std::hypot(differ(work_.blue), differ(work_.red))),
          wet,
          lg(mean(rough_, 0, row - gap, 30)),
          lg(static_cast<float>(std::min(x, width_ - 1 - x)) / w * 50)};
}

}  // namespace horizon
