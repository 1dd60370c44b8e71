#include "horizon/photo/photo_line.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <limits>

namespace horizon {
namespace {

// Tuned together on the photographs named in docs/references.md.
constexpr int kFirstRounds = 3, kRounds = 7;
constexpr float kFirstSkyGain = 0.25F;  // most a pixel above can speak for the line, at first
constexpr float kSkyGain = 0.7F;        // and once sky has been learned
constexpr float kGroundCost = 2.0F;     // most it can speak against
constexpr float kEdgeGain = 12.0F;      // what a clear step is worth
constexpr float kFirstCrossing = 2.5F;  // what each row of a clear step above the line costs
constexpr float kCrossing = 0.8F;
constexpr float kFaint = 0.4F;        // steps below this are noise and wisps of cloud
constexpr float kCloud = 2.5F;        // bright and smooth speaks for cloud rather than ground
constexpr float kSlope = 0.6F;        // cost of a row of rise from one column to the next
constexpr float kJump = 20.0F;        // the most a rise may cost: a wall, a tree
constexpr float kSureCost = 3.0F;     // rows that cost less than this more are still likely
constexpr float kSureStep = 0.3F;     // a fainter step is not sure: fog, haze
constexpr float kRoughSky = 16.0F;    // levels from pixel to pixel that no sky shows
constexpr double kSureSigma = 0.004;  // of the width; a wider point is not sure

constexpr double kLeastSure = 1.0 / 3;

struct Grid {
  int width = 0, height = 0;
  std::vector<float> values;
  Grid(int w, int h) : width(w), height(h), values(static_cast<size_t>(w) * h) {}
  // Column after column: the line is sought down each.
  float& at(int x, int y) { return values[static_cast<size_t>(x) * height + y]; }
  float at(int x, int y) const { return values[static_cast<size_t>(x) * height + y]; }
};

// The picture at working size: luma and two colour differences, 0 to 255.
struct Work {
  Grid luma, blue, red;
  double scale;  // photograph pixels in a working pixel
  Work(int w, int h, double s) : luma(w, h), blue(w, h), red(w, h), scale(s) {}
};

Work shrunk(const PictureView& picture) {
  const double scale = std::max(1.0, picture.width / static_cast<double>(kWorkWidth));
  Work work(static_cast<int>(picture.width / scale), static_cast<int>(picture.height / scale),
            scale);
  const auto begin = [&](int i) { return static_cast<int>(i * scale); };
  for (int y = 0; y < work.luma.height; ++y) {
    for (int x = 0; x < work.luma.width; ++x) {
      const int y1 = std::max(begin(y) + 1, begin(y + 1)),
                x1 = std::max(begin(x) + 1, begin(x + 1));
      unsigned sum[3] = {0, 0, 0};
      for (int v = begin(y); v < y1; ++v) {
        const std::uint8_t* p =
            picture.pixels + (static_cast<size_t>(v) * picture.width + begin(x)) * picture.channels;
        for (int u = begin(x); u < x1; ++u, p += picture.channels)
          for (int c = 0; c < 3; ++c) sum[c] += p[picture.channels == 1 ? 0 : c];
      }
      const float n = static_cast<float>((y1 - begin(y)) * (x1 - begin(x)));
      const float r = sum[0] / n, g = sum[1] / n, b = sum[2] / n;
      const float luma = 0.299F * r + 0.587F * g + 0.114F * b;  // Rec. ITU-R BT.601
      work.luma.at(x, y) = luma;
      work.blue.at(x, y) = 128 + 0.564F * (b - luma);
      work.red.at(x, y) = 128 + 0.713F * (r - luma);
    }
  }
  return work;
}

// Mean over a (2r+1) square, edges repeated by shrinking the window.
Grid box_mean(const Grid& in, int r) {
  Grid rows(in.width, in.height), out(in.width, in.height);
  std::vector<double> sums(std::max(in.width, in.height) + 1);
  for (int y = 0; y < in.height; ++y) {
    for (int x = 0; x < in.width; ++x) sums[x + 1] = sums[x] + in.at(x, y);
    for (int x = 0; x < in.width; ++x) {
      const int a = std::max(0, x - r), b = std::min(in.width, x + r + 1);
      rows.at(x, y) = static_cast<float>((sums[b] - sums[a]) / (b - a));
    }
  }
  for (int x = 0; x < in.width; ++x) {
    for (int y = 0; y < in.height; ++y) sums[y + 1] = sums[y] + rows.at(x, y);
    for (int y = 0; y < in.height; ++y) {
      const int a = std::max(0, y - r), b = std::min(in.height, y + r + 1);
      out.at(x, y) = static_cast<float>((sums[b] - sums[a]) / (b - a));
    }
  }
  return out;
}

// How much the picture changes from one pixel to the next, averaged nearby.
Grid roughness_of(const Work& work) {
  Grid change(work.luma.width, work.luma.height);
  for (int y = 0; y < change.height; ++y) {
    for (int x = 0; x < change.width; ++x) {
      const int right = std::min(x + 1, change.width - 1),
                down = std::min(y + 1, change.height - 1);
      change.at(x, y) = std::abs(work.luma.at(right, y) - work.luma.at(x, y)) +
                        std::abs(work.luma.at(x, down) - work.luma.at(x, y));
    }
  }
  return box_mean(change, 3);
}

// How clear a step there is between the rows above and below each row, 0 to 1: in all colours,
// against the roughness of what lies above, for a sky is smooth.
Grid steps_of(const Work& work, const Grid& rough) {
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

// Otsu's threshold on a value in 64 steps.
float otsu(const std::vector<float>& values, float most) {
  std::array<double, 64> count{};
  for (const float v : values) ++count[std::clamp(static_cast<int>(v / most * 64), 0, 63)];
  double all = 0, moment = 0;
  for (int i = 0; i < 64; ++i) {
    all += count[i];
    moment += i * count[i];
  }
  double below = 0, below_moment = 0, best = -1;
  int threshold = 32;
  for (int i = 0; i < 63; ++i) {
    below += count[i];
    below_moment += i * count[i];
    if (below == 0 || below == all) continue;
    const double apart = below_moment / below - (moment - below_moment) / (all - below);
    const double between = below * (all - below) * apart * apart;
    if (between > best) {
      best = between;
      threshold = i;
    }
  }
  return (threshold + 1) * most / 64;
}

// Colour and roughness of each pixel as one histogram cell.
class Looks {
 public:
  Looks(const Work& work, const Grid& rough) : cells_(work.luma.values.size()) {
    for (size_t i = 0; i < cells_.size(); ++i) {
      const auto bin = [](float v, int bins) {
        return std::clamp(static_cast<int>(v * bins / 256), 0, bins - 1);
      };
      const int r = std::clamp(static_cast<int>(2 * std::log2(1 + rough.values[i])), 0, kRough - 1);
      // Colour differences are small numbers round 128: stretch them.
      const int b = bin(128 + 2.5F * (work.blue.values[i] - 128), kColour);
      const int c = bin(128 + 2.5F * (work.red.values[i] - 128), kColour);
      cells_[i] = ((bin(work.luma.values[i], kLuma) * kColour + b) * kColour + c) * kRough + r;
    }
  }

  // log p(sky) - log p(ground), limited, of every pixel, learned from a line.
  void likelihood(const std::vector<int>& line, float gain, Grid& out) const {
    std::vector<float> sky(kCells, 0), ground(kCells, 0);
    const int width = out.width, height = out.height;
    double skies = 0, grounds = 0;
    for (int x = 0; x < width; ++x) {
      for (int y = 0; y < height; ++y) {
        // Pixels on the line are half of each; far ones are surer.
        const int from_line = line[x] - y;
        if (std::abs(from_line - 0.5) < 3) continue;
        const int cell = cells_[static_cast<size_t>(x) * height + y];
        const float weight = std::min(1.0F, std::abs(from_line) / (0.15F * height));
        if (from_line > 0) {
          sky[cell] += weight;
          skies += weight;
        } else {
          ground[cell] += weight;
          grounds += weight;
        }
      }
    }
    smooth(sky);
    smooth(ground);
    const int sky_luma = median_luma(sky, skies);
    std::vector<float> ratio(kCells);
    for (int i = 0; i < kCells; ++i) {
      const float learned = std::log(static_cast<float>((sky[i] + 1.0) / (skies + 400)) /
                                     static_cast<float>((ground[i] + 1.0) / (grounds + 400)));
      const bool like_cloud = i / (kRough * kColour * kColour) > sky_luma && i % kRough <= kSmooth;
      ratio[i] = std::clamp(learned + (like_cloud ? kCloud : 0.0F), -kGroundCost, gain);
    }
    for (size_t i = 0; i < cells_.size(); ++i) out.values[i] = ratio[cells_[i]];
  }

 private:
  static constexpr int kLuma = 20, kColour = 16, kRough = 10;
  static constexpr int kSmooth = 4;  // a change of 4 levels a pixel
  static constexpr int kCells = kLuma * kColour * kColour * kRough;

  static int median_luma(const std::vector<float>& counts, double total) {
    double sum = 0;
    for (int i = 0; i < kCells; ++i)
      if ((sum += counts[i]) >= total / 2) return i / (kRough * kColour * kColour);
    return kLuma;
  }

  // Spreads counts over neighbouring cells along each axis: 1 2 1.
  static void smooth(std::vector<float>& counts) {
    std::vector<float> in(counts.size());
    const std::array<std::pair<int, int>, 4> axes = {{{1, kRough},
                                                      {kRough, kColour},
                                                      {kRough * kColour, kColour},
                                                      {kRough * kColour * kColour, kLuma}}};
    for (const auto& [stride, length] : axes) {
      in = counts;
      for (int i = 0; i < kCells; ++i) {
        const int at = i / stride % length;
        const float left = at > 0 ? in[i - stride] : in[i];
        const float right = at + 1 < length ? in[i + stride] : in[i];
        counts[i] = 0.25F * left + 0.5F * in[i] + 0.25F * right;
      }
    }
  }

  std::vector<int> cells_;
};

// Cheapest way to come to each row from the column before: rises cost by the row, at most kJump.
void spread(std::vector<float>& costs) {
  const float jump = *std::min_element(costs.begin(), costs.end()) + kJump;
  for (size_t y = 1; y < costs.size(); ++y) costs[y] = std::min(costs[y], costs[y - 1] + kSlope);
  for (size_t y = costs.size() - 1; y-- > 0;) costs[y] = std::min(costs[y], costs[y + 1] + kSlope);
  for (float& c : costs) c = std::min(c, jump);
}

struct Solved {
  std::vector<int> line;         // the row where ground begins, 0 to height
  std::vector<int> least, most;  // the rows a line hardly dearer could have
};

// The cheapest line over all columns, with what it would cost to pass anywhere else.
Solved solved(const Grid& cost, Grid& forward) {
  const int width = cost.width, rows = cost.height;
  std::vector<float> column(rows, 0.0F), through(rows);
  for (int x = 0; x < width; ++x) {
    if (x > 0) spread(column);
    for (int y = 0; y < rows; ++y) forward.at(x, y) = column[y] += cost.at(x, y);
  }
  std::fill(column.begin(), column.end(), 0.0F);
  Solved result{std::vector<int>(width), std::vector<int>(width), std::vector<int>(width)};
  for (int x = width - 1; x >= 0; --x) {
    if (x + 1 < width) spread(column);
    for (int y = 0; y < rows; ++y) {
      through[y] = forward.at(x, y) + column[y];
      column[y] += cost.at(x, y);
    }
    const auto best = std::min_element(through.begin(), through.end());
    result.line[x] = result.least[x] = result.most[x] = static_cast<int>(best - through.begin());
    for (int y = 0; y < rows; ++y) {
      if (through[y] > *best + kSureCost) continue;
      result.least[x] = std::min(result.least[x], y);
      result.most[x] = std::max(result.most[x], y);
    }
  }
  return result;
}

// What a line at each row costs: what speaks against sky above it, less the step on it.
void put_costs(const Grid& sky, const Grid& steps, float crossing, double scale,
               std::span<const Pixel> pulls, Grid& cost) {
  for (int x = 0; x < sky.width; ++x) {
    float sum = 0;
    for (int y = 0; y <= sky.height; ++y) {
      cost.at(x, y) = -sum - (y < sky.height ? kEdgeGain * steps.at(x, y) : 0);
      if (y < sky.height)
        sum += sky.at(x, y) - crossing * std::max(0.0F, steps.at(x, y) - kFaint) / (1 - kFaint);
    }
  }
  for (const Pixel& pull : pulls) {
    const int x = std::clamp(static_cast<int>(pull.x / scale), 0, sky.width - 1);
    const int row = std::clamp(static_cast<int>(std::lround(pull.y / scale)), 0, sky.height);
    for (int y = 0; y <= sky.height; ++y)
      if (std::abs(y - row) > 1) cost.at(x, y) += 1e6F;
  }
}

float grey_at(const PictureView& picture, int x, int y) {
  const std::uint8_t* p =
      picture.pixels + (static_cast<size_t>(y) * picture.width + x) * picture.channels;
  return picture.channels == 1 ? p[0] : 0.299F * p[0] + 0.587F * p[1] + 0.114F * p[2];
}

// Near a row of the working picture, the row of the photograph with the steepest step.
double at_full_size(const PictureView& picture, double scale, int work_x, int work_y) {
  const int x = std::min(static_cast<int>((work_x + 0.5) * scale), picture.width - 1);
  const int reach = static_cast<int>(std::ceil(2 * scale)),
            half = std::max(2, static_cast<int>(scale));
  const int middle = static_cast<int>(std::lround(work_y * scale));
  float best = -1;
  int row = middle;
  for (int y = middle - reach; y <= middle + reach; ++y) {
    if (y - half < 0 || y + half > picture.height) continue;
    float above = 0, below = 0;
    for (int k = 1; k <= half; ++k) {
      above += grey_at(picture, x, y - k);
      below += grey_at(picture, x, y + k - 1);
    }
    const float step = std::abs(above - below);
    if (step > best) {
      best = step;
      row = y;
    }
  }
  return row;
}

}  // namespace

Result<PhotoLine> photo_line(const PictureView& picture, std::span<const Pixel> pulls) {
  constexpr int kLeast = 32;
  if (!picture.pixels || picture.width < kLeast || picture.height < kLeast)
    return fail(Code::bad_input, "error.picture_too_small");
  if (picture.channels != 1 && picture.channels != 3 && picture.channels != 4)
    return fail(Code::bad_input, "error.picture_no_colours");

  const Work work = shrunk(picture);
  const Grid rough = roughness_of(work), steps = steps_of(work, rough);
  const Looks looks(work, rough);

  // First round: sky is smooth, ground is rough.
  Grid sky(work.luma.width, work.luma.height);
  const float threshold = otsu(rough.values, 24.0F);
  for (size_t i = 0; i < sky.values.size(); ++i)
    sky.values[i] = std::clamp((threshold - rough.values[i]) / std::max(threshold, 1.0F),
                               -kGroundCost, kFirstSkyGain);
  Grid cost(sky.width, sky.height + 1), forward = cost;
  const auto best_line = [&](float crossing) {
    put_costs(sky, steps, crossing, work.scale, pulls, cost);
    return solved(cost, forward);
  };
  Solved found = best_line(kFirstCrossing);
  for (int round = 0; round < kRounds; ++round) {
    const bool first = round < kFirstRounds;
    looks.likelihood(found.line, first ? kFirstSkyGain : kSkyGain, sky);
    found = best_line(first ? kFirstCrossing : kCrossing);
  }

  PhotoLine line;
  int sure = 0;
  for (int x = 0; x < work.luma.width; ++x) {
    LinePoint point;
    point.x_px = (x + 0.5) * work.scale;
    point.y_px = at_full_size(picture, work.scale, x, found.line[x]);
    // A uniform spread over the likely rows, and a pixel of the picture.
    point.sigma_px =
        std::hypot((found.most[x] - found.least[x] + 1) * work.scale / std::sqrt(12.0), 0.5);
    const bool inside = found.line[x] > 1 && found.line[x] < work.luma.height - 1;
    float step = 0;
    for (int y = found.line[x] - 1; inside && y <= found.line[x] + 1; ++y)
      step = std::max(step, steps.at(x, y));
    const bool smooth_above = rough.at(x, std::max(0, found.line[x] - 5)) < kRoughSky;
    point.sure = step > kSureStep && smooth_above &&
                 point.sigma_px < std::max(1.5, kSureSigma * picture.width);
    sure += point.sure;
    line.points.push_back(point);
  }
  line.sure_fraction = sure / static_cast<double>(line.points.size());
  line.unsure = line.sure_fraction < kLeastSure;
  if (line.unsure) line.why = "error.photo_no_line";
  return line;
}

}  // namespace horizon
