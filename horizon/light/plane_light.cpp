#include "horizon/light/plane_light.h"

#include <algorithm>
#include <cmath>

#include "horizon/light/growing_light.h"

namespace horizon {
namespace {

constexpr int kColumns = 72, kRows = 18;  // of the sky, 5 degrees
constexpr int kFine = 10;                 // columns in a patch's width that meet the skyline apart
constexpr double kColumn_deg = 360.0 / kColumns, kRow_deg = 90.0 / kRows;
constexpr double kBand_deg = 6.5;
constexpr double kMegajoulesPerKwh = 3.6;

struct Vector {
  double east = 0, north = 0, up = 0;
};
Vector direction(double azimuth_deg, double el_deg) {
  const double az = azimuth_deg * kDegree, el = el_deg * kDegree, c = std::cos(el);
  return {c * std::sin(az), c * std::cos(az), std::sin(el)};
}
Vector normal_of(const Plane& plane) {
  return direction(plane.facing.degrees(), 90 - plane.tilt_deg);
}

// Gathers slices of the sphere into one patch.
struct Gathered {
  double solid_angle = 0;
  Vector sum;
  void add(double azimuth_deg, double width_deg, double from_deg, double to_deg) {
    const double omega =
        (std::sin(to_deg * kDegree) - std::sin(from_deg * kDegree)) * width_deg * kDegree;
    if (!(omega > 0)) return;
    const Vector v = direction(azimuth_deg, (from_deg + to_deg) / 2);
    solid_angle += omega;
    sum = {sum.east + omega * v.east, sum.north + omega * v.north, sum.up + omega * v.up};
  }
  void put(std::vector<Patch>& patches, Patch::What what) const {
    if (!(solid_angle > 0)) return;
    const double length = std::sqrt(sum.east * sum.east + sum.north * sum.north + sum.up * sum.up);
    Patch patch;
    patch.what = what;
    patch.east = static_cast<float>(sum.east / length);
    patch.north = static_cast<float>(sum.north / length);
    patch.up = static_cast<float>(sum.up / length);
    patch.weight = static_cast<float>(solid_angle / std::numbers::pi);
    patches.push_back(patch);
  }
};

template <class Response>
Receives received(const std::vector<Patch>& patches, Response response) {
  Receives r;
  for (const Patch& patch : patches) {
    const double got = patch.weight * response(patch);
    if (got == 0) continue;
    switch (patch.what) {
      case Patch::What::sky:
        for (double& month : r.sky) month += got;
        break;
      case Patch::What::skyline:
        for (double& month : r.skyline) month += got;
        break;
      case Patch::What::leaves:
        for (int m = 0; m < 12; ++m) {
          r.sky[m] += got * patch.leaf[m];
          r.skyline[m] += got * (1 - patch.leaf[m]);
        }
        break;
      case Patch::What::ground:
        r.ground += got;
        break;
      case Patch::What::band:
        r.band += got;
        break;
    }
  }
  return r;
}

}  // namespace

std::vector<Patch> patches_of(const Skyline& skyline, const Masks& masks, const GroundSlope& slope,
                              bool southern) {
  std::vector<Patch> patches;
  for (int c = 0; c < kColumns; ++c) {
    Gathered sky[kRows], hidden[kRows], ground[kRows];
    std::vector<std::pair<int, Gathered>> leaves;  // by obstacle
    double band = 0;
    const double width = kColumn_deg / kFine;
    for (int f = 0; f < kFine; ++f) {
      const double azimuth = c * kColumn_deg + (f + 0.5) * width;
      const double soil = ground_elevation_deg(slope, azimuth);
      const double floor = std::max(0.0, soil);
      const double all = std::clamp(masks.all.elevation_deg(azimuth), floor, 90.0);
      const double solid =
          masks.has_leafy ? std::clamp(masks.solid.elevation_deg(azimuth), floor, all) : all;
      band += std::clamp(1 - all / kBand_deg, 0.0, 1.0) / kFine;
      for (int r = 0; r < kRows; ++r) {
        const double low = r * kRow_deg, high = low + kRow_deg;
        sky[r].add(azimuth, width, std::max(low, all), high);
        hidden[r].add(azimuth, width, std::max(low, soil), std::min(high, solid));
        ground[r].add(azimuth, width, low, std::min(high, soil));
        // Below the level: far ground as deep as the slope falls, then the slope itself.
        ground[r].add(azimuth, width, -high, std::min(-low, soil));
        hidden[r].add(azimuth, width, std::max(-high, soil), -low);
      }
      if (solid < all) {
        const int tree = masks.all.piece_at(azimuth).obstacle;
        auto at = std::find_if(leaves.begin(), leaves.end(),
                               [&](const auto& l) { return l.first == tree; });
        if (at == leaves.end()) at = leaves.insert(leaves.end(), {tree, {}});
        at->second.add(azimuth, width, solid, all);
      }
    }
    for (int r = 0; r < kRows; ++r) {
      sky[r].put(patches, Patch::What::sky);
      hidden[r].put(patches, Patch::What::skyline);
      ground[r].put(patches, Patch::What::ground);
    }
    for (const auto& [tree, gathered] : leaves) {
      gathered.put(patches, Patch::What::leaves);
      if (tree < 0) continue;
      for (int m = 0; m < 12; ++m)
        patches.back().leaf[m] =
            static_cast<float>(light_through(skyline.obstacles[tree].foliage, m + 1, southern));
    }
    if (band > 0) {
      const Vector v = direction((c + 0.5) * kColumn_deg, 0);
      patches.push_back({Patch::What::band,
                         static_cast<float>(v.east),
                         static_cast<float>(v.north),
                         0,
                         static_cast<float>(band * kColumn_deg * kDegree / 2),
                         {}});
    }
  }
  return patches;
}

Receives plane_receives(const std::vector<Patch>& patches, const Plane& plane,
                        const TransmittanceCurve& glazing) {
  const Vector n = normal_of(plane);
  return received(patches, [&](const Patch& p) {
    const double c = p.east * n.east + p.north * n.north + p.up * n.up;
    return c > 0 ? c * glazing(c) : 0;
  });
}

Receives bed_receives(const std::vector<Patch>& patches, const Plane& plane,
                      const TransmittanceCurve& glazing) {
  const Vector n = normal_of(plane);
  return received(patches, [&](const Patch& p) {
    const double c = p.east * n.east + p.north * n.north + p.up * n.up;
    return p.up > 0 && c > 0 ? p.up * glazing(c) : 0;
  });
}

SiteLight::SiteLight(const SunSteps& sun, const std::vector<SkyStep>& sky, const Skyline& skyline,
                     Masks masks, const GroundSlope& slope, const Monthly& albedo,
                     double skyline_albedo)
    : sun_(sun),
      sky_(sky),
      masks_(std::move(masks)),
      seen_(sun_seen(sun, skyline, masks_, slope)),
      patches_(patches_of(skyline, masks_, slope, sun.place.latitude_deg < 0)),
      albedo_(albedo),
      skyline_albedo_(skyline_albedo),
      open_daily_(sun.days()),
      isotropic_daily_(sun.days()),
      level_sun_daily_(sun.days()) {
  const double kwh = sun.step_h / 1000;
  for (size_t i = 0; i < sun.steps.size(); ++i) {
    const SunStep& step = sun.steps[i];
    open_daily_[step.day] += sky[i].global * kwh;
    isotropic_daily_[step.day] += sky[i].isotropic * kwh;
    level_sun_daily_[step.day] +=
        sky[i].sun_normal * seen_.light[i] * std::max(0.0f, step.up) * kwh;
    band_[step.month] += sky[i].band * kwh;
  }
  const TransmittanceCurve open_air(no_glazing());
  const Receives level = plane_receives(patches_, {TrueAzimuth(), 0}, open_air);
  for (int m = 0; m < 12; ++m)
    for (int d = sun.month_begins[m]; d < sun.month_begins[m + 1]; ++d) {
      open_[m] += open_daily_[d];
      isotropic_[m] += isotropic_daily_[d];
      level_[m] += level_sun_daily_[d] + isotropic_daily_[d] * level.sky[m] +
                   open_daily_[d] * skyline_albedo * level.skyline[m];
    }
}

double SiteLight::patch_kwh_m2(const Patch& patch, int m) const {
  switch (patch.what) {
    case Patch::What::sky:
      return isotropic_[m];
    case Patch::What::leaves:
      return patch.leaf[m] * isotropic_[m] + (1 - patch.leaf[m]) * skyline_albedo_ * open_[m];
    case Patch::What::skyline:
      return skyline_albedo_ * open_[m];
    case Patch::What::ground:
      return albedo_[m] * level_[m];
    case Patch::What::band:
      return band_[m];
  }
  return 0;
}

std::array<PlaneMonth, 12> SiteLight::months(const Plane& plane,
                                             const TransmittanceCurve& glazing) const {
  std::array<PlaneMonth, 12> out{};
  const Vector n = normal_of(plane);
  const double kwh = sun_.step_h / 1000;
  for (size_t i = 0; i < sun_.steps.size(); ++i) {
    const SunStep& s = sun_.steps[i];
    const double c = s.east * n.east + s.north * n.north + s.up * n.up;
    if (c <= 0 || seen_.light[i] == 0) continue;
    const double beam = sky_[i].sun_normal * seen_.light[i] * c * kwh;
    out[s.month].beam_kwh_m2 += beam;
    out[s.month].through_kwh_m2 += beam * glazing(c);
  }
  const Receives bare = plane_receives(patches_, plane, TransmittanceCurve(no_glazing()));
  const Receives past = plane_receives(patches_, plane, glazing);
  for (int m = 0; m < 12; ++m) {
    const double hills = skyline_albedo_ * open_[m], ground = albedo_[m] * level_[m];
    out[m].sky_kwh_m2 = isotropic_[m] * bare.sky[m] + band_[m] * bare.band;
    out[m].reflected_kwh_m2 = hills * bare.skyline[m] + ground * bare.ground;
    out[m].through_kwh_m2 += isotropic_[m] * past.sky[m] + band_[m] * past.band +
                             hills * past.skyline[m] + ground * past.ground;
  }
  return out;
}

void SiteLight::bed_parts(const Plane& plane, const TransmittanceCurve& glazing,
                          std::vector<float>& sun_mol_m2, std::vector<double>& rest_mol_m2) const {
  const Vector n = normal_of(plane);
  const double mol = sun_.step_h / 1000 * kMegajoulesPerKwh * kPhotonsPerMegajoule;
  sun_mol_m2.resize(sun_.steps.size());
  for (size_t i = 0; i < sun_.steps.size(); ++i) {
    const SunStep& s = sun_.steps[i];
    const double c = s.east * n.east + s.north * n.north + s.up * n.up;
    sun_mol_m2[i] =
        static_cast<float>(c > 0 && s.up > 0 ? sky_[i].sun_normal * s.up * glazing(c) * mol : 0);
  }
  const Receives bed = bed_receives(patches_, plane, glazing);
  rest_mol_m2.assign(sun_.days(), 0);
  for (int m = 0; m < 12; ++m)
    for (int d = sun_.month_begins[m]; d < sun_.month_begins[m + 1]; ++d)
      rest_mol_m2[d] =
          (isotropic_daily_[d] * bed.sky[m] + open_daily_[d] * skyline_albedo_ * bed.skyline[m]) *
          kMegajoulesPerKwh * kPhotonsPerMegajoule;
}

std::vector<double> SiteLight::bed_mol_m2(const Plane& plane,
                                          const TransmittanceCurve& glazing) const {
  std::vector<float> sun_part;
  std::vector<double> daily;
  bed_parts(plane, glazing, sun_part, daily);
  for (size_t i = 0; i < sun_.steps.size(); ++i)
    daily[sun_.steps[i].day] += sun_part[i] * seen_.light[i];
  return daily;
}

}  // namespace horizon
