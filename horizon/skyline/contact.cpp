#include "horizon/skyline/contact.h"

#include <algorithm>
#include <array>
#include <cmath>

#include "horizon/geodesy.h"
#include "horizon/sun/moon.h"
#include "horizon/sun/sun.h"

namespace horizon {
namespace {

constexpr std::array<std::string_view, kBodyCount> kBodies = {"sun", "moon"};
constexpr std::array<std::string_view, kTouchCount> kTouches = {"edge", "half", "shadow", "whole"};

constexpr double kFull = 0.985;     // above, both limbs are lit but for a sliver
constexpr double kThinnest = 0.03;  // lit share under which the moon lights no ground
// The Earth's uneven turn, UT1 - UTC: up to 0.9 s while leap seconds go on.
constexpr double kEarthTurn_s = 0.4;
constexpr double kUnknownKelvin = 10, kKnownKelvin = 3, kUnknownHpa = 8, kKnownHpa = 3;
constexpr double kScatterAtHorizon_deg = 0.16, kRefractionAtHorizon_deg = 0.57;
constexpr double kSunSigma_deg = 0.0003, kMoonSigma_deg = 0.0014;

// How far from the named part of the disc people call it, in semidiameters. [common practice]
double reading_spread(Touch touch) {
  switch (touch) {
    case Touch::half:
      return 0.15;
    case Touch::shadow:
      return 0.35;
    default:
      return 0;  // a spark that goes or comes: only the second counts
  }
}

constexpr double kHalf_s = 30;

using Centre = ContactSight::Centre;
Centre centre_of(Body body, double utc_s, const Place& place) {
  if (body == Body::sun) {
    const SunPosition sun = sun_position(utc_s, place);
    return {sun.azimuth.degrees(), sun.elevation.degrees(), sun.semidiameter_deg, 1, 0,
            sun.hour_angle_deg,    sun.declination_deg};
  }
  const MoonPosition moon = moon_position(utc_s, place);
  return {moon.azimuth.degrees(), moon.elevation.degrees(), moon.semidiameter_deg,
          moon.lit_share,         moon.lit_limb_deg,        0,
          moon.declination_deg};
}

// From the disc's centre by `away` along a direction turned clockwise from the top.
struct At {
  double azimuth_deg = 0, elevation_deg = 0;
};
At moved(const Centre& centre, double away_deg, double from_top_deg) {
  const double h = centre.elevation_deg * kDegree, s = away_deg * kDegree,
               p = from_top_deg * kDegree;
  const double sine = std::sin(h) * std::cos(s) + std::cos(h) * std::sin(s) * std::cos(p);
  const double turn =
      std::atan2(std::sin(p) * std::sin(s) * std::cos(h), std::cos(s) - std::sin(h) * sine);
  return {wrap_360(centre.azimuth_deg + turn / kDegree), std::asin(sine) / kDegree};
}

// Seen from a slope 1,000 m over a plain the horizon lies a degree down (1.76' times the root of the
// height in metres); and a minute's rounding is a quarter of one.
constexpr double kLowest_deg = 1;

double refraction_sigma_deg(double true_elevation_deg, const Air& air, bool known) {
  const double lift = refraction_deg(true_elevation_deg, air);
  const double kelvin = known ? kKnownKelvin : kUnknownKelvin,
               hpa = known ? kKnownHpa : kUnknownHpa;
  const double faded = lift / kRefractionAtHorizon_deg;
  return std::hypot(lift * kelvin / (273 + air.temperature_c), lift * hpa / air.pressure_hpa,
                    kScatterAtHorizon_deg * faded * faded);
}

Result<void> check(const ContactReading& reading) {
  if (!is_place(reading.place)) return fail(Code::bad_input, "error.contact_place_needed");
  if (auto known = check_sun_time(reading.utc_s); !known) return known;
  if (!(reading.reading_sigma_s >= 0 && reading.clock_sigma_s >= 0))
    return fail(Code::bad_input, "error.contact_sigmas_range");
  if (reading.air && !(reading.air->pressure_hpa > 300 && reading.air->pressure_hpa < 1100 &&
                       reading.air->temperature_c > -90 && reading.air->temperature_c < 60))
    return fail(Code::bad_input, "error.contact_air_range");
  return {};
}

}  // namespace

std::string_view name_of(Body body) { return kBodies[static_cast<size_t>(body)]; }
std::optional<Body> body_named(std::string_view name) {
  const auto found = std::ranges::find(kBodies, name);
  if (found == kBodies.end()) return std::nullopt;
  return static_cast<Body>(found - kBodies.begin());
}
std::string_view name_of(Touch touch) { return kTouches[static_cast<size_t>(touch)]; }
std::optional<Touch> touch_named(std::string_view name) {
  const auto found = std::ranges::find(kTouches, name);
  if (found == kTouches.end()) return std::nullopt;
  return static_cast<Touch>(found - kTouches.begin());
}

Result<ContactSight> contact_sight(const ContactReading& reading) {
  if (auto fit = check(reading); !fit) return tl::unexpected(fit.error());
  ContactSight sight{reading, reading.air.value_or(standard_air(reading.place.height_m))};
  sight.centre = centre_of(reading.body, reading.utc_s, reading.place);
  sight.before = centre_of(reading.body, reading.utc_s - kHalf_s, reading.place);
  sight.after = centre_of(reading.body, reading.utc_s + kHalf_s, reading.place);
  const bool moon = reading.body == Body::moon;
  const Centre& centre = sight.centre;
  if (apparent_elevation_deg(centre.elevation_deg + centre.semidiameter_deg, sight.air) <
      -kLowest_deg)
    return fail(Code::out_of_range,
                moon ? "error.moon_was_below_horizon" : "error.sun_was_below_horizon");
  if (moon && centre.lit_share < kThinnest) return fail(Code::out_of_range, "error.moon_was_new");
  return sight;
}

Result<Contact> contact_point(const ContactReading& reading, const RidgeSlope& slope) {
  const auto sight = contact_sight(reading);
  if (!sight) return tl::unexpected(sight.error());
  return contact_point(*sight, slope);
}

Result<Contact> contact_point(const ContactSight& sight, const RidgeSlope& slope) {
  const ContactReading& reading = sight.reading;
  const Air& air = sight.air;
  const Centre &centre = sight.centre, &before = sight.before, &after = sight.after;
  const bool moon = reading.body == Body::moon;
  const double s = centre.semidiameter_deg;
  const double limb = reading.touch == Touch::edge ? s : reading.touch == Touch::whole ? -s : 0;
  const double from_top = -slope.slope_deg;
  if (moon && centre.lit_share < kFull) {
    MoonPosition phase;
    phase.lit_limb_deg = centre.lit_limb_deg;
    if (limb == 0 || !limb_lit(phase, limb < 0 ? from_top + 180 : from_top))
      return fail(Code::out_of_range, "error.limb_was_dark");
  }

  Contact contact;
  contact.slope = slope;
  contact.semidiameter_deg = s;
  contact.body_azimuth = TrueAzimuth::degrees(centre.azimuth_deg);
  contact.body_elevation = Elevation::degrees(apparent_elevation_deg(centre.elevation_deg, air));
  contact.azimuth_rate = wrap_180(after.azimuth_deg - before.azimuth_deg) / (2 * kHalf_s);
  contact.elevation_rate = (apparent_elevation_deg(after.elevation_deg, air) -
                            apparent_elevation_deg(before.elevation_deg, air)) /
                           (2 * kHalf_s);

  const At touched = moved(centre, limb, from_top);
  const double level = std::cos(touched.elevation_deg * kDegree);
  const double unsure = std::min(slope.sigma_deg, 60.0) * kDegree;
  // Mean and spread of 1 - cos for a normal deviate.
  const double mean = 1 - std::exp(-unsure * unsure / 2);
  const double spread = unsure * unsure / std::sqrt(2.0) / (1 + unsure * unsure);
  const double steep = std::cos(slope.slope_deg * kDegree);
  contact.azimuth = TrueAzimuth::degrees(touched.azimuth_deg);
  contact.elevation = Elevation::degrees(apparent_elevation_deg(touched.elevation_deg, air) +
                                         limb * mean / std::max(0.3, steep));

  const double rise = std::tan(slope.slope_deg * kDegree) * level;  // of the line, per azimuth
  const double seconds = std::hypot(reading.reading_sigma_s, reading.clock_sigma_s, kEarthTurn_s);
  const double along = std::abs(limb) * unsure;
  const double air_sigma =
      refraction_sigma_deg(touched.elevation_deg, air, reading.air.has_value());
  const double theory = moon ? kMoonSigma_deg : kSunSigma_deg;
  const double called = reading_spread(reading.touch) * s;
  const double bent = std::abs(limb) * spread / std::max(0.3, steep);
  contact.opening_rate = contact.elevation_rate - rise * contact.azimuth_rate;
  contact.azimuth_sigma_deg =
      std::hypot(contact.azimuth_rate * seconds, along * steep / std::max(0.05, level), theory);
  contact.elevation_sigma_deg =
      std::hypot(std::hypot(contact.elevation_rate * seconds, air_sigma, theory),
                 std::hypot(along * std::abs(std::sin(slope.slope_deg * kDegree)), called, bent));
  contact.line_sigma_deg =
      std::hypot(std::hypot(contact.opening_rate * seconds, air_sigma, theory), called, bent);
  return contact;
}

Disc disc_at(Body body, double utc_s, const Place& place, const Air& air) {
  const Centre centre = centre_of(body, utc_s, place);
  return {centre.azimuth_deg, apparent_elevation_deg(centre.elevation_deg, air),
          centre.semidiameter_deg, centre.lit_share, centre.lit_limb_deg};
}

double over_line_deg(const Disc& disc, const Mask& mask, Touch touch) {
  if (touch == Touch::half || touch == Touch::shadow)
    return disc.elevation_deg - mask.elevation_deg(disc.azimuth_deg);
  // Round the limb; corners of the line between two of its points change nothing above 0.0005.
  constexpr int kSteps = 48;
  const double level = std::max(0.05, std::cos(disc.elevation_deg * kDegree));
  const bool whole = touch == Touch::whole;
  double found = whole ? 1e9 : -1e9;
  for (int i = 0; i <= kSteps; ++i) {
    const double turn = -90 + 180.0 * i / kSteps;  // from the top, or from the bottom
    const double x = disc.semidiameter_deg * std::sin(turn * kDegree);
    const double y = disc.semidiameter_deg * std::cos(turn * kDegree);
    const double from_top = whole ? 180 - turn : turn;
    if (disc.lit_share < kFull && std::abs(wrap_180(from_top - disc.lit_limb_deg)) >= 90) continue;
    const double over =
        disc.elevation_deg + (whole ? -y : y) - mask.elevation_deg(disc.azimuth_deg + x / level);
    found = whole ? std::min(found, over) : std::max(found, over);
  }
  return found;
}

}  // namespace horizon
