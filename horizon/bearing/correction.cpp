#include "horizon/bearing/correction.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <map>
#include <tuple>

namespace horizon {

namespace {

constexpr std::array<std::string_view, kReferenceCount> kNames = {"true", "magnetic", "grid",
                                                                  "device"};
// Iglewicz & Hoaglin: a modified z-score above 3.5 is an outlier; 1.4826 makes the median absolute
// deviation a standard deviation.
constexpr double kOutlierScore = 3.5, kMadToSigma = 1.4826;

double median_of(std::vector<double> values) {
  const std::size_t half = values.size() / 2;
  std::ranges::nth_element(values, values.begin() + half);
  const double upper = values[half];
  if (values.size() % 2) return upper;
  return (upper + *std::max_element(values.begin(), values.begin() + half)) / 2;
}

struct Aim {
  const RawSighting* raw = nullptr;
  double azimuth_deg = 0;
};

// Which of three values or more stand apart.
std::vector<bool> outliers_of(const std::vector<double>& values,
                              const std::vector<double>& sigmas) {
  std::vector<bool> out(values.size(), false);
  if (values.size() < 3) return out;
  const double middle = median_of(values);
  std::vector<double> off;
  for (const double value : values) off.push_back(std::abs(value - middle));
  const double spread = kMadToSigma * median_of(off);
  for (std::size_t i = 0; i < values.size(); ++i)
    out[i] = off[i] > kOutlierScore * std::max(spread, sigmas[i]);
  return out;
}

struct Mean {
  double value = 0, sigma = 0;
};
// The sigma grows where the values scatter by more than their sigmas (Birge).
Mean weighted_mean(const std::vector<double>& values, const std::vector<double>& sigmas) {
  double weight = 0, sum = 0, chi2 = 0;
  for (std::size_t i = 0; i < values.size(); ++i) {
    const double w = 1 / (sigmas[i] * sigmas[i]);
    weight += w;
    sum += w * values[i];
  }
  const double mean = sum / weight;
  for (std::size_t i = 0; i < values.size(); ++i) {
    const double z = (values[i] - mean) / sigmas[i];
    chi2 += z * z;
  }
  const double scatter = values.size() > 1 ? chi2 / (values.size() - 1.0) : 0;
  return {mean, std::sqrt(std::max(1.0, scatter) / weight)};
}

// One point of all aims of a group.
SkylinePoint mark_of(const std::vector<Aim>& aims, const std::string& group,
                     std::vector<OutlyingAim>& named) {
  const RawSighting& first = *aims.front().raw;
  SkylinePoint point;
  point.layer = first.layer;
  point.source = first.source;
  point.distance_m = first.distance_m;
  point.level_sigma_deg = first.level_sigma_deg;
  if (aims.size() == 1) {
    point.azimuth = TrueAzimuth::degrees(aims.front().azimuth_deg);
    point.elevation = Elevation::degrees(first.elevation_deg);
    point.azimuth_sigma_deg = first.bearing_sigma_deg;
    point.elevation_sigma_deg = first.elevation_sigma_deg;
    return point;
  }
  // About the mean direction of all, differences are small numbers that no north cuts.
  std::vector<double> azimuths;
  for (const Aim& aim : aims) azimuths.push_back(aim.azimuth_deg);
  const double about = mean_direction(azimuths).azimuth_deg;
  constexpr double kLeastSigma = 1e-6;  // a reading entered as exact must not divide by zero
  auto lists = [&](const std::vector<bool>& skip) {
    std::array<std::vector<double>, 4> l;
    for (std::size_t i = 0; i < aims.size(); ++i) {
      if (!skip.empty() && skip[i]) continue;
      l[0].push_back(wrap_180(aims[i].azimuth_deg - about));
      l[1].push_back(std::max(kLeastSigma, aims[i].raw->bearing_sigma_deg));
      l[2].push_back(aims[i].raw->elevation_deg);
      l[3].push_back(std::max(kLeastSigma, aims[i].raw->elevation_sigma_deg));
    }
    return l;
  };
  const auto all = lists({});
  std::vector<bool> out = outliers_of(all[0], all[1]);
  const std::vector<bool> out_elevation = outliers_of(all[2], all[3]);
  for (std::size_t i = 0; i < out.size(); ++i) out[i] = out[i] || out_elevation[i];
  if (std::ranges::find(out, false) == out.end()) out.assign(out.size(), false);
  const auto kept = lists(out);
  const Mean azimuth = weighted_mean(kept[0], kept[1]);
  const Mean elevation = weighted_mean(kept[2], kept[3]);
  point.azimuth = TrueAzimuth::degrees(about + azimuth.value);
  point.azimuth_sigma_deg = azimuth.sigma;
  point.elevation = Elevation::degrees(elevation.value);
  point.elevation_sigma_deg = elevation.sigma;
  for (std::size_t i = 0; i < out.size(); ++i)
    if (out[i])
      named.push_back(
          {aims[i].raw->source, group, all[0][i] - azimuth.value, all[2][i] - elevation.value});
  return point;
}

Obstacle obstacle_of(const RawSighting& raw, std::span<const Obstacle> known) {
  for (const Obstacle& candidate : known)
    if (candidate.kind == raw.kind && candidate.label == raw.label) {
      Obstacle obstacle = candidate;
      obstacle.edge = raw.edge;
      if (raw.width_deg) obstacle.width_deg = raw.width_deg;
      return obstacle;
    }
  Obstacle obstacle;
  obstacle.kind = raw.kind;
  obstacle.label = raw.label;
  obstacle.edge = raw.edge;
  obstacle.width_deg = raw.width_deg;
  return obstacle;
}

bool checked(const Corrections& corrections, int instrument) {
  return instrument >= 0 && instrument < static_cast<int>(corrections.instruments.size()) &&
         corrections.instruments[instrument].used > 0;
}

Result<TrueAzimuth> azimuth_of(const RawSighting& raw, const Corrections& corrections) {
  for (const double value :
       {raw.bearing_deg, raw.elevation_deg, raw.bearing_sigma_deg, raw.elevation_sigma_deg})
    if (!std::isfinite(value)) return fail(Code::bad_input, "error.sighting_number_missing");
  const bool has_check = checked(corrections, raw.instrument);
  auto azimuth = has_check ? check_azimuth(raw.bearing_deg, raw.reference, corrections)
                           : nominal_azimuth(raw.bearing_deg, raw.reference, corrections);
  if (!azimuth) return azimuth;
  double turn = raw.back_bearing ? 180 : 0;
  if (has_check) turn += corrections.instruments[raw.instrument].offset_deg;
  return azimuth->turned_by(turn);
}

bool disputed(const Corrections& corrections, int instrument) {
  return instrument >= 0 && instrument < static_cast<int>(corrections.instruments.size()) &&
         corrections.instruments[instrument].disputed;
}

// The error that all bearings of this sighting's sort share.
double heading_sigma(const RawSighting& raw, const Corrections& corrections) {
  if (checked(corrections, raw.instrument) || disputed(corrections, raw.instrument))
    return corrections.instruments[raw.instrument].sigma_deg;
  switch (raw.reference) {
    case Reference::magnetic:
      return std::hypot(corrections.unchecked_sigma_deg, corrections.declination_sigma_deg);
    case Reference::grid:
      return corrections.convergence_sigma_deg;
    default:
      return 0;  // somebody made it true, and vouches for it with the sighting's own sigma
  }
}

}  // namespace

std::string_view name_of(Reference reference) { return kNames[static_cast<int>(reference)]; }
std::optional<Reference> reference_named(std::string_view name) {
  for (int i = 0; i < kReferenceCount; ++i)
    if (kNames[i] == name) return Reference(i);
  return std::nullopt;
}

Result<TrueAzimuth> nominal_azimuth(double bearing_deg, Reference reference,
                                    const Corrections& corrections) {
  if (reference == Reference::device)
    return fail(Code::bad_input, "error.instrument_north_unknown");
  return check_azimuth(bearing_deg, reference, corrections);
}

Result<TrueAzimuth> check_azimuth(double bearing_deg, Reference reference,
                                  const Corrections& corrections) {
  switch (reference) {
    case Reference::magnetic:
      if (!corrections.declination_deg) return fail(Code::bad_input, "error.declination_needed");
      return to_true(MagneticAzimuth::degrees(bearing_deg), *corrections.declination_deg);
    case Reference::grid:
      if (!corrections.convergence_deg) return fail(Code::bad_input, "error.convergence_needed");
      return to_true(GridAzimuth::degrees(bearing_deg), *corrections.convergence_deg);
    default:
      return TrueAzimuth::degrees(bearing_deg);
  }
}

CorrectedSkyline corrected_skyline(std::span<const RawSighting> sightings,
                                   const Corrections& corrections,
                                   std::span<const Obstacle> known) {
  CorrectedSkyline result;
  // Aims are one mark only if they share group, kind, label and layer.
  using Key = std::tuple<std::string, Kind, std::string, int>;
  std::map<Key, std::size_t> mark_index;
  std::vector<std::vector<Aim>> marks;
  for (const RawSighting& raw : sightings) {
    const auto azimuth = azimuth_of(raw, corrections);
    if (!azimuth) {
      result.unplaced.push_back({raw.source, azimuth.error()});
      continue;
    }
    result.skyline.heading_sigma_deg =
        std::max(result.skyline.heading_sigma_deg, heading_sigma(raw, corrections));
    result.skyline.headings_disagree =
        result.skyline.headings_disagree || disputed(corrections, raw.instrument);
    const Aim aim{&raw, azimuth->degrees()};
    if (!raw.group.empty()) {
      const auto [place, fresh] =
          mark_index.try_emplace(Key{raw.group, raw.kind, raw.label, raw.layer}, marks.size());
      if (!fresh) {
        marks[place->second].push_back(aim);
        continue;
      }
    }
    marks.push_back({aim});
  }
  std::map<std::tuple<Kind, std::string, Edge>, int> obstacle_index;
  for (const std::vector<Aim>& aims : marks) {
    const RawSighting& first = *aims.front().raw;
    SkylinePoint point = mark_of(aims, first.group, result.outliers);
    auto& obstacles = result.skyline.obstacles;
    const auto [place, fresh] = obstacle_index.try_emplace({first.kind, first.label, first.edge},
                                                           static_cast<int>(obstacles.size()));
    if (fresh) obstacles.push_back(obstacle_of(first, known));
    if (first.width_deg) obstacles[place->second].width_deg = first.width_deg;
    point.obstacle = place->second;
    result.skyline.points.push_back(point);
  }
  return result;
}

MeanDirection mean_direction(std::span<const double> azimuths_deg,
                             std::span<const double> weights) {
  double sine = 0, cosine = 0, total = 0;
  for (std::size_t i = 0; i < azimuths_deg.size(); ++i) {
    const double weight = weights.empty() ? 1 : weights[i];
    sine += weight * std::sin(azimuths_deg[i] * kDegree);
    cosine += weight * std::cos(azimuths_deg[i] * kDegree);
    total += weight;
  }
  MeanDirection mean;
  if (total <= 0) return mean;
  mean.resultant = std::min(1.0, std::hypot(sine, cosine) / total);
  mean.azimuth_deg = wrap_360(std::atan2(sine, cosine) / kDegree);
  mean.circular_sd_deg = std::sqrt(-2 * std::log(mean.resultant)) / kDegree;
  return mean;
}

}  // namespace horizon
