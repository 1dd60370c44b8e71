// horizon/light/uncertainty.h: how far the findings move with all that the true skyline may be.
// Units:    hours, degrees, days of the year from 1
// Frame:    each draw is one skyline of horizon/skyline/plausible.h
// Accuracy: a 5 % end of 200 draws is itself good to 7 % of the range; the same seed gives the same
//           draws on every machine
// Source:   Monte Carlo propagation of distributions, JCGM 101:2008
#pragma once

#include <cstdint>
#include <random>
#include <vector>

#include "horizon/light/facing.h"
#include "horizon/light/growing_light.h"
#include "horizon/light/sun_steps.h"
#include "horizon/skyline/plausible.h"

namespace horizon {

class SiteLight;

// Share of a step with the sun's centre in view, for many skylines one after the other.
class FastView {
 public:
  explicit FastView(const SunSteps& sun);
  // 0 to 1 for each step; `solid` by itself when `leaf` light is wanted.
  void view(const Mask& mask, std::vector<float>& shares) const;
  // Of one step: the same.
  float share(const MaskTable& table, size_t step) const {
    const int node = sun_.steps[step].node;
    return share_of(over(table, node), over(table, node + 1));
  }

 private:
  float over(const MaskTable& table, int node) const {
    return static_cast<float>(sun_.nodes[node].seen_deg) - table.at(bin_[node], part_[node]);
  }
  static float share_of(float d0, float d1) {
    return d0 > 0 ? (d1 >= 0 ? 1 : d0 / (d0 - d1)) : (d1 > 0 ? d1 / (d1 - d0) : 0);
  }
  const SunSteps& sun_;
  std::vector<int> bin_;
  std::vector<float> part_;
};

struct DrawnSite {
  double shortest_day_h = 0, winter_h = 0, year_h = 0;
  std::array<double, 12> months_h{};
  std::vector<DaySpell> without_sun;           // days with less than a minute of direct sun
  std::vector<std::vector<DaySpell>> in_need;  // by crop: days at or above its need
  Plane best;                                  // of the season asked for
};
struct Draws {
  DrawnSite centre;  // by the same arithmetic, of the skyline as sighted
  std::vector<DrawnSite> draws;
};
struct DrawSettings {
  int draws = 200;
  std::uint32_t seed = 1;
  double eye_height_sigma_m = 0.1;
  unsigned winter_months = 0;
  int shortest_day = 355;  // of the year
  Season season = Season::winter_half;
  Plane start;            // where to look for the best plane first
  Plane bed;              // the plane before the growing bed
  double bed_factor = 1;  // frames and dirt
  int bed_window_days = 1;
  std::vector<CropNeed> needs;
};
Draws draw_sites(const SiteLight& light, const Skyline& skyline, const TransmittanceCurve& glazing,
                 const DrawSettings& settings);

// The value under which a share of the sorted-or-not values lies, linear between ranks.
double quantile(std::vector<double> values, double share);
// Under which one more draw falls with that probability: the ends of a range that is to hold the
// truth. Definition 6 of Hyndman & Fan, The American Statistician 50 (1996).
double end_of_range(std::vector<double> values, double share);

// Where the true share lies, 90 %, after so many hits: E. B. Wilson, J. Am. Stat. Assoc. 22 (1927).
struct ShareRange {
  double low = 0, high = 1;
};
ShareRange wilson_90(int hits, int of);

}  // namespace horizon
