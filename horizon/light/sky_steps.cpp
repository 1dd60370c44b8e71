#include "horizon/light/sky_steps.h"

#include <algorithm>
#include <cmath>

#include "horizon/light/decomposition.h"
#include "horizon/light/solar_terms.h"
#include "horizon/light/transposition.h"
#include "horizon/time.h"

namespace horizon {
namespace {

constexpr double kLowestSun =
    0.0087;  // sin of half a degree: below, a beam on the level says nothing

double elevation_of(const SunStep& step) { return std::asin(step.up) / kDegree; }

SkyStep split(const SunStep& step, double beam_normal, double diffuse, double outside) {
  SkyStep out;
  const double up = std::max(0.0f, step.up);
  const double zenith = 90 - std::asin(up) / kDegree;
  const PerezSky perez =
      perez_sky(beam_normal, diffuse, outside, zenith, air_mass_kasten_young(zenith));
  out.beam_normal = static_cast<float>(beam_normal);
  out.sun_normal = static_cast<float>(beam_normal + diffuse * perez.circumsolar /
                                                        std::max(up, kPerezLowestCosZenith));
  // What is lent to the sun's surroundings is taken from the whole, so that the level keeps its sum
  // even where the published formula holds the sun at 85 degrees from the zenith.
  out.isotropic = static_cast<float>(
      diffuse * (1 - perez.circumsolar * std::min(1.0, up / kPerezLowestCosZenith)));
  out.band = static_cast<float>(diffuse * perez.horizon);
  out.global = static_cast<float>(beam_normal * up + diffuse);
  return out;
}

Irradiance clear(const SunStep& step, double turbidity, double height_m, double outside) {
  return esra_clear_sky(elevation_of(step), turbidity, height_m, outside);
}

double declination_of_day(int day, int days_in_year) {
  // The series counts 365 days; 29 February and after share their neighbour's day.
  return declination_spencer_deg(std::min(day + 1 - (days_in_year == 366 && day >= 59), 365));
}

// The mean day of each month: its sum spread over the sun's hours.
void from_normals(const SunSteps& sun, const SkyInput& sky, const std::vector<double>& turbidity,
                  std::vector<SkyStep>& out) {
  const double latitude = sun.place.latitude_deg;
  const double phi = latitude * kDegree;
  const std::vector<double> clearness = smooth_days(monthly_clearness(*sky.normals, latitude), sun);
  size_t begin = 0;
  std::vector<double> global, diffuse;
  while (begin < sun.steps.size()) {
    const int day = sun.steps[begin].day;
    size_t end = begin;
    while (end < sun.steps.size() && sun.steps[end].day == day) ++end;
    const double declination = declination_of_day(day, sun.days());
    const double sunset = sunset_hour_angle_deg(latitude, declination);
    const double outside = kSolarConstant_wm2 * distance_factor(std::min(day + 1, 365));
    const double k = std::clamp(clearness[day], 0.05, 0.85);
    const double day_sum_wh =
        k * daily_extraterrestrial_mj(latitude, declination, outside) / 3.6e-3;
    const double diffuse_sum_wh = day_sum_wh * erbs_monthly_diffuse_fraction(k, sunset);
    global.assign(end - begin, 0);
    diffuse.assign(end - begin, 0);
    double global_total = 0, diffuse_total = 0;
    for (size_t i = begin; i < end; ++i) {
      const SunStep& step = sun.steps[i];
      if (step.up <= 0) continue;
      const double hour_angle =
          std::atan2(-step.east, step.up * std::cos(phi) - step.north * std::sin(phi)) / kDegree;
      const double rd = liu_jordan_diffuse(hour_angle, sunset);
      const double rt = std::max(0.0, collares_pereira_rabl(hour_angle, sunset));
      global_total += global[i - begin] = rt;
      diffuse_total += diffuse[i - begin] = rd;
    }
    for (size_t i = begin; i < end; ++i) {
      const SunStep& step = sun.steps[i];
      if (step.up <= 0 || !(global_total > 0) || !(diffuse_total > 0)) continue;
      const double g = global[i - begin] / global_total * day_sum_wh / sun.step_h;
      const double d =
          std::min(g, diffuse[i - begin] / diffuse_total * diffuse_sum_wh / sun.step_h);
      // Never more beam than a clear sky lets through: near the horizon the quotient runs away.
      const double most =
          clear(step, std::min(2.0, turbidity[day]), sun.place.height_m, outside).beam_normal_wm2;
      const double beam = step.up > kLowestSun ? std::min((g - d) / step.up, most) : 0;
      out[i] = split(step, beam, g - beam * step.up, outside);
    }
    begin = end;
  }
}

void from_weather(const SunSteps& sun, const WeatherYear& weather, std::vector<SkyStep>& out) {
  // A file holds no leap day; 29 February takes the hours of the 28th.
  const bool leap = sun.days() == 366;
  const auto hour_of = [&](size_t i) {
    const double begins = start_of_day_utc_s(date_of_day(sun.year, 1), weather.utc_offset_h);
    const int node = sun.steps[i].node;
    const int hour =
        static_cast<int>(std::floor(((sun.utc_s[node] + sun.utc_s[node + 1]) / 2 - begins) / 3600));
    const int year_h = sun.days() * 24;
    int in_year = ((hour % year_h) + year_h) % year_h;
    if (leap && in_year >= 59 * 24) in_year -= 24;
    return in_year;
  };
  std::vector<int> sunlit(8760);
  const int per_hour = static_cast<int>(std::lround(1 / sun.step_h));
  std::vector<int> hours(sun.steps.size());
  for (size_t i = 0; i < sun.steps.size(); ++i) {
    hours[i] = hour_of(i);
    if (sun.steps[i].up > 0) ++sunlit[hours[i]];
  }
  if (leap)
    for (int h = 58 * 24; h < 59 * 24; ++h) sunlit[h] = (sunlit[h] + 1) / 2;
  for (size_t i = 0; i < sun.steps.size(); ++i) {
    const SunStep& step = sun.steps[i];
    if (step.up <= 0) continue;
    const WeatherHour& hour = weather.hours[hours[i]];
    // An hour with sunrise in it has its light in the sunlit part.
    const double share = static_cast<double>(per_hour) / std::max(1, sunlit[hours[i]]);
    const double outside = kSolarConstant_wm2 * distance_factor(std::min(step.day + 1, 365));
    out[i] = split(step, std::min(hour.beam_normal_wm2 * share, outside),
                   hour.diffuse_horizontal_wm2 * share, outside);
  }
}

}  // namespace

std::vector<double> smooth_days(const Monthly& means, const SunSteps& sun) {
  const int days = sun.days();
  Monthly knots = means, found{};
  std::vector<double> daily(days);
  // Straight lines between the months' middles flatten the extremes; lift the knots until the
  // months have their means again.
  for (int pass = 0; pass < 30; ++pass) {
    for (int m = 0; m < 12; ++m) knots[m] += pass ? means[m] - found[m] : 0;
    for (int m = 0; m < 12; ++m) {
      const int next = (m + 1) % 12;
      const double middle = (sun.month_begins[m] + sun.month_begins[m + 1]) / 2.0;
      const double length = (sun.month_begins[m + 1] - sun.month_begins[m] +
                             sun.month_begins[next + 1] - sun.month_begins[next]) /
                            2.0;
      for (int d = static_cast<int>(std::ceil(middle - 0.5)); d + 0.5 < middle + length; ++d)
        daily[d % days] = knots[m] + (knots[next] - knots[m]) * (d + 0.5 - middle) / length;
    }
    for (int m = 0; m < 12; ++m) {
      double total = 0;
      for (int d = sun.month_begins[m]; d < sun.month_begins[m + 1]; ++d) total += daily[d];
      found[m] = total / (sun.month_begins[m + 1] - sun.month_begins[m]);
    }
  }
  return daily;
}

std::vector<SkyStep> sky_steps(const SunSteps& sun, const SkyInput& sky) {
  std::vector<SkyStep> out(sun.steps.size());
  const std::vector<double> turbidity =
      smooth_days(sky.turbidity ? *sky.turbidity
                                : default_turbidity(sun.place.height_m, sun.place.latitude_deg < 0),
                  sun);
  switch (sky.source) {
    case SkySource::clear:
      for (size_t i = 0; i < sun.steps.size(); ++i) {
        const SunStep& step = sun.steps[i];
        const double outside = kSolarConstant_wm2 * distance_factor(std::min(step.day + 1, 365));
        const Irradiance air = clear(step, turbidity[step.day], sun.place.height_m, outside);
        out[i] = split(step, air.beam_normal_wm2, air.diffuse_horizontal_wm2, outside);
      }
      break;
    case SkySource::normals:
      from_normals(sun, sky, turbidity, out);
      break;
    case SkySource::weather:
      from_weather(sun, *sky.weather, out);
      break;
  }
  return out;
}

}  // namespace horizon
