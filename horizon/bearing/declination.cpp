#include "horizon/bearing/declination.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <string>

#include "horizon/angle.h"
#include "horizon/bearing/wmm2025.h"
#include "horizon/time.h"

namespace horizon {
namespace {

constexpr int kDegree12 = 12;
constexpr double kReferenceRadius_m = 6371200.0;
constexpr double kSemiMajor_m = 6378137.0;
constexpr double kFlattening = 1 / 298.257223563;

struct Spherical {
  double radius_m, sin_latitude, cos_latitude;  // geocentric
  double sin_to_geodetic, cos_to_geodetic;      // of geocentric minus geodetic latitude
};

Spherical spherical_of(const Place& place) {
  const double sin_lat = std::sin(place.latitude_deg * kDegree);
  const double cos_lat = std::cos(place.latitude_deg * kDegree);
  const double e2 = kFlattening * (2 - kFlattening);
  const double normal = kSemiMajor_m / std::sqrt(1 - e2 * sin_lat * sin_lat);
  const double across = (normal + place.height_m) * cos_lat;
  const double up = (normal * (1 - e2) + place.height_m) * sin_lat;
  const double radius = std::hypot(across, up);
  const double s = up / radius, c = across / radius;
  return {radius, s, c, s * cos_lat - c * sin_lat, c * cos_lat + s * sin_lat};
}

// Schmidt semi-normalised associated Legendre functions of sin(latitude). Those of order m > 0
// are kept divided by cos(latitude), which makes the east component finite at the poles.
struct Legendre {
  std::array<std::array<double, kDegree12 + 1>, kDegree12 + 1> value{};
  double sine, cosine;

  Legendre(double sin_latitude, double cos_latitude) : sine(sin_latitude), cosine(cos_latitude) {
    value[0][0] = 1;
    value[1][1] = 1;
    for (int m = 2; m <= kDegree12; ++m)
      value[m][m] = cosine * std::sqrt((2.0 * m - 1) / (2.0 * m)) * value[m - 1][m - 1];
    for (int m = 0; m <= kDegree12; ++m)
      for (int n = m + 1; n <= kDegree12; ++n) {
        const double before = n >= 2 && n - 2 >= m ? value[n - 2][m] : 0;
        value[n][m] = ((2 * n - 1) * sine * value[n - 1][m] -
                       std::sqrt((n - 1.0) * (n - 1.0) - m * m) * before) /
                      std::sqrt(1.0 * n * n - m * m);
      }
  }
  double function(int n, int m) const { return m == 0 ? value[n][0] : cosine * value[n][m]; }
  double over_cosine(int n, int m) const { return value[n][m]; }  // m > 0
  double by_colatitude(int n, int m) const {
    if (m == 0) return -std::sqrt(n * (n + 1) / 2.0) * function(n, 1);
    const double before = n - 1 >= m ? value[n - 1][m] : 0;
    return n * sine * value[n][m] - std::sqrt(1.0 * n * n - m * m) * before;
  }
};

struct Vector {
  double north = 0, east = 0, down = 0;
};

Vector to_geodetic(const Vector& v, const Spherical& at) {
  return {v.north * at.cos_to_geodetic - v.down * at.sin_to_geodetic, v.east,
          v.north * at.sin_to_geodetic + v.down * at.cos_to_geodetic};
}

}  // namespace

std::string_view name_of(CompassZone zone) {
  constexpr std::array<std::string_view, 3> kNames = {"normal", "caution", "blackout"};
  return kNames[static_cast<size_t>(zone)];
}

CompassZone compass_zone(double horizontal_nt) {
  if (horizontal_nt < 2000) return CompassZone::blackout;
  return horizontal_nt < 6000 ? CompassZone::caution : CompassZone::normal;
}

FieldSigma field_sigma(double horizontal_nt) {
  FieldSigma sigma;
  sigma.declination_deg =
      horizontal_nt > 0 ? std::min(180.0, std::hypot(0.26, 5417 / horizontal_nt)) : 180.0;
  return sigma;
}

double decimal_year_of(double utc_s) {
  const Date date = date_of(utc_s);
  const int year = static_cast<int>(date.year());
  const double start =
      start_of_day_utc_s(Date{date.year(), std::chrono::January, std::chrono::day{1}});
  return year + (utc_s - start) / (86400.0 * days_in_year(year));
}

Result<MagneticField> magnetic_field(const Place& place, double decimal_year) {
  if (!(std::abs(place.latitude_deg) <= 90) || !std::isfinite(place.longitude_deg))
    return fail(Code::bad_input, "error.latitude_longitude_needed");
  if (!(place.height_m >= -1000 && place.height_m <= 850000))
    return fail(Code::out_of_range, "error.magnetic_height_range");
  if (!std::isfinite(decimal_year)) return fail(Code::bad_input, "error.date_needed");
  if (!(decimal_year >= kMagneticModelFrom && decimal_year <= kMagneticModelTo))
    return fail(Code::out_of_range, "error.magnetic_model_dates");

  const Spherical at = spherical_of(place);
  const Legendre legendre(at.sin_latitude, at.cos_latitude);
  const double years = decimal_year - 2025.0;
  Vector field, change;
  for (const MagneticTerm& term : kWmm2025) {
    const double scale = std::pow(kReferenceRadius_m / at.radius_m, term.n + 2);
    const double angle = term.m * place.longitude_deg * kDegree;
    const double cosine = std::cos(angle), sine = std::sin(angle);
    const double p = legendre.function(term.n, term.m);
    const double slope = legendre.by_colatitude(term.n, term.m);
    const double over = term.m > 0 ? legendre.over_cosine(term.n, term.m) : 0;
    const auto add = [&](Vector& v, double g, double h) {
      v.north += scale * (g * cosine + h * sine) * slope;
      v.east += scale * term.m * (g * sine - h * cosine) * over;
      v.down -= scale * (term.n + 1) * (g * cosine + h * sine) * p;
    };
    add(field, term.g_nt + years * term.g_nt_per_year, term.h_nt + years * term.h_nt_per_year);
    add(change, term.g_nt_per_year, term.h_nt_per_year);
  }
  field = to_geodetic(field, at);
  change = to_geodetic(change, at);

  MagneticField result;
  FieldElements& now = result.now;
  now.x_nt = field.north;
  now.y_nt = field.east;
  now.z_nt = field.down;
  now.horizontal_nt = std::hypot(field.north, field.east);
  now.total_nt = std::hypot(now.horizontal_nt, field.down);
  now.inclination_deg = std::atan2(field.down, now.horizontal_nt) / kDegree;
  now.declination_deg = std::atan2(field.east, field.north) / kDegree;
  FieldElements& rate = result.per_year;
  rate.x_nt = change.north;
  rate.y_nt = change.east;
  rate.z_nt = change.down;
  // Nowhere on Earth is the horizontal field exactly nothing, but a quotient is guarded all the
  // same.
  const double h = std::max(now.horizontal_nt, 1e-6);
  rate.horizontal_nt = (field.north * change.north + field.east * change.east) / h;
  rate.total_nt =
      (now.horizontal_nt * rate.horizontal_nt + field.down * change.down) / now.total_nt;
  rate.inclination_deg =
      (h * change.down - field.down * rate.horizontal_nt) / (now.total_nt * now.total_nt) / kDegree;
  rate.declination_deg =
      (field.north * change.east - field.east * change.north) / (h * h) / kDegree;
  result.sigma = field_sigma(now.horizontal_nt);
  result.zone = compass_zone(now.horizontal_nt);
  return result;
}

}  // namespace horizon
