#include "horizon/light/sky_input.h"

#include <algorithm>
#include <cmath>

#include "horizon/light/solar_terms.h"

namespace horizon {
namespace {

constexpr std::string_view kMonths[12] = {"January",   "February", "March",    "April",
                                          "May",       "June",     "July",     "August",
                                          "September", "October",  "November", "December"};
constexpr int kMonthBegins[13] = {0, 31, 59, 90, 120, 151, 181, 212, 243, 273, 304, 334, 365};

// Mean of the month's days, kWh/m2 a day.
double outside_kwh(double latitude_deg, int month) {
  double total = 0;
  for (int d = kMonthBegins[month]; d < kMonthBegins[month + 1]; ++d)
    total += daily_extraterrestrial_mj(latitude_deg, declination_spencer_deg(d + 1),
                                       kSolarConstant_wm2 * distance_factor(d + 1));
  return total / 3.6 / (kMonthBegins[month + 1] - kMonthBegins[month]);
}

}  // namespace

std::string_view name_of(SkySource source) {
  switch (source) {
    case SkySource::normals:
      return "monthly normals";
    case SkySource::weather:
      return "weather file";
    default:
      return "clear sky";
  }
}

Monthly monthly_clearness(const MonthlyNormals& normals, double latitude_deg) {
  Monthly result{};
  for (int m = 0; m < 12; ++m) {
    if (normals.what == MonthlyNormals::What::sunshine_fraction) {
      result[m] = normals.angstrom_a + normals.angstrom_b * normals.values[m];
    } else {
      const double outside = outside_kwh(latitude_deg, m);
      result[m] = outside > 1e-6 ? normals.values[m] / outside : 0;
    }
    result[m] = std::clamp(result[m], 0.0, 0.85);
  }
  return result;
}

Result<void> check_sky(const SkyInput& sky, const Place& place) {
  if (sky.turbidity)
    for (int m = 0; m < 12; ++m)
      if (!((*sky.turbidity)[m] >= 1 && (*sky.turbidity)[m] <= 10))
        return fail(Code::bad_input, "error.turbidity_range", std::string(kMonths[m]));
  if (sky.source == SkySource::weather) {
    if (!sky.weather || sky.weather->hours.size() != 8760)
      return fail(Code::bad_input, "error.weather_year_needed");
    return {};
  }
  if (sky.source != SkySource::normals) return {};
  if (!sky.normals) return fail(Code::bad_input, "error.normals_needed");
  const bool fraction = sky.normals->what == MonthlyNormals::What::sunshine_fraction;
  for (int m = 0; m < 12; ++m) {
    const double value = sky.normals->values[m];
    const std::string where(kMonths[m]);
    if (fraction && !(value >= 0 && value <= 1))
      return fail(Code::bad_input, "error.sunshine_fraction_range", where);
    if (!fraction && !(value >= 0)) return fail(Code::bad_input, "error.radiation_negative", where);
    if (!fraction && value > 0.9 * outside_kwh(place.latitude_deg, m) + 0.05)
      return fail(Code::bad_input, "error.radiation_too_high", where);
  }
  const double a = sky.normals->angstrom_a, b = sky.normals->angstrom_b;
  if (!(a >= 0 && b >= 0 && a + b <= 1)) return fail(Code::bad_input, "error.sky_factors_range");
  return {};
}

Monthly snow_albedo(unsigned snow_months, double snow, double bare) {
  Monthly result{};
  for (int m = 0; m < 12; ++m) result[m] = snow_months >> m & 1 ? snow : bare;
  return result;
}

}  // namespace horizon
