#include "horizon/house/air.h"

#include <algorithm>
#include <cmath>

namespace horizon {

double air_density_kg_m3(double air_c, double pressure_pa) {
  return pressure_pa / (287.05 * (air_c + kKelvin));
}

double saturation_pa(double air_c) { return 611.2 * std::exp(17.62 * air_c / (243.12 + air_c)); }

double vapour_pa(double air_c, double relative_humidity) {
  return relative_humidity * saturation_pa(air_c);
}

double dew_point_c(double vapour_pa) {
  const double x = std::log(std::max(vapour_pa, 0.1) / 611.2);
  return 243.12 * x / (17.62 - x);
}

}  // namespace horizon
