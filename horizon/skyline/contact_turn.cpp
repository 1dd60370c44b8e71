#include "horizon/skyline/contact_turn.h"

#include <algorithm>
#include <cmath>
#include <numbers>

#include "horizon/skyline/contact_internal.h"
#include "horizon/skyline/plausible.h"

namespace horizon {
namespace {

constexpr double kStep_deg = 0.05;
constexpr double kUsual_deg = 8;  // compasses are seldom twice as far off
// Of contacts that passed all other trials one in twenty is still wrong, and then lies anywhere; of the
// rest one in ten meets a corner or a step that smooth lines do not foresee.
constexpr double kWrong = 0.05, kAnywhere_deg = 15, kCorner = 0.1, kCornerWidth = 3;
constexpr double kWayWrong = 0.05, kWaySlack_deg = 0.3;
constexpr double kHollow = 4.6;      // of log odds: a hundredth
constexpr double kElsewhere = 0.05;  // mass beyond the best hollow: more are two turns
constexpr double kEven_deg = 2.5;    // a turn less sure than this is none
constexpr int kLines = 96, kPlaces = 720, kLevels = 4;
constexpr int kFarthest = 60;  // places apart, half a degree each

double density(double x, double sigma) {
  const double z = x / sigma;
  return std::exp(-z * z / 2) / (sigma * 2.506628274631);
}
double below(double z) { return std::erfc(-z * std::numbers::sqrt2 / 2) / 2; }

// Where the line may run, by what was aimed at: mean and spread of lines drawn through the aims.
struct Aimed {
  struct Band {
    double elevation_deg = 0, sigma_deg = 0, rise = 0, rise_sigma = 0;  // rise: degrees a degree
  };
  std::vector<double> azimuths;  // of the aims
  std::vector<Band> bands;
  std::vector<double> alike;  // how much the line's errors are alike, by steps of azimuth apart
  double level_sigma_deg = 0;
  Mask mask;

  explicit Aimed(const Skyline& aims) : mask(aims) {
    Skyline own = aims;
    std::erase_if(own.points, [](const SkylinePoint& p) { return p.computed || p.contact >= 0; });
    for (const SkylinePoint& p : own.points)
      if (p.layer == 0) azimuths.push_back(p.azimuth.degrees());
    std::ranges::sort(azimuths);
    if (azimuths.size() < 3) return;
    own.heading_sigma_deg = 0;
    for (SkylinePoint& p : own.points) {
      level_sigma_deg = std::max(level_sigma_deg, p.level_sigma_deg);
      p.level_sigma_deg = 0;
    }
    const PlausibleLines lines(own, 0, kLines, 1);
    std::vector<double> sum(kPlaces), squares(kPlaces), rises(kPlaces), rise_squares(kPlaces);
    std::vector<std::vector<double>> drawn_lines;
    for (int d = 0; d < kLines; ++d) {
      const Mask drawn(lines.draw(d));
      std::vector<double>& line = drawn_lines.emplace_back(kPlaces);
      for (int i = 0; i < kPlaces; ++i) line[i] = drawn.elevation_deg(i * 360.0 / kPlaces);
      for (int i = 0; i < kPlaces; ++i) {
        const double rise =
            (line[(i + 2) % kPlaces] - line[(i + kPlaces - 2) % kPlaces]) * kPlaces / 4 / 360;
        sum[i] += line[i], squares[i] += line[i] * line[i];
        rises[i] += rise, rise_squares[i] += rise * rise;
      }
    }
    const auto spread = [](double total, double total_squares) {
      return std::sqrt(std::max(0.0, total_squares / kLines - total * total / kLines / kLines));
    };
    for (int i = 0; i < kPlaces; ++i)
      bands.push_back({sum[i] / kLines, spread(sum[i], squares[i]), rises[i] / kLines,
                       spread(rises[i], rise_squares[i])});
    set_alike(drawn_lines);
  }
  void set_alike(const std::vector<std::vector<double>>& lines) {
    std::vector<char> known(kPlaces);
    for (int i = 0; i < kPlaces; ++i)
      known[i] = !mask.piece_at(i * 360.0 / kPlaces).open && bands[i].sigma_deg > 1e-6;
    const auto off = [&](const std::vector<double>& line, int i) {
      return (line[i] - bands[i].elevation_deg) / bands[i].sigma_deg;
    };
    for (int apart = 0; apart <= kFarthest; ++apart) {
      double sum = 0;
      int count = 0;
      for (int i = 0; i < kPlaces; i += 4) {
        const int j = (i + apart) % kPlaces;
        if (!known[i] || !known[j]) continue;
        for (const auto& line : lines) sum += off(line, i) * off(line, j);
        count += kLines;
      }
      alike.push_back(count ? std::max(0.0, sum / count) : 0);
    }
  }
  double alike_at(double apart_deg) const {
    const double x = std::abs(apart_deg) * kPlaces / 360;
    const int i = static_cast<int>(x);
    if (i >= kFarthest) return 0;
    return alike[i] + (x - i) * (alike[i + 1] - alike[i]);
  }
  Band at(double az) const {
    const double x = wrap_360(az) * kPlaces / 360;
    const int i = static_cast<int>(x) % kPlaces;
    const double t = x - std::floor(x);
    const Band &a = bands[i], &b = bands[(i + 1) % kPlaces];
    return {a.elevation_deg + t * (b.elevation_deg - a.elevation_deg),
            a.sigma_deg + t * (b.sigma_deg - a.sigma_deg), a.rise + t * (b.rise - a.rise),
            a.rise_sigma + t * (b.rise_sigma - a.rise_sigma)};
  }
};

struct Met {
  int index = 0;  // into the fit's contacts
  const Contact* contact = nullptr;
  bool came = false;
  double weight = 1;  // contacts near each other meet the same error of the line
};

std::vector<Met> met_of(std::span<const ContactEvidence> evidence, const ContactFit& fit,
                        const Aimed& aimed) {
  std::vector<Met> all;
  for (size_t i = 0; i < fit.contacts.size(); ++i)
    if (fit.contacts[i].used())
      all.push_back({static_cast<int>(i), &*fit.contacts[i].contact, evidence[i].reading.came, 1});
  for (Met& m : all) {
    // Of the error, the part that is the line's: the contact's own is its own.
    const double line = aimed.at(m.contact->azimuth.degrees()).sigma_deg,
                 own = m.contact->line_sigma_deg;
    const double shared = line > 0 ? line * line / (line * line + own * own) : 0;
    double crowd = 1;
    for (const Met& o : all)
      if (&o != &m)
        crowd += shared * aimed.alike_at(clockwise_deg(m.contact->azimuth, o.contact->azimuth));
    m.weight = 1 / crowd;
  }
  return all;
}

// How likely a contact is over the turned line: as a sound one, and as a wrong one.
struct Odds {
  double sound = 0, wrong = kWrong / kAnywhere_deg;
};
Odds odds_of(const Aimed& aimed, const Met& met, double turn, double level) {
  const Contact& c = *met.contact;
  const Aimed::Band line = aimed.at(c.azimuth.degrees() - turn);
  const double sigma = std::hypot(line.sigma_deg, c.line_sigma_deg);
  const double off = c.elevation.degrees() - line.elevation_deg - level;
  // Over a line of this slope the light may have had to go the other way.
  const double opening = c.elevation_rate - line.rise * c.azimuth_rate;
  const double unsure = std::abs(c.azimuth_rate) * std::hypot(line.rise_sigma, 0.1) + 1e-9;
  const double way = below((met.came ? opening : -opening) / unsure);
  Odds odds;
  odds.sound = (1 - kWrong) * (0.05 + 0.95 * way) *
               ((1 - kCorner) * density(off, sigma) + kCorner * density(off, kCornerWidth * sigma));
  return odds;
}

// The sun was over the turned line where it was seen, under it where it was hidden.
double log_ways(const Aimed& aimed, std::span<const SunWay> ways, double turn, double level) {
  double sum = 0;
  for (const SunWay& way : ways) {
    double least = 1;
    for (const auto& [step, el] : way.at) {
      const Aimed::Band line = aimed.at(step * kBoundStep_deg - turn);
      const double over = el - line.elevation_deg - level;
      least = std::min(
          least, below((way.seen ? over : -over) / std::hypot(line.sigma_deg, kWaySlack_deg)));
    }
    sum += std::log(kWayWrong + (1 - kWayWrong) * least);
  }
  return sum;
}

double log_likelihood(const Aimed& aimed, std::span<const Met> met, std::span<const SunWay> ways,
                      double turn) {
  const int levels = aimed.level_sigma_deg > 0 ? kLevels : 0;
  double total = 0;
  for (int k = -levels; k <= levels; ++k) {
    const double z = levels ? 2.5 * k / levels : 0;
    const double level = z * aimed.level_sigma_deg;
    double sum = log_ways(aimed, ways, turn, level) - z * z / 2;
    for (const Met& m : met) {
      const Odds odds = odds_of(aimed, m, turn, level);
      sum += m.weight * std::log(odds.sound + odds.wrong);
    }
    total += std::exp(sum);
  }
  return std::log(std::max(total, 1e-300)) - turn * turn / (2 * kUsual_deg * kUsual_deg);
}

// Middle, spread and what else fits, by the log odds of all turns.
ContactTurn weighed(const std::vector<double>& odds, double reach_deg) {
  const int all = static_cast<int>(odds.size()), steps = all / 2;
  const auto best = static_cast<int>(std::ranges::max_element(odds) - odds.begin());
  // The hollow about the best, down to a hundredth on both sides.
  int low = best, high = best;
  while (low > 0 && odds[low - 1] > odds[best] - kHollow) --low;
  while (high + 1 < all && odds[high + 1] > odds[best] - kHollow) ++high;
  ContactTurn turn;
  turn.reach_deg = reach_deg;
  double total = 0, inside = 0, first = 0;
  int other = -1;
  const auto turn_at = [&](int k) { return (k - steps) * kStep_deg; };
  for (int k = 0; k < all; ++k) {
    const double share = std::exp(odds[k] - odds[best]);
    turn.shares.push_back(share);
    total += share;
    if (k >= low && k <= high)
      inside += share, first += share * turn_at(k);
    else if (other < 0 || share > turn.shares[other])
      other = k;
  }
  turn.clockwise_deg = first / inside;
  for (double& share : turn.shares) share /= total;
  turn.sigma_deg = std::max(0.1, turn.spread_about_deg(turn.clockwise_deg));
  turn.decided = true;
  if (inside < (1 - kElsewhere) * total && other >= 0) {
    turn.decided = false;
    turn.other_deg = turn_at(other);
    turn.why = {Code::out_of_range,
                {"error.contact_two_turns",
                 {Arg::figure(turn.clockwise_deg, 1), Arg::figure(*turn.other_deg, 1)}}};
  } else if (turn.sigma_deg > kEven_deg) {
    turn.decided = false;
    turn.why = {Code::out_of_range, "error.contact_line_even"};
  }
  return turn;
}

}  // namespace

double ContactTurn::share_within(double turn_deg, double half_deg) const {
  double sum = 0;
  for (size_t k = 0; k < shares.size(); ++k)
    if (std::abs(static_cast<double>(k) * kStep_deg - reach_deg - turn_deg) <= half_deg)
      sum += shares[k];
  return sum;
}

double ContactTurn::spread_about_deg(double turn_deg) const {
  double square = 0;
  for (size_t k = 0; k < shares.size(); ++k)
    square += shares[k] * std::pow(static_cast<double>(k) * kStep_deg - reach_deg - turn_deg, 2);
  return std::sqrt(square);
}

Result<ContactTurn> contact_turn(const Skyline& aims, std::span<const ContactEvidence> evidence,
                                 const ContactFit& fit, double reach_deg) {
  const Aimed aimed(aims);
  if (aimed.azimuths.size() < 3) return fail(Code::not_found, "error.contact_turn_needs_two");
  const std::vector<Met> met = met_of(evidence, fit, aimed);
  if (met.size() < 2) return fail(Code::not_found, "error.contact_turn_needs_two");
  const std::vector<SunWay> ways = ways_between(evidence, fit);
  const int steps = static_cast<int>(std::lround(reach_deg / kStep_deg));
  std::vector<double> odds;
  for (int k = -steps; k <= steps; ++k)
    odds.push_back(log_likelihood(aimed, met, ways, k * kStep_deg));
  ContactTurn turn = weighed(odds, reach_deg);
  for (const Met& m : met) {
    const Odds at = odds_of(aimed, m, turn.clockwise_deg, 0);
    if (at.sound > at.wrong) {
      ++turn.fitting;
      continue;
    }
    const double az = m.contact->azimuth.degrees() - turn.clockwise_deg;
    if (aimed.mask.piece_at(az).open) continue;
    turn.left_out.push_back(m.index);
    turn.off_deg.push_back(m.contact->elevation.degrees() - aimed.mask.elevation_deg(az));
  }
  if (turn.decided && turn.fitting < 2) return fail(Code::not_found, "error.contact_no_turn");
  if (!turn.decided) turn.left_out.clear(), turn.off_deg.clear();
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
