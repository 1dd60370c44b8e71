// Simulated plots: what is predicted for spots where nobody stood, against what stands there.
#include <doctest/doctest.h>

#include <cmath>
#include <random>

#include "horizon/plot/predicted_skyline.h"
#include "tests/near.h"

using namespace horizon;

namespace {

struct Simulated {
  PlotSurvey survey;
  PlacedPlot truth;
};

// A narrow valley: ridge all round at 1 to 4 km, a barn, a hedge, trees, a mast; two or three
// stations. Compass 0.5 degree shared and 0.5 an aim, clinometer 0.3, positions 0.5 m.
Simulated simulate(unsigned number) {
  std::mt19937 random(number);
  std::normal_distribution<double> normal(0, 1);
  const auto uniform = [&](double a, double b) {
    return std::uniform_real_distribution<double>(a, b)(random);
  };
  Simulated s;
  const int stations = number % 2 ? 3 : 2;
  for (int i = 0; i < stations; ++i) {
    PlotStation one;
    const double az = (i * 120 + uniform(-20, 20)) * kDegree, d = uniform(15, 25);
    one.eye = {d * std::sin(az), d * std::cos(az), uniform(0.5, 2.5)};
    s.survey.stations.push_back(one);
  }
  std::vector<Enu> targets;
  std::vector<bool> far;
  const auto mark = [&](int obstacle, const Enu& at) {
    s.survey.marks.push_back({obstacle, "m"});
    targets.push_back(at);
    far.push_back(false);
  };
  s.survey.obstacles.push_back({{Kind::ridge, "ridge"}});
  for (int i = 0; i < 36; ++i) {
    const double az = (i * 10 + uniform(-3, 3)) * kDegree, d = uniform(1000, 4000);
    mark(0, {d * std::sin(az), d * std::cos(az), d * std::tan(uniform(8, 28) * kDegree)});
    // From the map, to a tenth.
    s.survey.marks.back().distance_m = d * (1 + 0.1 * normal(random));
    s.survey.marks.back().distance_sigma_m = 0.1 * d;
    far.back() = true;
  }
  const auto near_at = [&](double az_deg, double d, double up) {
    return Enu(d * std::sin(az_deg * kDegree), d * std::cos(az_deg * kDegree), up);
  };
  const double barn = uniform(0, 360), barn_d = uniform(50, 80);
  s.survey.obstacles.push_back({{Kind::building, "barn"}});
  for (int i = 0; i < 3; ++i) mark(1, near_at(barn + i * 9, barn_d + i * 4, uniform(20, 30)));
  s.survey.obstacles.push_back({{Kind::evergreen, "hedge"}});
  for (int i = 0; i < 4; ++i)
    mark(2, near_at(barn + 90 + i * 12, uniform(55, 60), uniform(22, 26)));
  for (int i = 0; i < 3; ++i) {
    const int number_of = static_cast<int>(s.survey.obstacles.size());
    s.survey.obstacles.push_back({{Kind::evergreen, "fir"}, uniform(2, 4)});
    mark(number_of, near_at(barn + 180 + i * 30, uniform(45, 70), uniform(25, 38)));
  }
  // The truth, as exact rays from the origin.
  s.truth.survey = s.survey;
  for (const Enu& t : targets)
    s.truth.rays.push_back({Enu::Zero(), std::atan2(t.x(), t.y()),
                            std::atan2(t.z(), std::hypot(t.x(), t.y())), 1 / t.norm()});
  // What was noted: stations stood a little beside where they are believed, headings are off.
  for (int i = 0; i < stations; ++i) {
    PlotStation& one = s.survey.stations[static_cast<size_t>(i)];
    const Enu stood = one.eye;
    one.eye += Enu(one.horizontal_sigma_m * normal(random), one.horizontal_sigma_m * normal(random),
                   one.up_sigma_m * normal(random));
    const double heading = one.heading_sigma_deg * normal(random);
    for (size_t m = 0; m < targets.size(); ++m) {
      if (far[m] && i > 0) continue;
      const Enu v = targets[m] - stood;
      PlotAim aim;
      aim.station = i;
      aim.mark = static_cast<int>(m);
      aim.azimuth = TrueAzimuth::degrees(std::atan2(v.x(), v.y()) / kDegree + heading +
                                         aim.azimuth_sigma_deg * normal(random));
      aim.elevation = Elevation::degrees(std::atan2(v.z(), std::hypot(v.x(), v.y())) / kDegree +
                                         aim.elevation_sigma_deg * normal(random));
      s.survey.aims.push_back(aim);
    }
  }
  return s;
}

}  // namespace

TEST_CASE("[property] 90 % of true skylines lie in the predicted 90 % band, +- 3 %") {
  int inside = 0, all = 0, near_inside = 0, near_all = 0;
  for (unsigned number = 1; number <= 150; ++number) {
    const Simulated s = simulate(number);
    const auto plot = place_marks(s.survey);
    REQUIRE(plot.has_value());
    std::mt19937 random(1000 + number);
    std::uniform_real_distribution<double> place(-20, 20), turn(0, 360);
    for (int i = 0; i < 20; ++i) {
      const Enu spot(place(random), place(random), 1.5);
      const double az = turn(random);
      const SpotView true_view(s.truth, s.truth.rays, spot);
      double true_el = 0;
      const SpotView::Piece* stands = true_view.highest_at(az, &true_el);
      REQUIRE(stands != nullptr);
      const auto predicted = predicted_elevation(*plot, spot, TrueAzimuth::degrees(az));
      const bool in = true_el >= predicted.low_deg && true_el <= predicted.high_deg;
      ++all;
      inside += in;
      if (stands->obstacle != 0) ++near_all, near_inside += in;
    }
  }
  const double share = static_cast<double>(inside) / all;
  const double near_share = static_cast<double>(near_inside) / near_all;
  MESSAGE("inside: " << share << " of " << all << ", near things " << near_share << " of "
                     << near_all);
  CHECK(share >= 0.87);
  CHECK(share <= 0.93);
  CHECK(near_share >= 0.86);
}
