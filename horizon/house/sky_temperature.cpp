#include "horizon/house/sky_temperature.h"

#include <algorithm>
#include <cmath>
#include <numbers>

#include "horizon/house/air.h"

namespace horizon {
namespace {
constexpr double kCloud = 0.784;
}

double sky_hour_term(double sun_hour) {
  return 0.013 * std::cos(2 * std::numbers::pi * sun_hour / 24);
}

double clear_sky_emissivity(double dew_point_c, double hour_term, double pressure_pa) {
  const double d = dew_point_c / 100;
  const double e = 0.711 + 0.56 * d + 0.73 * d * d + hour_term + 0.12 * (pressure_pa / 1e5 - 1);
  return std::clamp(e, 0.55, 1.0);
}

double sky_temperature_c(double air_c, double dew_point_c, double cloud, double hour_term,
                         double pressure_pa) {
  const double clear = clear_sky_emissivity(dew_point_c, hour_term, pressure_pa);
  const double all = clear + (1 - clear) * kCloud * std::clamp(cloud, 0.0, 1.0);
  return std::sqrt(std::sqrt(all)) * (air_c + kKelvin) - kKelvin;
}

double cloud_from_radiation(double global_share) {
  return std::pow(std::clamp((1 - global_share) / 0.75, 0.0, 1.0), 1 / 3.4);
}

}  // namespace horizon
