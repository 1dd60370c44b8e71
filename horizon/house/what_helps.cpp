// What would help most, each tried by living through the same winters again.
#include <algorithm>
#include <cmath>

#include "horizon/house/house_draws.h"
#include "horizon/parallel.h"

namespace horizon {
namespace {

constexpr size_t kTried = 8;  // winters, spread over all by their lowest inside

struct Change {
  WhatHelps what;
  HouseInput input;
  bool new_sun = false;   // plane or pane changes
  bool new_site = false;  // another skyline
  std::optional<HouseClimate> climate;
};

// Taller glazing on the same floor; the ridge rises with it as far as it must.
void tip(House& house, double tilt_deg) {
  house.glazing.tilt_deg = tilt_deg;
  const double slope = house.glazing_m2 / house.length_m;
  house.ridge_m = std::max(house.ridge_m, slope * std::sin(tilt_deg * kDegree) + 0.2);
}

std::vector<Change> changes_of(const HouseInput& input) {
  std::vector<Change> out;
  const House& h = input.house;
  const auto add = [&](const char* what, double value, auto change, bool new_sun = false) {
    Change c{{what, {}, value, {}}, input, new_sun, false, {}};
    change(c.input.house);
    if (check_house(c.input.house)) out.push_back(std::move(c));
  };
  if (h.night_m2kw < 0.5) add("night_cover", 1.0, [](House& x) { x.night_m2kw = 1.0; });
  if (h.edge.depth_m < 1.2 || h.edge.resistance_m2kw < 1)
    add("edge_boards", 1.8, [](House& x) { x.edge = {1.8, 2.5}; });
  if (h.pane.sheets < 4)
    add(
        "pane", h.pane.sheets + 1,
        [](House& x) {
          const double before = pane_resistance_m2kw(x.pane);
          ++x.pane.sheets;
          x.pane.normal_transmittance.reset();
          x.pane_m2kw += pane_resistance_m2kw(x.pane) - before;
        },
        true);
  for (const double steeper : {45.0, 60.0})
    if (h.glazing.tilt_deg < steeper - 5)
      add(
          "tilt", steeper, [steeper](House& x) { tip(x, steeper); }, true);
  if (input.best_facing && std::abs(clockwise_deg(h.glazing.facing, *input.best_facing)) > 5)
    add(
        "facing", input.best_facing->degrees(),
        [&](House& x) { x.glazing.facing = *input.best_facing; }, true);
  if (h.air_changes_h > 0.1)
    add("air_changes", h.air_changes_h / 2, [](House& x) { x.air_changes_h /= 2; });
  add("water", 1000, [](House& x) { x.water_l += 1000; });
  if (h.wall_m2kw < 4) add("walls", 6, [](House& x) { x.wall_m2kw = x.roof_m2kw = 6; });
  for (const OtherSpot& spot : input.other_spots) {
    Change c{{"spot", spot.name, 0, {}}, input, true, true, {}};
    c.input.place = spot.place;
    c.input.skyline = spot.skyline;
    out.push_back(std::move(c));
  }
  return out;
}

void find_sun(Change& change, const HouseClimate& climate) {
  if (change.new_site) {
    // The same station's weather under another skyline; its height is near.
    if (auto other = climate_before_autumn(change.input)) change.climate = std::move(*other);
  } else if (change.new_sun) {
    change.climate = for_house(climate, change.input);
  } else {
    change.climate = climate;
  }
}

// The same errors of the inputs and the same winters with the change.
void try_change(Change& change, const std::vector<const Winter*>& tried,
                const std::vector<HouseWeather>& weathers) {
  std::vector<DrawnHouse> drawn;
  for (const Winter* w : tried) drawn.push_back(drawn_house(change.input, w->drawn.weather_seed));
  const HouseClimate& c = *change.climate;
  const std::vector<Winter> winters =
      change.new_site ? winters_of(drawn, c) : winters_of(drawn, weathers, c);
  std::vector<double> lifts;
  for (size_t i = 0; i < tried.size(); ++i)
    lifts.push_back(winters[i].lowest_c - tried[i]->lowest_c);
  double mean = 0;
  for (const double lift : lifts) mean += lift / static_cast<double>(lifts.size());
  change.what.lift_k = {mean, *std::min_element(lifts.begin(), lifts.end()),
                        *std::max_element(lifts.begin(), lifts.end())};
}

}  // namespace

struct HelpTrials::Inner {
  std::vector<const Winter*> tried;
  std::vector<HouseWeather> weathers;
  std::vector<Change> changes;
};

HelpTrials::HelpTrials(const HouseInput& input, const HouseClimate& climate,
                       const std::vector<Winter>& winters)
    : in_(new Inner{{}, {}, changes_of(input)}) {
  std::vector<const Winter*> sorted;
  for (const Winter& w : winters) sorted.push_back(&w);
  std::sort(sorted.begin(), sorted.end(),
            [](const Winter* a, const Winter* b) { return a->lowest_c < b->lowest_c; });
  const size_t count = std::min(kTried, sorted.size());
  for (size_t i = 0; i < count; ++i)
    in_->tried.push_back(sorted[(2 * i + 1) * sorted.size() / (2 * count)]);
  std::vector<DrawnHouse> drawn;
  for (const Winter* w : in_->tried) drawn.push_back(w->drawn);
  in_->weathers = weathers_of(drawn, climate);
  in_parallel(this->count(),
              [&](int i) { find_sun(in_->changes[static_cast<size_t>(i)], climate); });
  std::vector<Autumn> autumns;
  for (Change& change : in_->changes)
    if (change.climate) autumns.push_back({&change.input, &*change.climate});
  live_to_autumn(autumns);
}
HelpTrials::~HelpTrials() = default;

int HelpTrials::count() const { return static_cast<int>(in_->changes.size()); }

void HelpTrials::run(int trial) {
  Change& change = in_->changes[static_cast<size_t>(trial)];
  if (change.climate) try_change(change, in_->tried, in_->weathers);
}

std::vector<WhatHelps> HelpTrials::most_first() const {
  std::vector<WhatHelps> out;
  for (const Change& change : in_->changes)
    if (change.climate) out.push_back(change.what);
  std::sort(out.begin(), out.end(),
            [](const WhatHelps& a, const WhatHelps& b) { return a.lift_k.value > b.lift_k.value; });
  return out;
}

}  // namespace horizon
