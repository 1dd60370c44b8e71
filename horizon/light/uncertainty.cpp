#include "horizon/light/uncertainty.h"

#include <algorithm>
#include <cmath>

#include "horizon/light/plane_light.h"
#include "horizon/parallel.h"
#include "horizon/sun/sun_year.h"

namespace horizon {
namespace {

constexpr double kBin_deg = 3;

}  // namespace

FastView::FastView(const SunSteps& sun) : sun_(sun) {
  bin_.reserve(sun.nodes.size());
  part_.reserve(sun.nodes.size());
  for (const SunNode& node : sun.nodes) {
    const double x = node.azimuth_deg * MaskTable::kPerDegree;
    bin_.push_back(static_cast<int>(x));
    part_.push_back(static_cast<float>(x - bin_.back()));
  }
}

void FastView::view(const Mask& mask, std::vector<float>& shares) const {
  const MaskTable table(mask);
  shares.resize(sun_.steps.size());
  int last = -1;
  float d1 = 0;
  const auto over = [&](int node) {
    return static_cast<float>(sun_.nodes[node].seen_deg) - table.at(bin_[node], part_[node]);
  };
  for (size_t i = 0; i < sun_.steps.size(); ++i) {
    const int node = sun_.steps[i].node;
    const float d0 = node == last ? d1 : over(node);
    d1 = over(node + 1);
    last = node + 1;
    shares[i] = d0 > 0 ? (d1 >= 0 ? 1 : d0 / (d0 - d1)) : (d1 > 0 ? d1 / (d1 - d0) : 0);
  }
}

Draws draw_sites(const SiteLight& light, const Skyline& skyline, const TransmittanceCurve& glazing,
                 const DrawSettings& settings) {
  const SunSteps& sun = light.sun();
  const bool southern = sun.place.latitude_deg < 0;
  const FastView fast(sun);
  const int season = static_cast<int>(settings.season);
  const unsigned season_months = months_of(settings.season, southern);

  // What does not change from draw to draw: the light each step would bring, the sky's part.
  const SunBins where = bins_of(sun, kBin_deg);
  std::vector<Sources::Bin> open(where.count);
  std::vector<float> season_kwh(sun.steps.size());
  for (size_t i = 0; i < sun.steps.size(); ++i) {
    const SunStep& step = sun.steps[i];
    const double kwh = light.sky()[i].sun_normal * sun.step_h / 1000;
    Sources::Bin& bin = open[where.of_step[i]];
    bin.east += kwh * step.east;
    bin.north += kwh * step.north;
    bin.up += kwh * step.up;
    if (season_months >> step.month & 1) season_kwh[i] = static_cast<float>(kwh);
  }
  std::vector<float> bed_sun;
  std::vector<double> bed_rest;
  light.bed_parts(settings.bed, glazing, bed_sun, bed_rest);
  const Sources without_sun(light);
  const Sources::Passed passed(glazing);
  const bool leafy = light.masks().has_leafy;
  // Light through leaves by step, from the trees as sighted.
  std::vector<float> leaf(sun.steps.size());
  if (leafy)
    for (size_t i = 0; i < sun.steps.size(); ++i) {
      const SunNode& node = sun.nodes[sun.steps[i].node];
      const int tree = light.masks().all.piece_at(node.azimuth_deg).obstacle;
      if (tree >= 0 && skyline.obstacles[tree].kind == Kind::leafy)
        leaf[i] = static_cast<float>(
            light_through(skyline.obstacles[tree].foliage, sun.steps[i].month + 1, southern));
    }

  // What a draw needs while it is worked out.
  struct Desk {
    Sources sources;
    std::vector<float> shares, solid_shares;
    std::vector<double> hours, bed;
    std::vector<Sources::Bin> bins;
  };
  const auto site_under = [&](const Skyline& under, Desk& desk) {
    auto& [sources, shares, solid_shares, hours, bed, bins] = desk;
    DrawnSite site;
    const Masks masks = masks_of(under);
    fast.view(masks.all, shares);
    if (leafy) fast.view(masks.solid, solid_shares);
    hours.assign(sun.days(), 0);
    bed = bed_rest;
    bins = open;
    for (size_t i = 0; i < sun.steps.size(); ++i) {
      float share = shares[i];
      if (share == 0 && !leafy) continue;
      const int day = sun.steps[i].day;
      hours[day] += share * sun.step_h;
      if (leafy) share += std::max(0.0f, solid_shares[i] - share) * leaf[i];
      bed[day] += share * bed_sun[i];
      bins[where.of_step[i]].kwh_m2[season] += share * season_kwh[i];
    }
    for (int m = 0; m < 12; ++m) {
      for (int d = sun.month_begins[m]; d < sun.month_begins[m + 1]; ++d)
        site.months_h[m] += hours[d];
      site.year_h += site.months_h[m];
      if (settings.winter_months >> m & 1) site.winter_h += site.months_h[m];
    }
    site.shortest_day_h = hours[settings.shortest_day - 1];
    for (double& day : hours) day = -day;
    site.without_sun = spells_at_or_above(hours, -std::nextafter(kDayWithSun_h, 0.0));
    for (const CropNeed& need : settings.needs)
      site.in_need.push_back(seasons_of(
          spells_at_or_above(bed, need.mol_m2_day / settings.bed_factor, settings.bed_window_days),
          sun.days()));
    sources.clear_sun();
    sources.add_bins(bins);
    // A valley can have two good ways to face: look round at the steepness found before.
    Plane start = settings.start;
    double most = sources.gain(start, passed, settings.season);
    for (int turn = 20; turn < 360; turn += 20) {
      const Plane plane{settings.start.facing.turned_by(turn), start.tilt_deg};
      const double kwh = sources.gain(plane, passed, settings.season);
      if (kwh > most) {
        most = kwh;
        start = plane;
      }
    }
    site.best = climb(sources, passed, settings.season, start).plane;
    return site;
  };

  Draws result;
  {
    Desk desk{without_sun, {}, {}, {}, {}, {}};
    result.centre = site_under(skyline, desk);
  }
  const PlausibleLines lines(skyline, settings.eye_height_sigma_m, settings.draws, settings.seed);
  result.draws.resize(static_cast<size_t>(settings.draws));
  constexpr int kAtADesk = 10;
  in_parallel((settings.draws + kAtADesk - 1) / kAtADesk, [&](int part) {
    Desk desk{without_sun, {}, {}, {}, {}, {}};
    const int to = std::min(settings.draws, (part + 1) * kAtADesk);
    for (int d = part * kAtADesk; d < to; ++d)
      result.draws[static_cast<size_t>(d)] = site_under(lines.draw(d), desk);
  });
  return result;
}

double end_of_range(std::vector<double> values, double share) {
  if (values.size() < 2) return quantile(std::move(values), share);
  const double n = static_cast<double>(values.size());
  return quantile(std::move(values), std::clamp((share * (n + 1) - 1) / (n - 1), 0.0, 1.0));
}

double quantile(std::vector<double> values, double share) {
  if (values.empty()) return 0;
  const double at = share * static_cast<double>(values.size() - 1);
  const auto low = static_cast<size_t>(at);
  std::nth_element(values.begin(), values.begin() + static_cast<long>(low), values.end());
  const double a = values[low];
  if (low + 1 >= values.size()) return a;
  const double b = *std::min_element(values.begin() + static_cast<long>(low) + 1, values.end());
  return a + (at - static_cast<double>(low)) * (b - a);
}

}  // namespace horizon
