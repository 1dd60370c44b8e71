#include "horizon/skyline/contact_turn.h"

#include <algorithm>
#include <cmath>

#include "horizon/skyline/contact_internal.h"

namespace horizon {
namespace {

constexpr double kStep_deg = 0.05, kMost = 15;  // of a squared score: near 4 sigmas
constexpr double kApart_deg = 1.5, kAlike = 4;
// A compass is seldom more than this off; it only decides between turns that fit alike.
constexpr double kUsual_deg = 12;
constexpr double kSunSlack_deg = 0.7, kWay = 6;
constexpr double kEven_deg = 2.5;  // a turn less sure than this is none

struct Aimed {
  Mask mask;
  std::vector<const SkylinePoint*> points;  // by azimuth
  double roughness = 0.35;                  // degrees over the root of a degree, between two aims

  explicit Aimed(const Skyline& aims) : mask(aims) {
    for (const SkylinePoint& p : aims.points)
      if (!p.computed && p.contact < 0 && p.layer == 0) points.push_back(&p);
    std::ranges::sort(points, {}, [](const SkylinePoint* p) { return p->azimuth.degrees(); });
    // How far aims lie off the line through the ones beside them.
    std::vector<double> found;
    for (size_t i = 1; i + 1 < points.size(); ++i) {
      const double left = clockwise_deg(points[i - 1]->azimuth, points[i]->azimuth),
                   right = clockwise_deg(points[i]->azimuth, points[i + 1]->azimuth);
      if (left < 0.1 || right < 0.1 || left + right > 20) continue;
      const double join =
          (points[i - 1]->elevation.degrees() * right + points[i + 1]->elevation.degrees() * left) /
          (left + right);
      found.push_back(std::abs(points[i]->elevation.degrees() - join) /
                      std::sqrt(left * right / (left + right)));
    }
    if (found.size() < 5) return;
    std::ranges::nth_element(found, found.begin() + static_cast<std::ptrdiff_t>(found.size() / 2));
    roughness = std::clamp(1.48 * found[found.size() / 2], 0.03, 1.0);
  }
  double rise_at(double az) const {
    return (mask.elevation_deg(az + 0.4) - mask.elevation_deg(az - 0.4)) / 0.8;
  }
  double sigma_at(double az) const {
    double before = 360, after = 360;
    const SkylinePoint* nearest = nullptr;
    for (const SkylinePoint* p : points) {
      const double x = wrap_180(p->azimuth.degrees() - az);
      if (!nearest || std::abs(x) < std::min(before, after)) nearest = p;
      (x < 0 ? before : after) = std::min(x < 0 ? before : after, std::abs(x));
    }
    if (!nearest) return 5;
    return std::hypot(nearest->elevation_sigma_deg, rise_at(az) * nearest->azimuth_sigma_deg,
                      roughness * std::sqrt(before * after / (before + after + 1e-9)));
  }
};

struct Scored {
  double score = 0;
  int fitting = 0;
};

Scored score_of(const Aimed& aimed, const ContactFit& fit, const std::vector<int>& used,
                std::span<const SunWay> ways, std::span<const ContactEvidence> evidence,
                double turn) {
  Scored sum{(turn / kUsual_deg) * (turn / kUsual_deg), 0};
  for (const int i : used) {
    const Contact& c = *fit.contacts[i].contact;
    const double az = c.azimuth.degrees() - turn;
    if (aimed.mask.piece_at(az).open) {
      sum.score += kMost * 0.7;  // unknown, so neither for nor against
      continue;
    }
    const double sigma = std::hypot(aimed.sigma_at(az), c.line_sigma_deg);
    const double off = c.elevation.degrees() - aimed.mask.elevation_deg(az);
    const double rise = aimed.rise_at(az);
    double score = std::min(kMost, off * off / (sigma * sigma));
    // Over a line of this slope the light would have gone the other way.
    const double opening = c.elevation_rate - rise * c.azimuth_rate;
    const double unsure = 0.25 * std::abs(c.azimuth_rate);
    if ((opening > unsure && !evidence[i].reading.came) ||
        (opening < -unsure && evidence[i].reading.came))
      score = std::min(kMost, score + 4);
    sum.score += score;
    sum.fitting += score < kMost;
  }
  for (const SunWay& way : ways) {
    if (way.at.empty()) continue;
    double wrong = 0;
    for (const auto& [step, el] : way.at) {
      const double az = step * kBoundStep_deg - turn;
      if (aimed.mask.piece_at(az).open) continue;
      const double over = el - aimed.mask.elevation_deg(az);
      wrong += way.seen ? over < -kSunSlack_deg : over > kSunSlack_deg;
    }
    sum.score += kWay * wrong / static_cast<double>(way.at.size());
  }
  return sum;
}

}  // namespace

Result<ContactTurn> contact_turn(const Skyline& aims, std::span<const ContactEvidence> evidence,
                                 const ContactFit& fit, double reach_deg) {
  std::vector<int> used;
  for (size_t i = 0; i < fit.contacts.size(); ++i)
    if (fit.contacts[i].used()) used.push_back(static_cast<int>(i));
  const Aimed aimed(aims);
  if (used.size() < 2 || aimed.points.size() < 3)
    return fail(Code::not_found, "error.contact_turn_needs_two");
  const std::vector<SunWay> ways = ways_between(evidence, fit);
  const int steps = static_cast<int>(reach_deg / kStep_deg);
  std::vector<Scored> scores;
  int best = 0;
  for (int k = -steps; k <= steps; ++k) {
    scores.push_back(score_of(aimed, fit, used, ways, evidence, k * kStep_deg));
    if (scores.back().score < scores[best].score) best = static_cast<int>(scores.size()) - 1;
  }
  const Scored& at = scores[best];
  if (at.fitting < 2) return fail(Code::not_found, "error.contact_no_turn");
  for (int k = 0; k < static_cast<int>(scores.size()); ++k)
    if (std::abs(k - best) * kStep_deg > kApart_deg && scores[k].score < at.score + kAlike) {
      // A hollow of its own, not the flank of the best one, whose width tells the sigma.
      bool apart = false;
      for (int m = std::min(k, best); m <= std::max(k, best); ++m)
        apart = apart || scores[m].score > std::max(scores[k].score, at.score) + 1;
      if (apart) return fail(Code::out_of_range, "error.contact_two_turns");
    }
  ContactTurn turn;
  turn.fitting = at.fitting;
  // Mean and spread over all turns by how well each fits: the best one alone was too sure of itself.
  double weight = 0, first = 0, second = 0;
  for (int k = 0; k < static_cast<int>(scores.size()); ++k) {
    const double x = (k - steps) * kStep_deg, w = std::exp((at.score - scores[k].score) / 2);
    weight += w, first += w * x, second += w * x * x;
  }
  turn.clockwise_deg = first / weight;
  turn.sigma_deg = std::max(
      0.1, std::sqrt(std::max(0.0, second / weight - turn.clockwise_deg * turn.clockwise_deg)));
  if (turn.sigma_deg > kEven_deg) return fail(Code::out_of_range, "error.contact_line_even");
  for (const int i : used) {
    const Contact& c = *fit.contacts[i].contact;
    const double az = c.azimuth.degrees() - turn.clockwise_deg;
    if (aimed.mask.piece_at(az).open) continue;
    const double off = c.elevation.degrees() - aimed.mask.elevation_deg(az);
    if (std::abs(off) < 3 * std::hypot(aimed.sigma_at(az), c.line_sigma_deg)) continue;
    turn.left_out.push_back(i);
    turn.off_deg.push_back(off);
  }
  return turn;
}

HeadingCheck contact_check(const ContactTurn& turn) {
  HeadingCheck check;
  check.kind = CheckKind::contact;
  check.measured = TrueAzimuth::degrees(0);
  check.known = TrueAzimuth::degrees(turn.clockwise_deg);
  check.measured_sigma_deg = turn.sigma_deg;
  check.known_sigma_deg = 0;
  return check;
}

}  // namespace horizon
