// tests/horizon/plot/wooded_valley.h: a plot of a valley with a wood, an ash and a ridge all round.
// An invented world, for tests and benchmarks.
#pragma once

#include <cmath>

#include "horizon/plot/hours_map.h"
#include "horizon/sun/sun_year.h"

namespace wooded {

using namespace horizon;

inline const Place kPlot{46.6213, 10.3478, 1482};
inline constexpr unsigned kWinter =
    1U << 10 | 1U << 11 | 1U << 0 | 1U << 1;  // November to February

// A wood to the south-east of the plot, a leafy tree to the south-west, a ridge all round.
inline PlacedPlot valley() {
  PlotSurvey survey;
  for (const Enu& eye : {Enu(-20, 0, 1.6), Enu(20, 0, 1.6), Enu(0, 30, 1.6)}) {
    PlotStation one;
    one.eye = eye;
    survey.stations.push_back(one);
  }
  survey.obstacles = {
      {{Kind::ridge, "far"}}, {{Kind::evergreen, "wood"}}, {{Kind::leafy, "ash"}, 4.0}};
  std::vector<Enu> targets;
  for (int i = 0; i < 36; ++i) {
    survey.marks.push_back({0, "ridge", 2500.0, 250.0});
    const double az = i * 10 * kDegree;
    targets.emplace_back(2500 * std::sin(az), 2500 * std::cos(az), 500 + 150 * std::cos(5 * az));
  }
  for (const Enu& at : {Enu(12, -45, 24), Enu(45, -40, 22), Enu(60, -15, 20)}) {
    survey.marks.push_back({1, "edge"});
    targets.push_back(at);
  }
  survey.marks.push_back({2, "top"});
  targets.emplace_back(-35, -35, 22);
  for (int m = 0; m < static_cast<int>(targets.size()); ++m)
    for (int s = 0; s < 3; ++s) {
      const Enu v = targets[static_cast<size_t>(m)] - survey.stations[static_cast<size_t>(s)].eye;
      PlotAim aim;
      aim.station = s;
      aim.mark = m;
      aim.azimuth = TrueAzimuth::degrees(std::atan2(v.x(), v.y()) / kDegree);
      aim.elevation = Elevation::degrees(std::atan2(v.z(), std::hypot(v.x(), v.y())) / kDegree);
      survey.aims.push_back(aim);
    }
  return *place_marks(survey);
}

}  // namespace wooded
