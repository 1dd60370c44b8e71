#include <Eigen/Dense>
#include <algorithm>
#include <cmath>

#include "horizon/photo/line_in.h"
#include "horizon/photo/photo_points.h"
#include "horizon/photo/turn_film.h"

namespace horizon {
namespace {

using Eigen::Matrix3d;
using Eigen::Vector3d;

constexpr double kBin_deg = 360.0 / kTurnBins;
constexpr double kAgree_deg = 0.45;  // looks that differ more speak of different lines
constexpr double kAgreeing = 0.7;    // share of the sure looks
constexpr double kSureLooks = 0.5;   // share of all that saw the bearing
constexpr std::size_t kManyLooks = 5;
constexpr double kFairLooks = 0.5, kAllAgreeing = 0.8;  // shares of all looks
constexpr double kLeastSigma_deg = 0.07;
constexpr double kAlikeLooks = 3;  // looks at one spot err together
constexpr double kEdge = 0.06;     // of the width, at either side: too near to tell
constexpr int kShortest = 3;       // bins: a shorter piece is chance
constexpr double kOpenWidth_deg = 2;
// A hand-held camera is carried round: what stands near shifts by so much. [common practice] a
// camera held 0.3 m from the turning body, trees and houses from 30 m.
constexpr double kNearShift_deg = 0.3, kFarShift_deg = 0.02;
constexpr float kSaturated = 250, kBright = 215;

struct Seen {
  float elevation, sigma;
  Kind kind;
  bool sure, fair;
};
struct BinLooks {
  std::vector<Seen> seen;
  int sun = 0;
};

struct Spot {
  double azimuth_deg, elevation_deg;
};

int bin_of(double azimuth_deg) {
  return static_cast<int>(wrap_360(azimuth_deg) / kBin_deg) % kTurnBins;
}

// The look's columns as directions, each bin met once: between the two columns beside its middle.
void lay_down(const TurnLook& look, const Matrix3d& rotation, double focal_px,
              std::vector<BinLooks>& bins) {
  const auto n = look.columns.size();
  const auto edge = static_cast<std::size_t>(kEdge * static_cast<double>(n));
  Spot last{};
  for (std::size_t i = edge; i + edge < n; ++i) {
    const LookColumn& c = look.columns[i];
    const Vector3d v = rotation * Vector3d(c.x / focal_px, -c.y / focal_px, 1).normalized();
    const Spot here{wrap_360(std::atan2(v.x(), v.y()) / kDegree),
                    std::asin(std::clamp(v.z(), -1.0, 1.0)) / kDegree};
    if (i > edge) {
      const double step = wrap_180(here.azimuth_deg - last.azimuth_deg);
      const double first = std::ceil(last.azimuth_deg / kBin_deg - 0.5) * kBin_deg + kBin_deg / 2;
      if (step > 0 && step < 5)
        for (double at = first; wrap_180(at - last.azimuth_deg) < step; at += kBin_deg) {
          BinLooks& bin = bins[static_cast<std::size_t>(bin_of(at))];
          const LookColumn& before = look.columns[i - 1];
          bin.sun += c.sun || before.sun;
          const double t = wrap_180(at - last.azimuth_deg) / step;
          bin.seen.push_back(
              {static_cast<float>((1 - t) * last.elevation_deg + t * here.elevation_deg),
               static_cast<float>(std::max(c.sigma, before.sigma) / focal_px / kDegree), c.kind,
               c.sure && before.sure, c.fair && before.fair});
        }
    }
    last = here;
  }
}

float middle_of(std::vector<float> values) {
  const auto at = values.begin() + static_cast<std::ptrdiff_t>(values.size() / 2);
  std::nth_element(values.begin(), at, values.end());
  return *at;
}

// The part of these looks that lies near an elevation.
double agreeing(const std::vector<Seen>& looks, double elevation_deg) {
  int agree = 0;
  for (const Seen& s : looks) agree += std::abs(s.elevation - elevation_deg) < kAgree_deg;
  return agree / static_cast<double>(looks.size());
}

TurnBin judged(const BinLooks& looks) {
  const auto passed = static_cast<double>(looks.seen.size());
  std::vector<Seen> sure, fair;
  for (const Seen& s : looks.seen) {
    if (s.sure) sure.push_back(s);
    if (s.fair) fair.push_back(s);
  }
  TurnBin bin;
  bin.why = passed == 0 ? TurnFault::unseen : TurnFault::doubt;
  if (looks.sun * 2 > passed) bin.why = TurnFault::sun;
  // Half of the looks sure, or many fair ones and hardly a look at all that says otherwise.
  const bool by_many = sure.size() < 2 || static_cast<double>(sure.size()) < kSureLooks * passed;
  if (by_many &&
      (fair.size() < kManyLooks || static_cast<double>(fair.size()) < kFairLooks * passed))
    return bin;
  const std::vector<Seen>& heard = by_many ? fair : sure;
  bin.looks = static_cast<int>(heard.size());
  std::vector<float> values, sigmas, off;
  for (const Seen& s : heard) {
    values.push_back(s.elevation);
    sigmas.push_back(s.sigma);
  }
  bin.elevation_deg = middle_of(values);
  if (agreeing(heard, bin.elevation_deg) < kAgreeing) return bin;
  if (by_many && agreeing(looks.seen, bin.elevation_deg) < kAllAgreeing) return bin;
  for (float v : values) off.push_back(std::abs(v - bin.elevation_deg));
  std::array<int, kKindCount> kinds{};
  for (const Seen& s : heard) ++kinds[static_cast<std::size_t>(s.kind)];
  bin.kind = static_cast<Kind>(std::max_element(kinds.begin(), kinds.end()) - kinds.begin());
  const double spread = 1.4826 * middle_of(off);
  const double independent = std::max(1.0, static_cast<double>(values.size()) / kAlikeLooks);
  bin.sigma_deg = static_cast<float>(std::hypot(
      kLeastSigma_deg, std::max<double>(spread, middle_of(sigmas)) / std::sqrt(independent)));
  bin.found = true;
  bin.why = TurnFault::none;
  return bin;
}

// Pieces shorter than `least` bins that `is` holds for: `change` is called for each bin of them.
template <class Is, class Change>
void short_pieces(std::vector<TurnBin>& bins, int least, Is is, Change change) {
  int start = 0;
  while (start < kTurnBins && is(bins[static_cast<std::size_t>(start)])) ++start;
  if (start == kTurnBins) return;
  for (int i = 0; i < kTurnBins;) {
    const auto at = [&](int k) -> TurnBin& {
      return bins[static_cast<std::size_t>((start + k) % kTurnBins)];
    };
    if (!is(at(i))) {
      ++i;
      continue;
    }
    int end = i;
    while (end < kTurnBins && is(at(end))) ++end;
    if (end - i < least)
      for (int k = i; k < end; ++k) change(at(k));
    i = end;
  }
}

}  // namespace

double TurnStretch::width_deg() const {
  const double width = wrap_360(to_deg - from_deg);
  return width == 0 ? 360 : width;
}

std::string_view name_of(TurnFault fault) {
  constexpr std::string_view kNames[] = {"none", "unseen", "fast",  "shaky",
                                         "sun",  "dark",   "blank", "doubt"};
  return kNames[static_cast<std::size_t>(fault)];
}

std::vector<TurnBin> fused(const std::vector<TurnLook>& looks, const std::vector<TurnNode>& nodes,
                           double focal_px, const FaultCounts& faults) {
  std::vector<BinLooks> laid(kTurnBins);
  for (const TurnLook& look : looks)
    lay_down(look, nodes[static_cast<std::size_t>(look.key)].rotation * look.on_key.transpose(),
             focal_px, laid);
  std::vector<TurnBin> bins;
  for (const BinLooks& each : laid) bins.push_back(judged(each));
  short_pieces(
      bins, kShortest, [](const TurnBin& b) { return b.found; },
      [](TurnBin& b) {
        b.found = false;
        b.why = TurnFault::doubt;
      });
  for (int k = 1; k < kKindCount; ++k)
    short_pieces(
        bins, kShortest, [&](const TurnBin& b) { return b.found && b.kind == Kind(k); },
        [](TurnBin& b) { b.kind = Kind::ridge; });
  for (int i = 0; i < kTurnBins; ++i) {
    TurnBin& bin = bins[static_cast<std::size_t>(i)];
    if (bin.found || bin.why == TurnFault::sun) continue;
    int most = 0;
    for (int f = static_cast<int>(TurnFault::fast); f < static_cast<int>(TurnFault::doubt); ++f)
      if (const int count = faults[static_cast<std::size_t>(f)][static_cast<std::size_t>(i / 2)];
          count > most) {
        most = count;
        bin.why = static_cast<TurnFault>(f);
      }
  }
  return bins;
}

std::vector<TurnStretch> open_stretches(const std::vector<TurnBin>& bins) {
  const auto open = [&](int i) {
    return !bins[static_cast<std::size_t>((i + kTurnBins) % kTurnBins)].found;
  };
  int start = 0;
  while (start < kTurnBins && open(start)) ++start;
  std::vector<TurnStretch> result;
  if (start == kTurnBins) return {{0, 0, bins[0].why}};
  for (int i = start; i < start + kTurnBins;) {
    if (!open(i)) {
      ++i;
      continue;
    }
    int end = i;
    std::array<int, kTurnFaults> why{};
    for (; end < start + kTurnBins && open(end); ++end)
      ++why[static_cast<std::size_t>(bins[static_cast<std::size_t>(end % kTurnBins)].why)];
    if ((end - i) * kBin_deg >= kOpenWidth_deg)
      result.push_back(
          {wrap_360(i * kBin_deg), wrap_360(end * kBin_deg),
           static_cast<TurnFault>(std::max_element(why.begin(), why.end()) - why.begin())});
    i = end;
  }
  std::sort(result.begin(), result.end(),
            [](const TurnStretch& a, const TurnStretch& b) { return a.from_deg < b.from_deg; });
  return result;
}

std::optional<double> TurnSkyline::turn_deg_of_sensed(double azimuth_deg) const {
  double weights = 0, sum = 0;
  for (const auto& [sensed, turn] : sensed_to_turn_deg) {
    const double off = std::abs(wrap_180(sensed - azimuth_deg));
    if (off > 30) continue;
    const double weight = 1 / (1 + off * off / 25);
    weights += weight;
    sum += weight * wrap_180(turn - sensed);
  }
  if (weights == 0) return std::nullopt;
  return wrap_360(azimuth_deg + sum / weights);
}

std::vector<SkylinePoint> turn_marks(const TurnSkyline& skyline) {
  std::vector<SkylinePoint> marks, run;
  const auto close_run = [&] {
    for (const SkylinePoint& p : thinned_points(run, 0.1, 5)) marks.push_back(p);
    run.clear();
  };
  int start = 0;  // not in the middle of a run
  while (start < kTurnBins && skyline.bins[static_cast<std::size_t>(start)].found) ++start;
  for (int i = start; i < start + kTurnBins; ++i) {
    const TurnBin& bin = skyline.bins[static_cast<std::size_t>(i % kTurnBins)];
    if (!bin.found) {
      close_run();
      continue;
    }
    SkylinePoint p;
    p.azimuth = TrueAzimuth::degrees((i % kTurnBins + 0.5) * kBin_deg);
    p.elevation = Elevation::degrees(bin.elevation_deg);
    p.obstacle = static_cast<int>(bin.kind);
    const double shift = bin.kind == Kind::ridge ? kFarShift_deg : kNearShift_deg;
    p.azimuth_sigma_deg =
        std::hypot(skyline.step_sigma_deg, std::hypot(shift, kBin_deg / std::sqrt(12.0)));
    p.elevation_sigma_deg = std::hypot(std::hypot<double>(bin.sigma_deg, skyline.level_sigma_deg),
                                       bin.kind == Kind::ridge ? 0 : shift / 3);
    if (!run.empty() && run.back().obstacle != p.obstacle) close_run();
    run.push_back(p);
  }
  close_run();
  return marks;
}

std::optional<Glare> glare_in(const WorkPicture& work) {
  const int w = work.luma.width, h = work.luma.height;
  double n = 0, sx = 0, sy = 0;
  int x0 = w, x1 = -1, y0 = h, y1 = -1;
  for (int x = 0; x < w; ++x)
    for (int y = 0; y < h; ++y)
      if (work.luma.at(x, y) >= kSaturated) {
        ++n;
        sx += x;
        sy += y;
        x0 = std::min(x0, x);
        x1 = std::max(x1, x);
        y0 = std::min(y0, y);
        y1 = std::max(y1, y);
      }
  const double least = 0.00025 * w * h, most = 0.08 * w * h;
  if (n < least || n > most) return std::nullopt;
  const Glare glare{sx / n, sy / n, std::sqrt(n / 3.1416)};
  // Round: the spots lie close to their middle.
  double near = 0, bright = 0, round = 0;
  const double reach = 2.2 * glare.radius + 1.5;
  for (int x = 0; x < w; ++x)
    for (int y = 0; y < h; ++y) {
      const double off = std::hypot(x - glare.x, y - glare.y);
      near += off < reach && work.luma.at(x, y) >= kSaturated;
      if (off > reach && off < reach + 3) {
        ++round;
        bright += work.luma.at(x, y) >= kBright;
      }
    }
  if (near < 0.8 * n || bright < 0.6 * round) return std::nullopt;
  return glare;
}

namespace {

// The clearest edge close above the line, in levels: snow before sky, a far ridge, a cloud. What
// cannot be told from sky by its look alone is not sky for sure.
float edge_above(const WorkPicture& work, int column, int row, int reach) {
  constexpr int kGap = 3, kRows = 3;
  const int x0 = std::max(0, column - 2), x1 = std::min(work.luma.width - 1, column + 2);
  float most = 0;
  for (int y = std::max(kRows, row - reach); y <= row - kGap - kRows; ++y)
    for (const Grid* g : {&work.luma, &work.blue, &work.red}) {
      float differ = 0;
      for (int x = x0; x <= x1; ++x)
        for (int k = 1; k <= kRows; ++k) differ += g->at(x, y - k) - g->at(x, y + k - 1);
      differ = std::abs(differ) / static_cast<float>((x1 - x0 + 1) * kRows);
      most = std::max(most, g == &work.luma ? differ : 2 * differ);
    }
  return most;
}

// What lies just above the line: white may be a cloud, or snow whose edge against the cloud is faint;
// in what the camera clipped to white no edge is left at all.
enum class Above : std::uint8_t { coloured, white, clipped };
Above above(const WorkPicture& work, int column, int row) {
  constexpr int kFrom = 2, kTo = 7;
  constexpr float kPale = 160, kColourless = 12, kClipped = 232;
  float luma = 0, blue = 0, red = 0;
  for (int k = kFrom; k <= kTo; ++k) {
    luma += work.luma.at(column, row - k);
    blue += work.blue.at(column, row - k) - 128;
    red += work.red.at(column, row - k) - 128;
  }
  constexpr float kPart = 1.0F / (kTo - kFrom + 1);
  if (luma * kPart > kClipped) return Above::clipped;
  const bool white = luma * kPart > kPale && std::abs(blue) * kPart < kColourless &&
                     std::abs(red) * kPart < kColourless;
  return white ? Above::white : Above::coloured;
}

// Snow just below the line: the white above it may be more of it.
bool snow_below(const WorkPicture& work, int column, int row) {
  constexpr float kPale = 160, kColourless = 12;
  int white = 0;
  for (int y = row + 1; y < std::min(work.luma.height, row + 13); ++y)
    white += work.luma.at(column, y) > kPale &&
             std::abs(work.blue.at(column, y) - 128) < kColourless &&
             std::abs(work.red.at(column, y) - 128) < kColourless;
  return white >= 3;
}

Kind kind_below(const WorkPicture& work, const Grid& rough, int column, int row) {
  const int to = std::min(work.luma.height, row + 12);
  float luma = 0, blue = 0, red = 0, roughness = 0;
  int n = 0;
  for (int y = row + 2; y < to; ++y, ++n) {
    luma += work.luma.at(column, y);
    blue += work.blue.at(column, y) - 128;
    red += work.red.at(column, y) - 128;
    roughness += rough.at(column, y);
  }
  if (n == 0) return Kind::ridge;
  const float part = 1.0F / static_cast<float>(n);
  luma *= part;
  blue *= part;
  red *= part;
  roughness *= part;
  if (luma < 95 && roughness > 5 && red < 2 && blue < 3) return Kind::evergreen;  // dark, ragged
  if (red > 5 && roughness > 5 && blue < -4) return Kind::leafy;                  // brown twigs
  if (red > 7 && roughness < 5 && blue < -4) return Kind::building;               // warm and even
  return Kind::ridge;
}

}  // namespace

std::vector<LookColumn> look_columns(const PictureView& picture, const WorkPicture& work,
                                     const std::optional<Glare>& glare) {
  // Narrower pictures than the search was calibrated on make it shy: on the photographs traced by
  // hand, shrunk to a film's size, nine in a thousand of the columns over this were wrong.
  constexpr double kFairChance = 0.5, kSureChance = 0.65, kLeastSure = 1.0 / 3,
                   kWidestSigma = 0.008;
  constexpr float kEdgeAbove = 12, kFaintAbove = 6, kCloudAbove = 25;
  constexpr double kGlareReach = 0.08, kEdgeReach = 0.1;  // of the width
  const Grid rough = roughness_of(work);
  const PhotoLine line = line_in(picture, work, rough, {});
  const int w = work.luma.width, h = work.luma.height;
  const double align = kAlignWidth / static_cast<double>(picture.width);
  std::vector<LookColumn> columns;
  int likely = 0;
  for (const LinePoint& p : line.points) {
    LookColumn c;
    c.x = static_cast<float>((p.x_px - picture.width / 2.0) * align);
    c.y = static_cast<float>((p.y_px - picture.height / 2.0) * align);
    c.sigma = static_cast<float>(p.sigma_px * align);
    const double off_x = p.x_px * align - (glare ? glare->x : 0),
                 off_y = p.y_px * align - (glare ? glare->y : 0);
    c.sun = glare && std::abs(off_x) < glare->radius + kGlareReach * kAlignWidth &&
            std::abs(off_y) < glare->radius + 2 * kGlareReach * kAlignWidth;
    const bool narrow =
        p.sigma_px<kWidestSigma * picture.width, fits = p.chance> kSureChance && narrow;
    likely += fits;
    const int column = std::clamp(static_cast<int>(p.x_px / work.scale), 0, w - 1);
    const int row = std::clamp(static_cast<int>(p.y_px / work.scale), 0, h);
    const bool inside = row > 8 && row < h - 4;
    // Snow against a cloud has a faint edge only.
    const Above what = inside ? above(work, column, row) : Above::clipped;
    const bool white = what == Above::white;
    const bool seen = what != Above::clipped && !c.sun && !(white && snow_below(work, column, row));
    const float edge =
        inside ? edge_above(work, column, row, static_cast<int>(kEdgeReach * w)) : kCloudAbove;
    c.sure = fits && seen && edge < (white ? kFaintAbove : kEdgeAbove);
    // Over a sky that is not white an edge higher up is most often a cloud's.
    c.fair = c.sure || (p.chance > kFairChance && narrow && seen &&
                        edge < (white ? kFaintAbove : kCloudAbove));
    c.kind = kind_below(work, rough, column, row);
    columns.push_back(c);
  }
  if (likely < kLeastSure * static_cast<double>(columns.size()))
    for (LookColumn& c : columns) c.sure = c.fair = false;
  return columns;
}

}  // namespace horizon
