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
  for (size_t i = 0; i < sun_.steps.size(); ++i) {
    const int node = sun_.steps[i].node;
    const float d0 = node == last ? d1 : over(table, node);
    d1 = over(table, node + 1);
    last = node + 1;
    shares[i] = share_of(d0, d1);
  }
}

namespace {

// A skyline as the sun meets it.
struct Outline {
  MaskTable all, solid;  // solid: what lets no light through
  explicit Outline(const Masks& masks)
      : all(masks.all), solid(masks.has_leafy ? MaskTable(masks.solid) : all) {}
};

// What the sun brings, added up.
struct Tally {
  std::vector<double> hours, bed;  // by day
  std::vector<Sources::Bin> bins;
};

// All that does not change from draw to draw: the light each step would bring, the sky's part.
class SiteDraws {
 public:
  SiteDraws(const SiteLight& light, const Skyline& skyline, const TransmittanceCurve& glazing,
            const DrawSettings& settings)
      : settings_(settings),
        sun_(light.sun()),
        fast_(sun_),
        season_(static_cast<int>(settings.season)),
        where_(bins_of(sun_, kBin_deg)),
        season_kwh_(sun_.steps.size()),
        without_sun_(light),
        passed_(glazing),
        leafy_(light.masks().has_leafy),
        leaf_(sun_.steps.size()) {
    without_sun_.remember_rest();
    const bool southern = sun_.place.latitude_deg < 0;
    const unsigned season_months = months_of(settings.season, southern);
    open_.hours.assign(sun_.days(), 0);
    open_.bins.resize(where_.count);
    for (size_t i = 0; i < sun_.steps.size(); ++i) {
      const SunStep& step = sun_.steps[i];
      const double kwh = light.sky()[i].sun_normal * sun_.step_h / 1000;
      Sources::Bin& bin = open_.bins[where_.of_step[i]];
      bin.east += kwh * step.east;
      bin.north += kwh * step.north;
      bin.up += kwh * step.up;
      if (season_months >> step.month & 1) season_kwh_[i] = static_cast<float>(kwh);
    }
    light.bed_parts(settings.bed, glazing, bed_sun_, open_.bed);
    // Light through leaves by step, from the trees as sighted.
    if (leafy_)
      for (size_t i = 0; i < sun_.steps.size(); ++i) {
        const SunNode& node = sun_.nodes[sun_.steps[i].node];
        const int tree = light.masks().all.piece_at(node.azimuth_deg).obstacle;
        if (tree >= 0 && skyline.obstacles[tree].kind == Kind::leafy)
          leaf_[i] = static_cast<float>(
              light_through(skyline.obstacles[tree].foliage, sun_.steps[i].month + 1, southern));
      }
  }

  // Each of the outlines' sites. A step that has the same sun under the lowest and the highest of
  // all outlines has it under each: it counts once for all.
  void under(std::span<const Outline> outlines, std::span<DrawnSite> sites) const {
    Outline low = outlines[0], high = low;
    for (const Outline& one : outlines) {
      low.all.lower_to(one.all);
      low.solid.lower_to(one.solid);
      high.all.raise_to(one.all);
      high.solid.raise_to(one.solid);
    }
    Tally sure = open_;
    std::vector<size_t> doubtful;
    for (size_t i = 0; i < sun_.steps.size(); ++i) {
      const bool same = fast_.share(low.all, i) == fast_.share(high.all, i) &&
                        (!leafy_ || fast_.share(low.solid, i) == fast_.share(high.solid, i));
      if (same)
        add(i, low, sure);
      else
        doubtful.push_back(i);
    }
    constexpr int kAtADesk = 10;
    const int count = static_cast<int>(outlines.size());
    in_parallel((count + kAtADesk - 1) / kAtADesk, [&](int part) {
      Sources sources = without_sun_;
      for (int d = part * kAtADesk; d < std::min(count, (part + 1) * kAtADesk); ++d) {
        Tally tally = sure;
        for (const size_t i : doubtful) add(i, outlines[static_cast<size_t>(d)], tally);
        sites[static_cast<size_t>(d)] = site_of(tally, sources);
      }
    });
  }

 private:
  void add(size_t i, const Outline& outline, Tally& to) const {
    float share = fast_.share(outline.all, i);
    if (share == 0 && !leafy_) return;
    const int day = sun_.steps[i].day;
    to.hours[day] += share * sun_.step_h;
    if (leafy_) share += std::max(0.0f, fast_.share(outline.solid, i) - share) * leaf_[i];
    to.bed[day] += share * bed_sun_[i];
    to.bins[where_.of_step[i]].kwh_m2[season_] += share * season_kwh_[i];
  }

  DrawnSite site_of(Tally& tally, Sources& sources) const {
    DrawnSite site;
    for (int m = 0; m < 12; ++m) {
      for (int d = sun_.month_begins[m]; d < sun_.month_begins[m + 1]; ++d)
        site.months_h[m] += tally.hours[d];
      site.year_h += site.months_h[m];
      if (settings_.winter_months >> m & 1) site.winter_h += site.months_h[m];
    }
    site.shortest_day_h = tally.hours[settings_.shortest_day - 1];
    for (double& day : tally.hours) day = -day;
    site.without_sun = spells_at_or_above(tally.hours, -std::nextafter(kDayWithSun_h, 0.0));
    for (const CropNeed& need : settings_.needs)
      site.in_need.push_back(
          seasons_of(spells_at_or_above(tally.bed, need.mol_m2_day / settings_.bed_factor,
                                        settings_.bed_window_days),
                     sun_.days()));
    sources.clear_sun();
    sources.add_bins(tally.bins);
    // A valley can have two good ways to face: look round at the steepness found before.
    Plane start = settings_.start;
    double most = sources.gain(start, passed_, settings_.season);
    for (int turn = 20; turn < 360; turn += 20) {
      const Plane plane{settings_.start.facing.turned_by(turn), start.tilt_deg};
      const double kwh = sources.gain(plane, passed_, settings_.season);
      if (kwh > most) {
        most = kwh;
        start = plane;
      }
    }
    site.best = climb(sources, passed_, settings_.season, start).plane;
    return site;
  }

  const DrawSettings& settings_;
  const SunSteps& sun_;
  FastView fast_;
  int season_;
  SunBins where_;
  std::vector<float> season_kwh_, bed_sun_;
  Tally open_;  // before any sun
  Sources without_sun_;
  Sources::Passed passed_;
  bool leafy_;
  std::vector<float> leaf_;
};

}  // namespace

Draws draw_sites(const SiteLight& light, const Skyline& skyline, const TransmittanceCurve& glazing,
                 const DrawSettings& settings) {
  const SiteDraws site(light, skyline, glazing, settings);
  Draws result;
  const Outline sighted(light.masks());
  site.under({&sighted, 1}, {&result.centre, 1});
  const PlausibleLines lines(skyline, settings.eye_height_sigma_m, settings.draws, settings.seed);
  result.draws.resize(static_cast<size_t>(settings.draws));
  constexpr int kTogether = 500;  // what memory allows
  for (int from = 0; from < settings.draws; from += kTogether) {
    const auto count = static_cast<size_t>(std::min(kTogether, settings.draws - from));
    std::vector<Outline> outlines(count, sighted);
    in_parallel(static_cast<int>(count), [&](int d) {
      outlines[static_cast<size_t>(d)] = Outline(masks_of(lines.draw(from + d)));
    });
    site.under(outlines, std::span(result.draws).subspan(static_cast<size_t>(from), count));
  }
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

ShareRange wilson_90(int hits, int of) {
  if (of <= 0) return {};
  constexpr double z = 1.6448536;  // 95 % of the normal distribution lie below
  const double n = of, p = hits / n, z2 = z * z / n;
  const double middle = (p + z2 / 2) / (1 + z2),
               half = z / (1 + z2) * std::sqrt(p * (1 - p) / n + z2 / (4 * n));
  return {std::max(0.0, middle - half), std::min(1.0, middle + half)};
}

}  // namespace horizon
