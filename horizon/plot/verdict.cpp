#include "horizon/plot/verdict.h"

#include <algorithm>
#include <cmath>

namespace horizon {
namespace {

// Common practice for an unheated winter greenhouse.
using namespace verdict_limits;

class Lines {
 public:
  explicit Lines(const Weights& weights) : weights_(weights) {}
  void add(Criterion criterion, Stance stance, std::string_view about, std::vector<double> values,
           Sentence evidence) {
    lines.push_back({criterion, stance, about, std::move(values), std::move(evidence),
                     weights_[static_cast<size_t>(criterion)]});
  }
  void missing(Criterion criterion, std::string_view about) {
    add(criterion, Stance::unknown, about, {}, "");
  }
  std::vector<VerdictLine> lines;

 private:
  const Weights& weights_;
};

Stance below(double value, double limit) {
  return value <= limit ? Stance::speaks_for : Stance::against;
}

void light(const CandidateSpot& spot, Lines& out) {
  if (!spot.winter_sun_h_day) return out.missing(Criterion::light, "no_sun");
  const double h = spot.winter_sun_h_day->value, band = 1.6449 * spot.winter_sun_sigma_h_day;
  Stance stance = Stance::unsure;
  if (h - band >= kEnoughSun_h) stance = Stance::speaks_for;
  if (h + band < kEnoughSun_h) stance = h + band < kLittleSun_h ? Stance::against : Stance::unsure;
  std::vector<double> values = {h, h - band, h + band};
  if (spot.flat_sun_h_day) values.push_back(spot.flat_sun_h_day->value);
  out.add(Criterion::light, stance, "sun", std::move(values), spot.winter_sun_h_day->from);
}

void frost(const CandidateSpot& spot, Lines& out) {
  if (spot.cold_air) {
    const ColdAir cold = spot.cold_air->value;
    const Stance stance = cold == ColdAir::likely     ? Stance::against
                          : cold == ColdAir::unlikely ? Stance::speaks_for
                          : cold == ColdAir::possible ? Stance::unsure
                                                      : Stance::unknown;
    out.add(Criterion::frost, stance, "cold_air", {static_cast<double>(cold)}, spot.cold_air->from);
  } else {
    out.missing(Criterion::frost, "no_cold_air");
  }
  if (spot.frost_depth_m)
    out.add(Criterion::frost, below(spot.frost_depth_m->value, kDeepFrost_m), "frost_depth",
            {spot.frost_depth_m->value}, spot.frost_depth_m->from);
  if (spot.frost_group) {
    const FrostGroup group = spot.frost_group->value;
    out.add(Criterion::frost, group >= FrostGroup::f3 ? Stance::against : Stance::speaks_for,
            "frost_group", {static_cast<double>(group)}, spot.frost_group->from);
  }
}

void drainage(const CandidateSpot& spot, Lines& out) {
  if (spot.percolation) {
    const PercolationResult& test = spot.percolation->value;
    const bool sound = test.planting_sure && test.steady;
    const Stance stance = !sound ? Stance::unsure
                          : test.planting == DrainsFor::good || test.planting == DrainsFor::fast
                              ? Stance::speaks_for
                              : Stance::against;
    out.add(Criterion::drainage, stance, "percolation",
            {test.fall_mm_h, 2 * test.fall_sigma_mm_h, static_cast<double>(test.planting),
             test.steady ? 1.0 : 0.0},
            spot.percolation->from);
  } else {
    out.missing(Criterion::drainage, "no_drainage");
  }
  if (spot.water_table_m)
    out.add(Criterion::drainage,
            spot.water_table_m->value >= kHighWater_m ? Stance::speaks_for : Stance::against,
            "water_table", {spot.water_table_m->value}, spot.water_table_m->from);
}

void wind(const CandidateSpot& spot, Lines& out) {
  if (!spot.storm_shelter) return out.missing(Criterion::wind, "no_shelter");
  const Shelter shelter = spot.storm_shelter->value;
  out.add(Criterion::wind,
          shelter == Shelter::good   ? Stance::speaks_for
          : shelter == Shelter::open ? Stance::against
                                     : Stance::unsure,
          "shelter", {static_cast<double>(shelter)}, spot.storm_shelter->from);
}

void access(const CandidateSpot& spot, Lines& out) {
  if (!spot.access_m)
    out.missing(Criterion::access, "no_access");
  else
    out.add(Criterion::access, below(spot.access_m->value, kFarAccess_m), "access",
            {spot.access_m->value}, spot.access_m->from);
  if (spot.access_slope_percent)
    out.add(Criterion::access, below(spot.access_slope_percent->value, kSteepAccess_percent),
            "access_slope", {spot.access_slope_percent->value}, spot.access_slope_percent->from);
  if (spot.water_supply_m)
    out.add(Criterion::access, below(spot.water_supply_m->value, kFarWater_m), "water",
            {spot.water_supply_m->value}, spot.water_supply_m->from);
}

}  // namespace

std::string_view name_of(Criterion criterion) {
  constexpr std::string_view names[] = {"light", "frost", "drainage", "wind", "access"};
  return names[static_cast<int>(criterion)];
}

std::string_view name_of(Stance stance) {
  constexpr std::string_view names[] = {"for", "against", "unsure", "not known"};
  return names[static_cast<int>(stance)];
}

int SpotVerdict::count(Stance stance) const {
  return static_cast<int>(std::count_if(lines.begin(), lines.end(),
                                        [&](const auto& line) { return line.stance == stance; }));
}

Result<std::vector<SpotVerdict>> verdicts(const std::vector<CandidateSpot>& spots,
                                          const Weights& weights) {
  for (size_t i = 0; i < weights.size(); ++i)
    if (!(weights[i] >= 0 && std::isfinite(weights[i])))
      return fail(Code::bad_input, "error.weight_range",
                  "weight of " + std::string(name_of(static_cast<Criterion>(i))));
  std::vector<SpotVerdict> all;
  for (const CandidateSpot& spot : spots) {
    Lines out(weights);
    light(spot, out);
    frost(spot, out);
    drainage(spot, out);
    wind(spot, out);
    access(spot, out);
    std::stable_sort(out.lines.begin(), out.lines.end(),
                     [](const auto& a, const auto& b) { return a.weight > b.weight; });
    all.push_back({spot.name, spot.best_place, std::move(out.lines)});
  }
  return all;
}

}  // namespace horizon
