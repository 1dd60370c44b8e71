#include "horizon/light/glazing.h"

#include <algorithm>
#include <cmath>

#include "horizon/angle.h"

namespace horizon {
namespace {

struct Polarised {
  double perpendicular = 0, parallel = 0;
};

Polarised surface(double n, double incidence_deg) {
  const double angle = std::min(std::abs(incidence_deg), 90.0) * kDegree;
  const double cos_in = std::cos(angle), sin_out = std::sin(angle) / n;
  const double cos_out = std::sqrt(1 - sin_out * sin_out);
  const double s = (cos_in - n * cos_out) / (cos_in + n * cos_out);
  const double p = (n * cos_in - cos_out) / (n * cos_in + cos_out);
  return {s * s, p * p};
}

struct Layer {
  double transmittance = 1, reflectance = 0;
};

// Two layers with every reflection between them; both look the same from either side.
Layer stacked(const Layer& a, const Layer& b) {
  const double back_and_forth = 1 / (1 - a.reflectance * b.reflectance);
  return {a.transmittance * b.transmittance * back_and_forth,
          a.reflectance + a.transmittance * a.transmittance * b.reflectance * back_and_forth};
}

Layer sheets(int count, double surface_r, double through_material) {
  const double t = through_material, r = surface_r;
  Layer one;
  one.transmittance = t * (1 - r) * (1 - r) / (1 - r * r * t * t);
  one.reflectance = r * (1 + t * one.transmittance);
  Layer all = one;
  // At grazing incidence nothing passes and the quotient in stacked() is 0/0.
  if (r >= 1) return {0, 1};
  for (int i = 1; i < count; ++i) all = stacked(all, one);
  return all;
}

Optics unscaled(const Glazing& g, double incidence_deg) {
  if (g.sheets == 0) return {1, 0, 0};
  const double sin_inside =
      std::sin(std::min(std::abs(incidence_deg), 90.0) * kDegree) / g.refractive_index;
  const double path_m = g.sheet_thickness_m / std::sqrt(1 - sin_inside * sin_inside);
  const double through = std::exp(-g.extinction_per_m * path_m);
  const Polarised r = surface(g.refractive_index, incidence_deg);
  const Layer s = sheets(g.sheets, r.perpendicular, through);
  const Layer p = sheets(g.sheets, r.parallel, through);
  Optics out;
  out.transmittance = (s.transmittance + p.transmittance) / 2;
  out.reflectance = (s.reflectance + p.reflectance) / 2;
  out.absorptance = 1 - out.transmittance - out.reflectance;
  return out;
}

}  // namespace

Glazing no_glazing() { return {"none", 0, 1, 0, 0, {}}; }
Glazing single_glass() { return {"single glass", 1, 1.526, 20, 0.004, {}}; }
Glazing double_glass() { return {"double glass", 2, 1.526, 20, 0.004, {}}; }
Glazing twin_wall_polycarbonate() { return {}; }
Glazing triple_wall_polycarbonate() {
  return {"triple-wall polycarbonate", 3, 1.586, 15, 0.0006, {}};
}

std::optional<Glazing> glazing_named(std::string_view name) {
  if (name == "none") return no_glazing();
  if (name == "single-glass") return single_glass();
  if (name == "double-glass") return double_glass();
  if (name == "twin-wall") return twin_wall_polycarbonate();
  if (name == "triple-wall") return triple_wall_polycarbonate();
  return std::nullopt;
}

double surface_reflectance(double refractive_index, double incidence_deg) {
  const Polarised r = surface(refractive_index, incidence_deg);
  return (r.perpendicular + r.parallel) / 2;
}

Optics optics(const Glazing& glazing, double incidence_deg) {
  Optics out = unscaled(glazing, incidence_deg);
  if (!glazing.normal_transmittance) return out;
  out.transmittance *= *glazing.normal_transmittance / unscaled(glazing, 0).transmittance;
  out.reflectance = std::min(out.reflectance, 1 - out.transmittance);
  out.absorptance = 1 - out.transmittance - out.reflectance;
  return out;
}

double effective_sky_angle_deg(double tilt_deg) {
  return 59.7 - 0.1388 * tilt_deg + 0.001497 * tilt_deg * tilt_deg;
}

double effective_ground_angle_deg(double tilt_deg) {
  return 90 - 0.5788 * tilt_deg + 0.002693 * tilt_deg * tilt_deg;
}

TransmittanceCurve::TransmittanceCurve(const Glazing& glazing) : table_(kSteps + 1) {
  for (int i = 0; i <= kSteps; ++i)
    table_[i] = optics(glazing, std::acos(static_cast<double>(i) / kSteps) / kDegree).transmittance;
  // Twice the integral of transmittance times cosine over the cosine.
  for (int i = 0; i < kSteps; ++i)
    isotropic_ += (table_[i] + table_[i + 1]) * (i + 0.5) / (static_cast<double>(kSteps) * kSteps);
}

}  // namespace horizon
