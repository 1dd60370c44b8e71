// Do contacts of the sun turn a compass that is wrong, and do they say so where they cannot tell? On
// reliefs that the method knows nothing of, made and real; docs/contacts.md has the full count.
#include "horizon/skyline/contact_turn.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>
#include <cstdlib>
#include <functional>
#include <string>
#include <vector>

#include "tests/horizon/light/reliefs.h"
#include "tests/horizon/skyline/contact_truth.h"

using namespace horizon;

namespace {

// How the line was aimed at.
struct Hand {
  const char* name;
  double every_deg, azimuth_sigma_deg, elevation_sigma_deg;
};
constexpr Hand kSteady{"a steady hand, every 1.5 degrees", 1.5, 0.2, 0.1};
constexpr Hand kUsual{"every 4 degrees, half a degree wrong", 4, 0.5, 0.25};

struct Survey {
  reliefs::Line line;
  Skyline aims;
  std::vector<ContactEvidence> contacts;
  double turned_deg = 0;  // what puts the aims right
};

// Three contacts on days some weeks apart between October and January.
Survey survey(unsigned seed, const Hand& hand,
              const std::vector<std::pair<std::string, reliefs::Line>>& real,
              bool everything = false) {
  Gauss gauss(seed);
  Survey s;
  const Place place{44 + 5 * gauss.even(), 10.3, 1400};
  const reliefs::Line line = s.line =
      reliefs::relief(reliefs::kFamilies[seed % reliefs::kFamilies.size()], gauss, real);
  s.turned_deg = gauss.even() < 0.5 ? 7 : -7;
  s.aims.obstacles.push_back({Kind::ridge, "ridge"});
  for (double az = 85; az < 280; az += hand.every_deg) {
    SkylinePoint p;
    p.azimuth = TrueAzimuth::degrees(az - s.turned_deg + hand.azimuth_sigma_deg * gauss.next());
    p.elevation =
        Elevation::degrees(reliefs::at(line, az) + hand.elevation_sigma_deg * gauss.next());
    p.azimuth_sigma_deg = hand.azimuth_sigma_deg;
    p.elevation_sigma_deg = hand.elevation_sigma_deg;
    s.aims.points.push_back(p);
  }
  Air air = standard_air(place.height_m);
  air.temperature_c += 6 * gauss.next();
  const double first =
      parse_utc_s("2025-10-01T03:00:00Z").value() + std::floor(60 * gauss.even()) * 86400;
  std::vector<ContactEvidence> all;
  for (int d = 0; d < 3; ++d)
    for (const auto& event : contact_truth::sun_events(
             [&](double az) { return reliefs::at(line, az); }, place, first + d * 18 * 86400.0,
             first + d * 18 * 86400.0 + 64000, air, *std::ranges::max_element(line))) {
      ContactEvidence e;
      e.reading.came = event.came;
      e.reading.utc_s = event.utc_s + 5 * gauss.next();
      e.reading.place = place;
      e.reading.reading_sigma_s = 5;
      all.push_back(e);
    }
  if (everything) {
    s.contacts = all;
    return s;
  }
  // Any three, apart from each other by a day or half of one.
  for (const double from : {0.0, 0.4, 0.8}) {
    if (all.empty()) break;
    const auto i =
        std::min(static_cast<size_t>((from + 0.2 * gauss.even()) * static_cast<double>(all.size())),
                 all.size() - 1);
    if (s.contacts.empty() || all[i].reading.utc_s > s.contacts.back().reading.utc_s + 7200)
      s.contacts.push_back(all[i]);
  }
  return s;
}

// No method can turn them closer than this (Cramer-Rao): each contact tells of the turn by the
// line's slope there, over the error of the line as the aims give it. One who knows the true line
// picks the best of all straight lines through 2 to 10 aims about it.
double least_sigma_deg(const Survey& s, const Hand& hand) {
  double told = 0;
  for (const ContactEvidence& e : s.contacts) {
    const auto c = contact_point(e.reading);
    if (!c) continue;
    const double az = c->azimuth.degrees();
    double best = 0;
    for (int aims = 2; aims <= 10; ++aims) {
      const double half = hand.every_deg * aims / 2;
      const double rise =
          (reliefs::at(s.line, az + half) - reliefs::at(s.line, az - half)) / (2 * half);
      // What a straight line through so many aims misses about here, over all places of the aims.
      double missed = 0;
      int count = 0;
      for (double from = az - 3 - half; from <= az + 3 - half; from += 0.25, ++count) {
        double n = 0, x1 = 0, y1 = 0, xx = 0, xy = 0;
        for (int k = 0; k < aims; ++k) {
          const double x = (k + 0.5) * hand.every_deg - half,
                       y = reliefs::at(s.line, from + half + x);
          n += 1, x1 += x, y1 += y, xx += x * x, xy += x * y;
        }
        const double slope = (n * xy - x1 * y1) / (n * xx - x1 * x1), level = (y1 - slope * x1) / n;
        missed += std::pow(level - reliefs::at(s.line, from + half), 2);
      }
      const double noise = std::hypot(hand.elevation_sigma_deg, rise * hand.azimuth_sigma_deg);
      const double sigma2 =
          noise * noise / aims + missed / count + c->line_sigma_deg * c->line_sigma_deg;
      best = std::max(best, rise * rise / sigma2);
    }
    told += best;
  }
  return 1 / std::sqrt(std::max(1e-9, told));
}

struct Tally {
  double within_reach = 0;  // trials that could come within 0.3 degree at best
  int tried = 0, decided = 0, within = 0, near = 0, misled = 0, named = 0;
  double squares = 0;
  std::vector<double> off;

  void add(const Result<ContactTurn>& turn, double truth_deg) {
    ++tried;
    if (!turn || !turn->decided) return;
    ++decided;
    off.push_back(std::abs(turn->clockwise_deg - truth_deg));
    const double sigmas = off.back() / turn->sigma_deg;
    within += sigmas < 2;
    misled += sigmas > 3;
    near += off.back() <= 0.3;
    squares += sigmas * sigmas;
  }
  void tell(const std::string& what) {
    std::ranges::sort(off);
    MESSAGE(what << ": " << decided << " of " << tried << " decided, within two sigmas " << within
                 << ", beyond three " << misled << ", within 0.3 degree " << near << ", median off "
                 << (off.empty() ? 0 : off[off.size() / 2]) << ", worst "
                 << (off.empty() ? 0 : off.back()) << ", rms in sigmas "
                 << std::sqrt(squares / std::max(1, decided)) << ", the wrong one named " << named
                 << "; no method could bring more than " << within_reach << " within 0.3 degree");
  }
};

// Aims all round the south and contacts of a line, as the light would meet it.
Result<ContactTurn> turn_over(const std::function<double(double)>& line, double turned_deg) {
  const Place place{46.6, 10.3, 1400};
  Survey s;
  s.aims.obstacles.push_back({Kind::ridge, "ridge"});
  for (double az = 80; az < 285; az += 1.5) {
    SkylinePoint p;
    p.azimuth = TrueAzimuth::degrees(az - turned_deg);
    p.elevation = Elevation::degrees(line(az));
    p.azimuth_sigma_deg = 0.2;
    p.elevation_sigma_deg = 0.1;
    s.aims.points.push_back(p);
  }
  for (const int day : {0, 20, 40}) {
    const double start = parse_utc_s("2025-10-20T03:00:00Z").value() + day * 86400.0;
    for (const auto& event : contact_truth::sun_events(line, place, start, start + 64000,
                                                       standard_air(place.height_m), 30)) {
      ContactEvidence e;
      e.reading.came = event.came;
      e.reading.utc_s = event.utc_s;
      e.reading.place = place;
      s.contacts.push_back(e);
    }
  }
  return contact_turn(s.aims, s.contacts, fit_contacts(s.contacts));
}

}  // namespace

// ADRET_TURNED=280: the table in docs/contacts.md.
TEST_CASE(
    "[property] three contacts turn a compass that is 7 degrees wrong, or say that they cannot") {
  const char* asked = std::getenv("ADRET_TURNED");
  const char* begun = std::getenv("ADRET_TURNED_FROM");
  const int trials = asked ? std::atoi(asked) : 14;
  const auto real = reliefs::read_real(ADRET_TEST_DATA "/real_horizons.csv");
  for (const Hand& hand : {kSteady, kUsual}) {
    if (!asked && hand.every_deg > 2) continue;
    Tally sound, wrong;
    for (int i = 0; i < trials; ++i) {
      const unsigned seed = static_cast<unsigned>((begun ? std::atoi(begun) : 5000) + i);
      Survey s = survey(seed, hand, real);
      if (s.contacts.size() < 3) continue;
      sound.add(contact_turn(s.aims, s.contacts, fit_contacts(s.contacts)), s.turned_deg);
      sound.within_reach += std::erf(0.3 / least_sigma_deg(s, hand) / std::sqrt(2));
      const int bad = i % 3;
      s.contacts[bad].reading.utc_s += i % 2 ? 3600 : -3600;
      const ContactFit fit = fit_contacts(s.contacts);
      const auto turn = contact_turn(s.aims, s.contacts, fit);
      wrong.add(turn, s.turned_deg);
      wrong.named += turn && turn->decided &&
                     (turn->left_out == std::vector<int>{bad} || !fit.contacts[bad].used());
    }
    if (asked) {  // how far all that the same three days gave would come
      Tally more;
      for (int i = 0; i < trials; ++i) {
        const Survey s =
            survey(static_cast<unsigned>((begun ? std::atoi(begun) : 5000) + i), hand, real, true);
        if (s.contacts.size() <= 3) continue;
        more.add(contact_turn(s.aims, s.contacts, fit_contacts(s.contacts)), s.turned_deg);
        more.within_reach += std::erf(0.3 / least_sigma_deg(s, hand) / std::sqrt(2));
      }
      more.tell("  all contacts of three days");
    }
    sound.tell(hand.name);
    wrong.tell("  one of the three an hour off");
    // One trial of chance beside what the full count found.
    CHECK(sound.decided * 2 >= sound.tried - 2);
    CHECK(sound.misled * 50 <= sound.decided + 49);
    CHECK(sound.within * 100 >= sound.decided * 93 - 100);
    CHECK(wrong.misled * 50 <= wrong.decided + 49);
    CHECK(wrong.named * 100 >= wrong.decided * 90 - 100);
    if (hand.every_deg < 2) CHECK(sound.near * 10 >= sound.tried * 4 - 10);
  }
}

TEST_CASE("[property] over an even line contacts turn nothing, and say why") {
  const auto turn = turn_over([](double) { return 12.0; }, 7);
  REQUIRE(turn.has_value());
  CHECK_FALSE(turn->decided);
  CHECK(turn->why.key == "error.contact_line_even");
  CHECK_FALSE(turn->other_deg.has_value());
}

TEST_CASE(
    "[property] over a ridge that repeats itself two turns fit: nothing is turned, and both are told") {
  // Alike every 12 degrees.
  const auto turn = turn_over(
      [](double az) {
        return 12 + 2.5 * std::sin(az * 30 * kDegree) + 0.7 * std::sin(az * 60 * kDegree);
      },
      5);
  REQUIRE(turn.has_value());
  CHECK_FALSE(turn->decided);
  CHECK(turn->why.key == "error.contact_two_turns");
  REQUIRE(turn->other_deg.has_value());
  const double apart = std::abs(*turn->other_deg - turn->clockwise_deg);
  CHECK(std::abs(std::remainder(apart, 12)) < 0.5);
  CHECK(turn->share_within(5, 1) > 0.2);
  CHECK(turn->share_within(-7, 1) > 0.2);
  CHECK(turn->left_out.empty());
}
