#include "horizon/house/heat_zone.h"

#include <algorithm>
#include <cmath>

#include "horizon/house/air.h"

namespace horizon {
namespace {

double cube_mean(double a_c, double b_c) {  // (a2 + b2)(a + b), kelvin
  const double a = a_c + kKelvin, b = b_c + kKelvin;
  return (a * a + b * b) * (a + b);
}

double resistance(const HeatLayer& layer) { return layer.thickness_m / layer.conductivity_w_mk; }
bool stores(const HeatLayer& layer) { return layer.heat_m3.capacity_j_k > 0; }

FreezingHeat scaled(const FreezingHeat& heat, double thickness_m) {
  return {heat.capacity_j_k * thickness_m, heat.frozen_j_k * thickness_m,
          heat.latent_j * thickness_m};
}

// Carroll's factors: what each surface would see of the others, so that the exchange of a closed
// room comes out.
std::vector<double> carroll_factors(const std::vector<HeatElement>& elements) {
  std::vector<double> f(elements.size(), 1);
  for (int pass = 0; pass < 50; ++pass) {
    double total = 0;
    for (size_t e = 0; e < f.size(); ++e) total += elements[e].area_m2 * f[e];
    for (size_t e = 0; e < f.size(); ++e)
      f[e] = std::min(3.0, 1 / std::max(0.05, 1 - elements[e].area_m2 * f[e] / total));
  }
  return f;
}

}  // namespace

HeatLayer resistance_layer(double m2kw) { return {m2kw, 1, {}, 1}; }
HeatLayer solid_layer(double thickness_m, double conductivity, double density, double heat_j_kgk,
                      int cells) {
  const double c = density * heat_j_kgk;
  return {thickness_m, conductivity, {c, c, 0}, cells};
}

HeatZone::HeatZone(double air_j_k, std::vector<HeatElement> elements, double start_c)
    : loads(elements.size()),
      elements_(std::move(elements)),
      carroll_(carroll_factors(elements_)),
      air_j_k_(air_j_k),
      air_(start_c),
      radiant_(start_c) {
  const auto add_node = [&](const FreezingHeat& heat, double depth_m) {
    heat_.push_back(heat);
    freezes_.push_back(heat.latent_j > 0);
    to_next_.push_back(0);
    depth_.push_back(depth_m);
  };
  for (const HeatElement& e : elements_) {
    begin_.push_back(static_cast<int>(heat_.size()));
    add_node({}, 0);
    first_cell_.push_back(static_cast<int>(heat_.size()));
    double pending = 0, depth = 0;  // resistance since the last node
    for (const HeatLayer& layer : e.layers) {
      if (!stores(layer)) {
        pending += resistance(layer);
        depth += layer.conductivity_w_mk == 1 ? 0 : layer.thickness_m;
        continue;
      }
      const double part = layer.thickness_m / layer.cells;
      for (int c = 0; c < layer.cells; ++c) {
        const double half = part / 2 / layer.conductivity_w_mk;
        to_next_.back() = 1 / std::max(pending + half, 1e-6);
        add_node(scaled(layer.heat_m3, part), depth + part * (c + 0.5));
        pending = half;
      }
      depth += layer.thickness_m;
    }
    to_next_.back() = 1 / std::max(pending, 1e-6);
    add_node({}, depth);
    end_.push_back(static_cast<int>(heat_.size()));
  }
  t_.assign(heat_.size(), start_c);
  per_step_.resize(heat_.size());
  m_ = inv_ = r_ = per_step_;
  hc_.resize(elements_.size());
  hr_ = out_air_ = out_sky_ = hc_;
  face_in_.assign(elements_.size(), start_c);
  face_out_ = face_in_;
}

// ISO 6946: 5.0 upwards, 2.5 level, 0.7 downwards; within half a kelvin evenly from one to another.
double HeatZone::film(int e) const {
  const double warmer = face_in_[e] - air_;
  switch (elements_[e].inside) {
    case HeatElement::Inside::constant:
      return elements_[e].inside_film_w_m2k;
    case HeatElement::Inside::wall:
      return 2.5;
    case HeatElement::Inside::floor:
      return 0.7 + 4.3 * std::clamp(0.5 + warmer, 0.0, 1.0);
    case HeatElement::Inside::ceiling:
      return 0.7 + 4.3 * std::clamp(0.5 - warmer, 0.0, 1.0);
  }
  return 2.5;
}

void HeatZone::begin_hour(double step_s) {
  step_s_ = step_s;
  for (size_t e = 0; e < elements_.size(); ++e) {
    const HeatElement& element = elements_[e];
    hc_[e] = film(static_cast<int>(e));
    const double grey =
        1 / (1 / carroll_[e] + (1 - element.inside_emittance) / element.inside_emittance);
    hr_[e] = grey * kStefanBoltzmann * cube_mean(face_in_[e], radiant_);
    const double film = loads[e].outside_film_w_m2k;
    switch (element.outside) {
      case HeatElement::Outside::air: {
        const double black = element.outside_emittance * kStefanBoltzmann;
        out_sky_[e] = black * element.sky_share * cube_mean(face_out_[e], hour.sky_c);
        out_air_[e] =
            film + black * (1 - element.sky_share) * cube_mean(face_out_[e], face_out_[e]);
        break;
      }
      case HeatElement::Outside::fixed:
        out_sky_[e] = 0;
        out_air_[e] = film;
        break;
      case HeatElement::Outside::none:
        out_sky_[e] = out_air_[e] = 0;
        break;
    }
  }
  refactor();
}

void HeatZone::refactor() {
  dirty_ = false;
  double aa = air_j_k_ / step_s_ + hour.exchange_w_k, ar = 0, rr = hour.open_to_sky_w_k;
  for (size_t e = 0; e < elements_.size(); ++e) {
    const int b = begin_[e], f = end_[e] - 1;
    const double added = loads[e].added_m2kw;
    double behind = 0;
    for (int i = f; i >= b; --i) {
      per_step_[i] = heat_[i].slope_j_k(t_[i]) / step_s_;
      double next = i < f ? to_next_[i] : 0, last = i > b ? to_next_[i - 1] : 0;
      if (added > 0 && i == b) next = 1 / (1 / next + added);
      if (added > 0 && i == b + 1) last = 1 / (1 / last + added);
      double d = per_step_[i] + next + last;
      if (i == f) d += out_air_[e] + out_sky_[e];
      if (i == b) d += hc_[e] + hr_[e];
      if (i < f) {
        m_[i] = next * behind;
        d -= m_[i] * next;
      }
      behind = inv_[i] = 1 / d;
    }
    const double area = elements_[e].area_m2, own = inv_[b];
    aa += area * hc_[e] * (1 - hc_[e] * own);
    ar += area * hc_[e] * hr_[e] * own;
    rr += area * hr_[e] * (1 - hr_[e] * own);
  }
  aa_ = aa;
  ar_ = ar;
  rr_ = rr;
}

void HeatZone::step(double outside_c) {
  if (dirty_) refactor();
  double ba = air_j_k_ / step_s_ * air_ + hour.exchange_w_k * outside_c + hour.convective_w;
  double br = hour.radiative_w + hour.open_to_sky_w_k * hour.sky_c;
  const int n = static_cast<int>(elements_.size());
  for (int e = 0; e < n; ++e) {
    const int b = begin_[e], f = end_[e] - 1;
    const HeatLoad& load = loads[e];
    const double outside =
        elements_[e].outside == HeatElement::Outside::fixed ? load.outside_c : outside_c;
    double r =
        per_step_[f] * t_[f] + load.outside_w_m2 + out_air_[e] * outside + out_sky_[e] * hour.sky_c;
    r_[f] = r;
    for (int i = f - 1; i >= b; --i) r_[i] = r = per_step_[i] * t_[i] + m_[i] * r;
    r_[b] = r += load.inside_w_m2;
    const double alone = r * inv_[b], area = elements_[e].area_m2;
    ba += area * hc_[e] * alone;
    br += area * hr_[e] * alone;
  }
  // The radiant node goes; one equation for the air is left.
  const double a = aa_ - ar_ * ar_ / rr_, rhs = ba + ar_ * br / rr_;
  double air = rhs / a;
  vent_ = plant_w_ = 0;
  if (air > hour.vent_above_c && hour.vent_above_c > outside_c) {
    vent_ = std::min((rhs - a * hour.vent_above_c) / (hour.vent_above_c - outside_c),
                     hour.vent_most_w_k);
    air = (rhs + vent_ * outside_c) / (a + vent_);
  }
  if (hour.heat_below_c && air < *hour.heat_below_c)
    plant_w_ = a * (*hour.heat_below_c) - rhs, air = *hour.heat_below_c;
  if (hour.cool_above_c && air > *hour.cool_above_c)
    plant_w_ = a * (*hour.cool_above_c) - rhs, air = *hour.cool_above_c;
  const double radiant = (br + ar_ * air) / rr_;

  double received = (hour.exchange_w_k + vent_) * (outside_c - air) + hour.convective_w +
                    hour.radiative_w + plant_w_ + hour.open_to_sky_w_k * (hour.sky_c - radiant);
  double moved = std::abs(received);
  for (int e = 0; e < n; ++e) {
    const int b = begin_[e], f = end_[e] - 1;
    double t = (r_[b] + hc_[e] * air + hr_[e] * radiant) * inv_[b];
    face_in_[e] = t;
    t_[b] = t;
    for (int i = b + 1; i <= f; ++i) {
      t = inv_[i] * r_[i] + m_[i - 1] * t;
      // Within one phase the warmth runs straight and the solution is exact.
      if (freezes_[i] && (t < 0 || t_[i] < 0)) {
        const int before = heat_[i].phase(t_[i]);
        if (heat_[i].phase(t) == before) {
          t_[i] = t;
          continue;
        }
        const double warmth = heat_[i].warmth_j(t_[i]) + per_step_[i] * step_s_ * (t - t_[i]);
        t_[i] = heat_[i].temperature_c(warmth);
        dirty_ = dirty_ || heat_[i].phase(t_[i]) != before;
      } else {
        t_[i] = t;
      }
    }
    face_out_[e] = t;
    const HeatLoad& load = loads[e];
    const double outside =
        elements_[e].outside == HeatElement::Outside::fixed ? load.outside_c : outside_c;
    const double through = out_air_[e] * (outside - t) + out_sky_[e] * (hour.sky_c - t);
    const double got = elements_[e].area_m2 * (through + load.inside_w_m2 + load.outside_w_m2);
    received += got;
    moved += std::abs(got);
  }
  in_ += received * step_s_;
  moved_ += moved * step_s_;
  air_ = air;
  radiant_ = radiant;
}

double HeatZone::stored_j() const {
  double total = air_j_k_ * air_;
  for (size_t e = 0; e < elements_.size(); ++e)
    for (int i = begin_[e]; i < end_[e]; ++i)
      if (heat_[i].capacity_j_k > 0) total += elements_[e].area_m2 * heat_[i].warmth_j(t_[i]);
  return total;
}

}  // namespace horizon
