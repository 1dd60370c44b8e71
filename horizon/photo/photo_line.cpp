#include "horizon/photo/photo_line.h"

#include <algorithm>
#include <cmath>
#include <optional>

#include "horizon/photo/line_in.h"
#include "horizon/photo/line_search.h"

namespace horizon {
namespace {

constexpr double kSureChance = 0.9;
constexpr double kSureSigma = 0.004;  // of the width; a wider point is not sure
constexpr double kLeastSure = 1.0 / 3;
constexpr double kTrustSome = kLeastSure;  // with a smaller part sure, nothing is
constexpr float kFaintRidge = 6.0F;        // levels of an edge above the line: a ridge in haze?
constexpr double kFaintChance = 0.5;
constexpr double kClosePulls = 0.06;  // of the width: between two such pulls the line is sure
constexpr double kPullSnaps = 0.25;   // a mean step between wider pulls on which it has snapped
constexpr double kRivalWidth = 0.04;  // of the width: shorter rivals are not worth a touch
constexpr float kRivalCost = 60;

using Hints = std::vector<std::optional<ColumnHint>>;

float grey_at(const PictureView& picture, int x, int y) {
  const std::uint8_t* p =
      picture.pixels + (static_cast<std::size_t>(y) * picture.width + x) * picture.channels;
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

Hints hints_of(const LineHelp& help, const WorkPicture& work) {
  if (help.pulls.empty() && help.known.empty()) return {};
  Hints hints(static_cast<std::size_t>(work.luma.width));
  const auto column = [&](double x_px) {
    return static_cast<std::size_t>(
        std::clamp(static_cast<int>(x_px / work.scale), 0, work.luma.width - 1));
  };
  for (const LinePoint& p : help.known)
    hints[column(p.x_px)] = {p.y_px / work.scale, std::max(1.0, p.sigma_px / work.scale), false};
  for (const Pixel& p : help.pulls)
    hints[column(p.x)] = {
        std::clamp(std::round(p.y / work.scale), 0.0, static_cast<double>(work.luma.height)), 1,
        true};
  return hints;
}

// What the network and the hints say of each column, the neighbours heard.
std::vector<double> chances(const LineSearch& search, const Hints& hints, int width) {
  const LineNet net = trained_line_net();
  std::vector<double> odds(static_cast<std::size_t>(width)), sums(1, 0.0);
  for (int x = 0; x < width; ++x) {
    odds[x] = std::clamp(static_cast<double>(net(search.features(x).data())), -6.0, 6.0);
    if (!hints.empty() && hints[x] && !hints[x]->fixed) {
      const double off = std::abs(search.line()[x] - hints[x]->row);
      odds[x] += off < 2 * hints[x]->sigma + 0.004 * width ? 2.0 : -4.0;
    }
    sums.push_back(sums.back() + odds[x]);
  }
  const int reach = std::max(1, width / 100);
  std::vector<double> result;
  for (int x = 0; x < width; ++x) {
    const int a = std::max(0, x - reach), b = std::min(width, x + reach + 1);
    const double mean = std::min(odds[x] + 1, (sums[b] - sums[a]) / (b - a));
    result.push_back(1 / (1 + std::exp(-mean)));
  }
  return result;
}

// Between two pulls the finger vouches for the line.
void vouch(const LineSearch& search, const Hints& hints, std::vector<double>& chance) {
  const int width = static_cast<int>(chance.size());
  int last = -1;
  for (int x = 0; x < width; ++x) {
    if (hints.empty() || !hints[x] || !hints[x]->fixed) continue;
    chance[x] = 0.99;
    if (last >= 0) {
      double step = 0;
      for (int u = last; u <= x; ++u) step += search.step_at(u);
      step /= x - last + 1;
      if (x - last < kClosePulls * width || step > kPullSnaps)
        for (int u = last; u <= x; ++u) chance[u] = std::max(chance[u], 0.97);
    }
    last = x;
  }
}

// Lines that leave the found one where it is in doubt, each solved through its own best row.
std::vector<RivalLine> rivals_of(LineSearch& search, const Hints& hints,
                                 const std::vector<double>& chance, double scale) {
  std::vector<RivalLine> result;
  const std::vector<int>& found = search.line();
  const int width = static_cast<int>(found.size());
  const int apart = std::max(3, width / 80);
  std::vector<bool> used(found.size(), false);
  for (int round = 0; round < 2; ++round) {
    int at = -1, row = 0;
    float cheapest = kRivalCost;
    for (int x = 0; x < width; x += 4) {
      float dearer = 0;
      const int y = search.rival_row(x, dearer);
      if (!used[x] && chance[x] < kSureChance && dearer < cheapest) {
        cheapest = dearer;
        at = x;
        row = y;
      }
    }
    if (at < 0) break;
    Hints forced = hints;
    forced.resize(found.size());
    forced[at] = ColumnHint{static_cast<double>(row), 1, true};
    const std::vector<int> other = search.line_through(forced);
    RivalLine rival;
    int from = at, to = at;
    while (from > 0 && std::abs(other[from - 1] - found[from - 1]) > apart / 2) --from;
    while (to + 1 < width && std::abs(other[to + 1] - found[to + 1]) > apart / 2) ++to;
    for (int x = from; x <= to; ++x) {
      used[x] = true;
      rival.points.push_back({(x + 0.5) * scale, other[x] * scale});
    }
    if (to - from > kRivalWidth * width) result.push_back(std::move(rival));
  }
  std::sort(result.begin(), result.end(), [](const RivalLine& a, const RivalLine& b) {
    return a.points.size() > b.points.size();
  });
  return result;
}

Result<void> usable(const PictureView& picture) {
  constexpr int kLeast = 32;
  if (!picture.pixels || picture.width < kLeast || picture.height < kLeast)
    return fail(Code::bad_input, "error.picture_too_small");
  if (picture.channels != 1 && picture.channels != 3 && picture.channels != 4)
    return fail(Code::bad_input, "error.picture_no_colours");
  return {};
}

}  // namespace

Result<PhotoLine> photo_line(const PictureView& picture, const LineHelp& help) {
  if (auto fit = usable(picture); !fit) return tl::unexpected(fit.error());
  const WorkPicture work = shrunk(picture, std::clamp(help.work_width, 32, kWorkWidth));
  return line_in(picture, work, roughness_of(work), help);
}

PhotoLine line_in(const PictureView& picture, const WorkPicture& work, const Grid& rough,
                  const LineHelp& help) {
  const int width = work.luma.width, height = work.luma.height;
  const Hints hints = hints_of(help, work);
  std::vector<int> start;
  if (help.last && !help.last->points.empty()) {
    const auto& points = help.last->points;
    std::size_t i = 0;
    for (int x = 0; x < width; ++x) {
      while (i + 1 < points.size() && points[i].x_px < (x + 0.5) * work.scale) ++i;
      start.push_back(
          std::clamp(static_cast<int>(std::lround(points[i].y_px / work.scale)), 0, height));
    }
  }
  LineSearch search(work, rough, trained_sky_net());
  search.find(hints, start.empty() ? nullptr : &start);
  std::vector<double> chance = chances(search, hints, width);
  if (!help.last) {
    const std::vector<float> faint = search.faint_above();
    for (int x = 0; x < width; ++x)
      if (faint[x] > kFaintRidge) chance[x] = std::min(chance[x], kFaintChance);
  }
  vouch(search, hints, chance);

  PhotoLine line;
  int sure = 0;
  for (int x = 0; x < width; ++x) {
    LinePoint point;
    const int row = search.line()[x];
    point.x_px = (x + 0.5) * work.scale;
    point.y_px = at_full_size(picture, work.scale, x, row);
    // A uniform spread over the likely rows, and a pixel of the picture.
    point.sigma_px =
        std::hypot((search.most(x) - search.least(x) + 1) * work.scale / std::sqrt(12.0), 0.5);
    point.chance = row > 1 && row < height - 1 ? chance[x] : 0;
    point.sure =
        point.chance > kSureChance && point.sigma_px < std::max(1.5, kSureSigma * picture.width);
    sure += point.sure;
    line.points.push_back(point);
  }
  line.sure_fraction = sure / static_cast<double>(width);
  if (line.sure_fraction < kTrustSome && help.pulls.empty()) {
    for (LinePoint& p : line.points) p.sure = false;
    line.sure_fraction = 0;
  }
  line.unsure = line.sure_fraction < kLeastSure;
  if (line.unsure) line.why = "error.photo_no_line";
  if (!help.last) line.rivals = rivals_of(search, hints, chance, work.scale);
  return line;
}

Result<PhotoLine> photo_line(const PictureView& picture, std::span<const Pixel> pulls) {
  LineHelp help;
  help.pulls = pulls;
  return photo_line(picture, help);
}

}  // namespace horizon
