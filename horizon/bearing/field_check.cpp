#include "horizon/bearing/field_check.h"

#include <algorithm>
#include <cmath>
#include <numbers>

namespace horizon {
namespace {

// Chi-squared limits for 1 and 2 degrees of freedom.
constexpr double kNinety[] = {2.706, 4.605}, kNinetyNine[] = {6.635, 9.210};
constexpr double kTolerable_deg = 1;

double heading_error_deg(double across_nt, double horizontal_nt) {
  return std::atan2(across_nt, horizontal_nt) / kDegree;
}

}  // namespace

FieldVerdict field_check(const FieldReading& reading, const MagneticField& model) {
  FieldVerdict verdict;
  const FieldElements& expected = model.now;
  if (!(reading.total_nt > 0) || !std::isfinite(reading.total_nt) ||
      !(reading.total_sigma_nt > 0) || !(reading.inclination_sigma_deg > 0) ||
      (reading.inclination_deg && !(std::abs(*reading.inclination_deg) <= 90)))
    return verdict;
  verdict.total_off_nt = reading.total_nt - expected.total_nt;
  const double total_sigma = std::hypot(reading.total_sigma_nt, model.sigma.total_nt);
  const double dip_sigma = std::hypot(reading.inclination_sigma_deg, model.sigma.inclination_deg);
  double chi_squared = std::pow(verdict.total_off_nt / total_sigma, 2);
  // Along the field, and at right angles to it in the meridian plane.
  double power = std::pow(verdict.total_off_nt, 2), noise = total_sigma * total_sigma;
  int degrees = 1;
  if (reading.inclination_deg) {
    verdict.inclination_off_deg = *reading.inclination_deg - expected.inclination_deg;
    chi_squared += std::pow(verdict.inclination_off_deg / dip_sigma, 2);
    power +=
        std::pow(2 * reading.total_nt * std::sin(verdict.inclination_off_deg / 2 * kDegree), 2);
    noise += std::pow(reading.total_nt * dip_sigma * kDegree, 2);
    ++degrees;
  }
  verdict.disturbance_nt = std::sqrt(std::max(0.0, power - noise));
  const double one_component = verdict.disturbance_nt / std::sqrt(static_cast<double>(degrees));
  const double h = expected.horizontal_nt;
  verdict.heading_error_deg = heading_error_deg(one_component, h);
  // Two components as large as the one expected, and the needle pulled when it is weakest.
  const double worst = 2 * one_component;
  verdict.worst_heading_error_deg = worst < h ? std::asin(worst / h) / kDegree : 180;
  const double tolerable = h * std::tan(kTolerable_deg * kDegree);
  verdict.step_back_factor = std::max(1.0, std::cbrt(one_component / tolerable));

  if (model.zone == CompassZone::blackout)
    verdict.state = FieldState::unusable;
  else if (chi_squared > kNinetyNine[degrees - 1])
    verdict.state = FieldState::disturbed;
  else if (chi_squared > kNinety[degrees - 1])
    verdict.state = FieldState::doubtful;
  else
    verdict.state = FieldState::clean;
  return verdict;
}

AimSpread spread_of(std::span<const TrueAzimuth> aims) {
  AimSpread spread;
  double east = 0, north = 0;
  for (const TrueAzimuth aim : aims) {
    if (!aim.finite()) continue;
    east += std::sin(aim.radians());
    north += std::cos(aim.radians());
    ++spread.count;
  }
  if (spread.count == 0) return spread;
  const double n = spread.count;
  spread.resultant = std::min(1.0, std::hypot(east, north) / n);
  // Rounding alone leaves 1e-16 of a cancelled sum.
  if (spread.resultant > 1e-9)
    spread.mean = TrueAzimuth::degrees(std::atan2(east, north) / kDegree);
  else
    spread.resultant = 0;
  spread.variance = 1 - spread.resultant;
  spread.sd_deg = std::sqrt(-2 * std::log(std::max(spread.resultant, 1e-300))) / kDegree;
  // The n - 1 of small samples, since the mean comes from the same aims.
  spread.mean_sigma_deg = spread.count > 1 ? spread.sd_deg / std::sqrt(n - 1) : 180;
  return spread;
}

LineCheck line_check(TrueAzimuth fore, double fore_sigma_deg, TrueAzimuth back,
                     double back_sigma_deg) {
  LineCheck check;
  check.disagreement_deg = clockwise_deg(fore.turned_by(180), back);
  const double variance = fore_sigma_deg * fore_sigma_deg + back_sigma_deg * back_sigma_deg;
  check.normalised = variance > 0 ? std::abs(check.disagreement_deg) / std::sqrt(variance) : 0;
  check.agrees = check.normalised <= 2.5758;
  const double weight = variance > 0 ? fore_sigma_deg * fore_sigma_deg / variance : 0.5;
  check.fore = fore.turned_by(check.disagreement_deg * weight);
  return check;
}

}  // namespace horizon
