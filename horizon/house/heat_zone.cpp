#include "horizon/house/heat_zone.h"

#include <algorithm>
#include <bit>
#include <cassert>
#include <cmath>

#include "horizon/house/air.h"

namespace horizon {
namespace {

template <class Real>
ADRET_INTO_CALLER Real cube_mean(const Real& a_c, const Real& b_c) {  // (a2 + b2)(a + b), kelvin
  const Real a = a_c + kKelvin, b = b_c + kKelvin;
  return (a * a + b * b) * (a + b);
}
template <class Real>
ADRET_INTO_CALLER Real within_0_1(const Real& x) {
  return pick(x < Real(0), Real(0), pick(Real(1) < x, Real(1), x));
}
// Where the sign is set, a temperature crossed 0 or the end of freezing: two instructions each.
ADRET_INTO_CALLER std::int64_t signs_differ(double a, double b) {
  return std::bit_cast<std::int64_t>(a) ^ std::bit_cast<std::int64_t>(b);
}
ADRET_INTO_CALLER LanesWhich signs_differ(const Lanes& a, const Lanes& b) {
  return {(LanesWhich::Mask)a.v ^ (LanesWhich::Mask)b.v};
}
template <class Real>
ADRET_INTO_CALLER auto crossing(const Real& before_c, const Real& after_c) {
  return signs_differ(before_c, after_c) |
         signs_differ(before_c + kFreezingRange_k, after_c + kFreezingRange_k);
}
ADRET_INTO_CALLER bool any_sign(std::int64_t bits) { return bits < 0; }
ADRET_INTO_CALLER bool any_sign(const LanesWhich& bits) { return any(LanesWhich{bits.m < 0}); }
template <class Real>
ADRET_INTO_CALLER Real without_sign(const Real& x) {
  return pick(x < Real(0), -x, x);
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

void set_lane(HeatLoadOf<Lanes>& to, int lane, const HeatLoad& load) {
  to.inside_w_m2.set(lane, load.inside_w_m2);
  to.outside_w_m2.set(lane, load.outside_w_m2);
  to.outside_film_w_m2k.set(lane, load.outside_film_w_m2k);
  to.outside_c.set(lane, load.outside_c);
  to.added_m2kw.set(lane, load.added_m2kw);
}

template <class Real>
HeatZones<Real>::HeatZones(double air_j_k, std::vector<HeatElement> elements, double start_c)
    : loads(elements.size()), air_j_k_(air_j_k), air_(start_c), radiant_(start_c) {
  const auto add_node = [&](const FreezingHeat& heat, double depth_m) {
    nodes_.push_back({heat.capacity_j_k, heat.frozen_j_k, heat.latent_j, heat.latent_j > 0});
    to_next_.push_back(0);
    depth_.push_back(depth_m);
  };
  // In series with the face's own emittance.
  for (size_t e = 0; const double factor : carroll_factors(elements)) {
    const double emittance = elements[e++].inside_emittance;
    carroll_.push_back(1 / (1 / factor + (1 - emittance) / emittance));
  }
  for (const HeatElement& e : elements) {
    elements_.push_back({e.inside, e.outside, e.area_m2, e.inside_film_w_m2k, e.inside_emittance,
                         e.outside_emittance, e.sky_share});
    begin_.push_back(static_cast<int>(nodes_.size()));
    add_node({}, 0);
    first_cell_.push_back(static_cast<int>(nodes_.size()));
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
    end_.push_back(static_cast<int>(nodes_.size()));
  }
  t_.assign(nodes_.size(), start_c);
  per_step_.resize(nodes_.size());
  m_ = inv_ = r_ = per_step_;
  hc_.resize(elements_.size());
  hr_ = out_air_ = out_sky_ = hc_;
  face_in_.assign(elements_.size(), start_c);
  face_out_ = face_in_;
}

template <class Real>
HeatZones<Real>::HeatZones(std::span<const HeatZones<double>> rooms)
    : loads(rooms[0].loads.size()),
      begin_(rooms[0].begin_),
      end_(rooms[0].end_),
      first_cell_(rooms[0].first_cell_),
      depth_(rooms[0].depth_) {
  assert(rooms.size() == kLanesOf<Real>);
  for (const auto& e : rooms[0].elements_)
    elements_.push_back({e.inside, e.outside, 0, 0, 0, 0, 0});
  for (const auto& n : rooms[0].nodes_) nodes_.push_back({0, 0, 0, n.freezes});
  for (auto* by_node : {&t_, &to_next_, &per_step_, &m_, &inv_, &r_})
    by_node->resize(nodes_.size());
  for (auto* by_element : {&carroll_, &hc_, &hr_, &out_air_, &out_sky_, &face_in_, &face_out_})
    by_element->resize(elements_.size());
  for (int lane = 0; lane < kLanesOf<Real>; ++lane) {
    const HeatZones<double>& room = rooms[lane];
    assert(room.begin_ == begin_ && room.end_ == end_);
    set_lane(air_j_k_, lane, room.air_j_k_);
    set_lane(air_, lane, room.air_);
    set_lane(radiant_, lane, room.radiant_);
    for (size_t e = 0; e < elements_.size(); ++e) {
      const auto& from = room.elements_[e];
      set_lane(elements_[e].area_m2, lane, from.area_m2);
      set_lane(elements_[e].inside_film_w_m2k, lane, from.inside_film_w_m2k);
      set_lane(elements_[e].inside_emittance, lane, from.inside_emittance);
      set_lane(elements_[e].outside_emittance, lane, from.outside_emittance);
      set_lane(elements_[e].sky_share, lane, from.sky_share);
      set_lane(carroll_[e], lane, room.carroll_[e]);
      set_lane(face_in_[e], lane, room.face_in_[e]);
      set_lane(face_out_[e], lane, room.face_out_[e]);
    }
    for (size_t i = 0; i < nodes_.size(); ++i) {
      set_lane(nodes_[i].capacity_j_k, lane, room.nodes_[i].capacity_j_k);
      set_lane(nodes_[i].frozen_j_k, lane, room.nodes_[i].frozen_j_k);
      set_lane(nodes_[i].latent_j, lane, room.nodes_[i].latent_j);
      set_lane(t_[i], lane, room.t_[i]);
      set_lane(to_next_[i], lane, room.to_next_[i]);
    }
  }
}

// ISO 6946: 5.0 upwards, 2.5 level, 0.7 downwards; within half a kelvin evenly from one to another.
template <class Real>
ADRET_INTO_CALLER Real HeatZones<Real>::film(int e) const {
  const Real warmer = face_in_[e] - air_;
  switch (elements_[e].inside) {
    case HeatElement::Inside::constant:
      return elements_[e].inside_film_w_m2k;
    case HeatElement::Inside::wall:
      return 2.5;
    case HeatElement::Inside::floor:
      return 0.7 + 4.3 * within_0_1<Real>(0.5 + warmer);
    case HeatElement::Inside::ceiling:
      return 0.7 + 4.3 * within_0_1<Real>(0.5 - warmer);
  }
  return 2.5;
}

// As FreezingHeat's.
template <class Real>
ADRET_INTO_CALLER Real HeatZones<Real>::slope_j_k(int i) const {
  const Node& n = nodes_[i];
  if (!n.freezes) return n.capacity_j_k;
  const Real &t = t_[i], cold = -kFreezingRange_k;
  return pick(t < Real(0),
              pick(t < cold, n.frozen_j_k,
                   (n.capacity_j_k + n.frozen_j_k) / 2 + n.latent_j / kFreezingRange_k),
              n.capacity_j_k);
}

template <class Real>
ADRET_INTO_CALLER void HeatZones<Real>::refactor() {
  dirty_ = false;
  Real aa = air_j_k_ / step_s_ + hour.exchange_w_k, ar = 0, rr = hour.open_to_sky_w_k;
  for (size_t e = 0; e < elements_.size(); ++e) {
    const int b = begin_[e], f = end_[e] - 1;
    const Real& added = loads[e].added_m2kw;
    const auto covers = added > Real(0);
    const bool covered = any(covers);
    Real behind = 0;
    for (int i = f; i >= b; --i) {
      per_step_[i] = slope_j_k(i) / step_s_;
      Real next = i < f ? to_next_[i] : Real(0), last = i > b ? to_next_[i - 1] : Real(0);
      if (covered && i == b) next = pick(covers, 1 / (1 / next + added), next);
      if (covered && i == b + 1) last = pick(covers, 1 / (1 / last + added), last);
      Real d = per_step_[i] + next + last;
      if (i == f) d += out_air_[e] + out_sky_[e];
      if (i == b) d += hc_[e] + hr_[e];
      if (i < f) {
        m_[i] = next * behind;
        d -= m_[i] * next;
      }
      behind = inv_[i] = 1 / d;
    }
    const Real &area = elements_[e].area_m2, &own = inv_[b];
    aa += area * hc_[e] * (1 - hc_[e] * own);
    ar += area * hc_[e] * hr_[e] * own;
    rr += area * hr_[e] * (1 - hr_[e] * own);
  }
  aa_ = aa - ar * ar / rr;  // once the radiant node is gone
  ar_ = ar;
  rr_ = rr;
}

template <class Real>
ADRET_INTO_CALLER void HeatZones<Real>::begin_hour_here(double step_s) {
  step_s_ = step_s;
  for (size_t e = 0; e < elements_.size(); ++e) {
    const Element& element = elements_[e];
    hc_[e] = film(static_cast<int>(e));
    hr_[e] = carroll_[e] * kStefanBoltzmann * cube_mean<Real>(face_in_[e], radiant_);
    const Real& outside_film = loads[e].outside_film_w_m2k;
    switch (element.outside) {
      case HeatElement::Outside::air: {
        const Real black = element.outside_emittance * kStefanBoltzmann;
        out_sky_[e] = black * element.sky_share * cube_mean<Real>(face_out_[e], hour.sky_c);
        out_air_[e] = outside_film +
                      black * (1 - element.sky_share) * cube_mean<Real>(face_out_[e], face_out_[e]);
        break;
      }
      case HeatElement::Outside::fixed:
        out_sky_[e] = 0;
        out_air_[e] = outside_film;
        break;
      case HeatElement::Outside::none:
        out_sky_[e] = out_air_[e] = 0;
        break;
    }
  }
  refactor();
}

// Within one phase the warmth runs straight and the solution is exact; past its end the warmth is
// kept.
template <class Real>
void HeatZones<Real>::cross_freezing(int i, const Real& next_c) {
  Real t = next_c;
  for (int lane = 0; lane < kLanesOf<Real>; ++lane) {
    const double before_c = lane_of(t_[i], lane), after_c = lane_of(t, lane);
    const FreezingHeat heat = this->heat(i, lane);
    const int before = heat.phase(before_c);
    if (heat.phase(after_c) == before) continue;
    const double warmth =
        heat.warmth_j(before_c) + lane_of(per_step_[i], lane) * step_s_ * (after_c - before_c);
    const double kept_c = heat.temperature_c(warmth);
    set_lane(t, lane, kept_c);
    dirty_ = dirty_ || heat.phase(kept_c) != before;
  }
  t_[i] = t;
}

template <class Real>
ADRET_INTO_CALLER void HeatZones<Real>::step_here(const Real& outside_c) {
  if (dirty_) refactor();
  Real ba = air_j_k_ / step_s_ * air_ + hour.exchange_w_k * outside_c + hour.convective_w;
  Real br = hour.radiative_w + hour.open_to_sky_w_k * hour.sky_c;
  const int n = static_cast<int>(elements_.size());
  for (int e = 0; e < n; ++e) {
    const int b = begin_[e], f = end_[e] - 1;
    const HeatLoadOf<Real>& load = loads[e];
    const Real& outside =
        elements_[e].outside == HeatElement::Outside::fixed ? load.outside_c : outside_c;
    Real r =
        per_step_[f] * t_[f] + load.outside_w_m2 + out_air_[e] * outside + out_sky_[e] * hour.sky_c;
    r_[f] = r;
    for (int i = f - 1; i >= b; --i) r_[i] = r = per_step_[i] * t_[i] + m_[i] * r;
    r_[b] = r += load.inside_w_m2;
    const Real alone = r * inv_[b], &area = elements_[e].area_m2;
    ba += area * hc_[e] * alone;
    br += area * hr_[e] * alone;
  }
  // The radiant node goes; one equation for the air is left.
  const Real &a = aa_, rhs = ba + ar_ * br / rr_;
  Real air = rhs / a;
  vent_ = plant_w_ = 0;
  if (const auto vents = (air > hour.vent_above_c) & (hour.vent_above_c > outside_c); any(vents)) {
    const Real wanted = (rhs - a * hour.vent_above_c) / (hour.vent_above_c - outside_c);
    vent_ = pick(vents, pick(hour.vent_most_w_k < wanted, hour.vent_most_w_k, wanted), Real(0));
    air = pick(vents, (rhs + vent_ * outside_c) / (a + vent_), air);
  }
  if (hour.heat_below_c)
    if (const auto cold = air < *hour.heat_below_c; any(cold)) {
      plant_w_ = pick(cold, a * (*hour.heat_below_c) - rhs, plant_w_);
      air = pick(cold, *hour.heat_below_c, air);
    }
  if (hour.cool_above_c)
    if (const auto hot = air > *hour.cool_above_c; any(hot)) {
      plant_w_ = pick(hot, a * (*hour.cool_above_c) - rhs, plant_w_);
      air = pick(hot, *hour.cool_above_c, air);
    }
  const Real radiant = (br + ar_ * air) / rr_;

  Real received = (hour.exchange_w_k + vent_) * (outside_c - air) + hour.convective_w +
                  hour.radiative_w + plant_w_ + hour.open_to_sky_w_k * (hour.sky_c - radiant);
  Real moved = without_sign(received);
  for (int e = 0; e < n; ++e) {
    const int b = begin_[e], f = end_[e] - 1;
    Real t = (r_[b] + hc_[e] * air + hr_[e] * radiant) * inv_[b];
    face_in_[e] = t;
    t_[b] = t;
    auto crossed = crossing<Real>(0, 0);
    for (int i = b + 1; i <= f; ++i) {
      t = inv_[i] * r_[i] + m_[i - 1] * t;
      if (nodes_[i].freezes) crossed = crossed | crossing(t_[i], t);
      r_[i] = t_[i];  // kept, for those that cross
      t_[i] = t;
    }
    if (any_sign(crossed))
      for (int i = b + 1; i <= f; ++i)
        if (nodes_[i].freezes) {
          std::swap(t_[i], r_[i]);
          cross_freezing(i, r_[i]);
        }
    face_out_[e] = t;
    const HeatLoadOf<Real>& load = loads[e];
    const Real& outside =
        elements_[e].outside == HeatElement::Outside::fixed ? load.outside_c : outside_c;
    const Real through = out_air_[e] * (outside - t) + out_sky_[e] * (hour.sky_c - t);
    const Real got = elements_[e].area_m2 * (through + load.inside_w_m2 + load.outside_w_m2);
    received += got;
    moved += without_sign(got);
  }
  in_ += received * step_s_;
  moved_ += moved * step_s_;
  air_ = air;
  radiant_ = radiant;
}

template <class Real>
void HeatZones<Real>::begin_hour(double step_s) {
  in_widest([&]() __attribute__((always_inline)) { begin_hour_here(step_s); });
}
template <class Real>
void HeatZones<Real>::step(const Real& outside_c) {
  in_widest([&]() __attribute__((always_inline)) { step_here(outside_c); });
}

template <class Real>
Real HeatZones<Real>::stored_j() const {
  Real total = 0;
  for (int lane = 0; lane < kLanesOf<Real>; ++lane) {
    double sum = lane_of(air_j_k_, lane) * lane_of(air_, lane);
    for (size_t e = 0; e < elements_.size(); ++e)
      for (int i = begin_[e]; i < end_[e]; ++i)
        if (const FreezingHeat kept = heat(i, lane); kept.capacity_j_k > 0)
          sum += lane_of(elements_[e].area_m2, lane) * kept.warmth_j(lane_of(t_[i], lane));
    set_lane(total, lane, sum);
  }
  return total;
}

template class HeatZones<double>;
template class HeatZones<Lanes>;

}  // namespace horizon
