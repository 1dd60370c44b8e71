#include "horizon/house/ventilation.h"

#include <algorithm>
#include <cmath>

#include "horizon/house/air.h"

namespace horizon {
namespace {
constexpr double kDischarge = 0.6, kGravity = 9.81;
}

double stack_flow_m3_s(double area, double height, double inside_c, double outside_c) {
  const double warmer = std::max(0.0, inside_c - outside_c);
  return kDischarge * area / 2 *
         std::sqrt(kGravity * std::max(0.0, height) * warmer / (inside_c + kKelvin));
}

double wind_flow_m3_s(double area, double wind_ms, bool straight_through) {
  return (straight_through ? 0.6 : 0.3) * area / 2 * std::max(0.0, wind_ms);
}

double vent_flow_m3_s(double area, double height, double inside_c, double outside_c, double wind_ms,
                      bool straight_through) {
  return std::hypot(stack_flow_m3_s(area, height, inside_c, outside_c),
                    wind_flow_m3_s(area, wind_ms, straight_through));
}

double vent_area_m2(double flow, double height, double inside_c, double outside_c, double wind_ms,
                    bool straight_through) {
  const double of_one = vent_flow_m3_s(1, height, inside_c, outside_c, wind_ms, straight_through);
  return of_one > 0 ? flow / of_one : 0;
}

}  // namespace horizon
