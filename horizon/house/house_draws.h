// horizon/house/house_draws.h: one winter of one house as it might be built: the unit that odds and ranges count.
// Units:    degrees Celsius, hours; days of the winter from 0
// Frame:    the same seed gives the same house and the same weather
// Source:   Monte Carlo propagation of distributions, JCGM 101:2008
#pragma once

#include <memory>
#include <span>

#include "horizon/house/house_findings.h"

namespace horizon {

inline constexpr int kWinterDays = 242;
inline constexpr std::array<double, 3> kColdLimits_c = {0, -5, -10};

// What all winters of an input share.
struct HouseClimate {
  std::shared_ptr<const SiteSun> site;
  HouseSun sun;
  std::shared_ptr<const HouseWeather> file;
  std::shared_ptr<const ClimateDraws> draws;
  std::string source;
  std::vector<Error> said;
  int first_day = 243;                        // 1 September; south: 59, 1 March
  std::vector<std::vector<double>> autumn_c;  // the house's nodes as a winter begins
};
Result<HouseClimate> house_climate(const HouseInput& input);
// The same before the house has lived to its first autumn, and at the same place and in the same
// weather of another house.
Result<HouseClimate> climate_before_autumn(const HouseInput& input);
HouseClimate for_house(const HouseClimate& climate, const HouseInput& input);
// Of each house as entered: a year from one autumn to the next under its climate's sun.
struct Autumn {
  const HouseInput* input = nullptr;
  HouseClimate* climate = nullptr;
};
void live_to_autumn(std::span<const Autumn> autumns);

struct DrawnHouse {
  House house;
  double warmer_k = 0;
  std::uint32_t weather_seed = 0;
  std::vector<double> crop_off_k;
};
DrawnHouse drawn_house(const HouseInput& input, std::uint32_t seed);
// Each in its weather.
struct DrawnRun {
  const DrawnHouse* drawn = nullptr;
  const HouseWeather* weather = nullptr;
};
std::vector<HouseRun> run_drawn(std::span<const DrawnRun> runs, const HouseClimate& climate);

struct Winter {
  DrawnHouse drawn;
  double lowest_c = 0, lowest_soil_c = 0, outside_c = 0, condensing_h = 0;
  std::array<double, 3> hours_below{}, nights_below{};
  std::vector<float> day_mean_c, day_low_c, day_mol;
  std::vector<CropFate> fates;
};
// The weather of each: by its own seed.
std::vector<HouseWeather> weathers_of(std::span<const DrawnHouse> drawn,
                                      const HouseClimate& climate);
std::vector<Winter> winters_of(std::span<const DrawnHouse> drawn,
                               std::span<const HouseWeather> weathers, const HouseClimate& climate);
std::vector<Winter> winters_of(std::span<const DrawnHouse> drawn, const HouseClimate& climate);

// Five days either side of the coldest hour are lowered or raised so that it becomes `low_c`.
void shift_to_low(HouseWeather& weather, double low_c);

// What would help most: first all suns and autumns on as many threads as are free, then each trial by
// itself, in any order and on any thread, all before most_first. What is given must outlive it.
class HelpTrials {
 public:
  HelpTrials(const HouseInput& input, const HouseClimate& climate,
             const std::vector<Winter>& winters);
  ~HelpTrials();
  int count() const;
  void run(int trial);
  std::vector<WhatHelps> most_first() const;

 private:
  struct Inner;
  std::unique_ptr<Inner> in_;
};

}  // namespace horizon
