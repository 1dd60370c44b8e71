#include "horizon/light/findings.h"

#include <algorithm>
#include <cassert>
#include <cmath>

#include "horizon/light/plane_light.h"
#include "horizon/light/uncertainty.h"
#include "horizon/sun/sun.h"
#include "horizon/sun/sun_year.h"

namespace horizon {
namespace {

constexpr double kLow = 0.05, kHigh = 0.95;
constexpr double kPhotonsPerKwh = 3.6 * kPhotonsPerMegajoule;

bool southern(const Place& place) { return place.latitude_deg < 0; }

double sigma_of(const Ranged& range) { return (range.high - range.low) / (2 * 1.645); }

unsigned winter_months_of(const StationInput& input) {
  return input.winter_months ? input.winter_months : default_winter_months(southern(input.place));
}

Date shortest_day_of(const StationInput& input) {
  return std::chrono::year{input.year} / std::chrono::month{southern(input.place) ? 6u : 12u} / 21;
}

// An exact value with the spread of the draws laid round it.
template <class Get>
Ranged ranged(double value, const Draws& draws, Get get, double lowest = 0) {
  if (draws.draws.empty()) return {value, value, value};
  std::vector<double> offsets;
  const double centre = get(draws.centre);
  for (const DrawnSite& site : draws.draws) offsets.push_back(get(site) - centre);
  return {value, std::max(lowest, value + std::min(0.0, end_of_range(offsets, kLow))),
          std::max(lowest, value + std::max(0.0, end_of_range(offsets, kHigh)))};
}

struct EndRange {
  int from_low = 0, from_high = 0, to_low = 0, to_high = 0;
};

// 5-95 % of the ends of the spell that holds the middle of `spell`, over the draws that have one
// there; zeros where fewer than half do, or where it fills the year.
template <class Get>
EndRange end_range(const DaySpell& spell, int year_days, const Draws& draws, Get spells_of) {
  EndRange range;
  const int length = spell.days(year_days);
  if (draws.draws.empty() || length >= year_days) return range;
  const auto wrapped = [&](int day) { return (day - 1 + 2 * year_days) % year_days + 1; };
  const int middle = wrapped(spell.from_day + length / 2);
  const auto off = [&](int day, int from) {  // -half a year to half a year
    const int d = wrapped(day - from + 1) - 1;
    return d > year_days / 2 ? d - year_days : d;
  };
  std::vector<double> first, last;
  for (const DrawnSite& site : draws.draws)
    for (const DaySpell& other : spells_of(site)) {
      const int days = other.days(year_days);
      if (days >= year_days || wrapped(middle - other.from_day + 1) > days) continue;
      first.push_back(off(other.from_day, spell.from_day));
      last.push_back(off(other.to_day, spell.to_day));
    }
  if (first.size() * 2 < draws.draws.size()) return range;
  const auto day = [&](int from, const std::vector<double>& offsets, double share) {
    return wrapped(from + static_cast<int>(std::lround(end_of_range(offsets, share))));
  };
  return {day(spell.from_day, first, kLow), day(spell.from_day, first, kHigh),
          day(spell.to_day, last, kLow), day(spell.to_day, last, kHigh)};
}

// Length of each day on a flat horizon: the upper limb through 34' of refraction.
std::vector<double> day_lengths(const SunSteps& sun) {
  std::vector<double> highest(sun.days(), -2), sin_declination(sun.days());
  const double phi = sun.place.latitude_deg * kDegree;
  for (const SunStep& step : sun.steps)
    if (step.up > highest[step.day]) {
      highest[step.day] = step.up;
      sin_declination[step.day] = step.up * std::sin(phi) + step.north * std::cos(phi);
    }
  std::vector<double> hours(sun.days());
  for (int d = 0; d < sun.days(); ++d) {
    if (highest[d] < -1) continue;  // polar night
    const double s = sin_declination[d];
    const double c = (std::sin(kRiseSetElevation_deg * kDegree) - std::sin(phi) * s) /
                     (std::cos(phi) * std::sqrt(1 - s * s));
    hours[d] = std::acos(std::clamp(c, -1.0, 1.0)) / kDegree / 7.5;
  }
  return hours;
}

SunHours hours_of(const StationInput& input, const SunYear& year, const Draws& draws) {
  SunHours hours;
  hours.shortest_day = shortest_day_of(input);
  const int index = day_of_year(hours.shortest_day) - 1;
  const SunYearDay& shortest = year.days[index];
  for (const SunWindow& window : shortest.direct)
    hours.shortest_day_windows.push_back({window.from_utc_s, window.to_utc_s});
  hours.shortest_day_flat_h = shortest.hours.flat_h;
  hours.shortest_day_h =
      ranged(shortest.hours.direct_h, draws, [](const DrawnSite& s) { return s.shortest_day_h; });
  hours.winter_h =
      ranged(year.winter.direct_h, draws, [](const DrawnSite& s) { return s.winter_h; });
  hours.winter_flat_h = year.winter.flat_h;
  hours.winter_share = hours.winter_flat_h > 0 ? hours.winter_h.value / hours.winter_flat_h : 0;
  hours.winter_open_h = year.winter.open_h;
  if (!draws.draws.empty()) {
    double dark = 0;
    for (const DrawnSite& site : draws.draws) dark += !site.without_sun.empty();
    hours.without_sun_share = dark / static_cast<double>(draws.draws.size());
  } else {
    hours.without_sun_share = year.without_direct_sun.empty() ? 0 : 1;
  }
  hours.year_h = ranged(year.whole.direct_h, draws, [](const DrawnSite& s) { return s.year_h; });
  hours.year_flat_h = year.whole.flat_h;
  double winter_days = 0;
  const int days = static_cast<int>(year.days.size());
  for (const SunYearDay& day : year.days)
    winter_days += year.winter_months >> (static_cast<unsigned>(day.date.month()) - 1) & 1;
  for (double Ranged::*part : {&Ranged::value, &Ranged::low, &Ranged::high})
    hours.winter_h_a_day.*part = winter_days > 0 ? hours.winter_h.*part / winter_days : 0;
  for (const SunlessSpell& spell : year.without_direct_sun) {
    NoSunSpell out{spell.first, spell.last, 0, 0, 0, 0, spell.days};
    const DaySpell as_days{day_of_year(spell.first), day_of_year(spell.last)};
    const EndRange range =
        end_range(as_days, days, draws,
                  [](const DrawnSite& s) -> const std::vector<DaySpell>& { return s.without_sun; });
    out.first_low_day = range.from_low;
    out.first_high_day = range.from_high;
    out.last_low_day = range.to_low;
    out.last_high_day = range.to_high;
    hours.without_direct_sun.push_back(out);
  }
  return hours;
}

GrowingLight growing_of(const StationInput& input, const SiteLight& light,
                        const TransmittanceCurve& glazing, const Plane& plane, int window) {
  GrowingLight growing;
  const SunSteps& sun = light.sun();
  growing.daily_mol_m2 = light.bed_mol_m2(plane, glazing);
  for (double& day : growing.daily_mol_m2) day *= input.frames_and_dirt;
  for (int m = 0; m < 12; ++m) {
    const int days = sun.month_begins[m + 1] - sun.month_begins[m];
    for (int d = sun.month_begins[m]; d < sun.month_begins[m + 1]; ++d)
      growing.mol_m2_day[m] += growing.daily_mol_m2[d] / days;
    growing.outside_mol_m2_day[m] = light.open_kwh_m2()[m] * kPhotonsPerKwh / days;
  }
  for (const CropNeed& need : input.needs) {
    CropSeason season;
    season.need = need;
    season.spells = spells_at_or_above(growing.daily_mol_m2, need.mol_m2_day, window);
    for (const DaySpell& spell : season.spells) season.days += spell.days(sun.days());
    season.spells = seasons_of(std::move(season.spells), sun.days());
    growing.crops.push_back(season);
  }
  std::vector<double> shortness = day_lengths(sun);
  for (double& day : shortness) day = -day;
  growing.under_10_h = spells_at_or_above(shortness, std::nextafter(-10.0, 0.0));
  return growing;
}

Bearings bearings_of(const StationInput& input, TrueAzimuth facing) {
  Bearings bearings;
  bearings.true_deg = facing;
  // The compass's own error, as its checks have it, is in what it will show.
  if (input.declination_deg) {
    const double shown = facing.degrees() - input.compass_offset_deg.value_or(0);
    bearings.compass_deg = to_magnetic(TrueAzimuth::degrees(shown), *input.declination_deg);
    bearings.compass_checked = input.compass_offset_deg.has_value();
  }
  if (input.convergence_deg) bearings.grid_deg = to_grid(facing, *input.convergence_deg);
  return bearings;
}

// What each step's sun, unhidden, sends through the plane.
std::vector<float> beam_through(const SiteLight& light, const Plane& plane,
                                const TransmittanceCurve& glazing) {
  const SunSteps& sun = light.sun();
  std::vector<float> beam(sun.steps.size());
  for (size_t i = 0; i < beam.size(); ++i) {
    const SunStep& s = sun.steps[i];
    const double tilt = plane.tilt_deg * kDegree, facing = plane.facing.radians();
    const double c = std::sin(tilt) * (s.east * std::sin(facing) + s.north * std::cos(facing)) +
                     std::cos(tilt) * s.up;
    beam[i] = static_cast<float>(
        c > 0 ? light.sky()[i].sun_normal * c * glazing(c) * sun.step_h / 1000 : 0);
  }
  return beam;
}

std::string source_of(const SkyInput& sky) {
  if (sky.source == SkySource::normals) return sky.normals->source;
  if (sky.source != SkySource::weather) return {};
  const WeatherYear& weather = *sky.weather;
  return weather.source.empty() ? weather.station : weather.station + ", " + weather.source;
}

}  // namespace

Result<void> check_station(const StationInput& input) {
  const auto bad = [](const char* key, const char* where) {
    return fail(Code::bad_input, key, where);
  };
  const Place& place = input.place;
  if (!(std::abs(place.latitude_deg) <= 90)) return bad("error.latitude_range", "latitude");
  if (!(std::abs(place.longitude_deg) <= 360)) return bad("error.longitude_range", "longitude");
  if (!(place.height_m >= -500 && place.height_m <= 9000))
    return bad("error.height_range", "height");
  if (!(std::abs(input.utc_offset_h) <= 14)) return bad("error.utc_offset_range", "UTC offset");
  if (auto ok = check_sun_year(input.year); !ok) return ok;
  for (const SkylinePoint& p : input.skyline.points) {
    if (p.obstacle < 0 || p.obstacle >= static_cast<int>(input.skyline.obstacles.size()))
      return bad("error.mark_obstacle_unknown", "skyline");
    if (!p.azimuth.finite() || !(std::abs(p.elevation.degrees()) <= 90))
      return bad("error.mark_out_of_range", "skyline");
    if (!(p.azimuth_sigma_deg >= 0) || !(p.elevation_sigma_deg >= 0))
      return bad("error.uncertainty_negative", "skyline");
  }
  if (!(input.skyline.heading_sigma_deg >= 0) || !(input.eye_height_sigma_m >= 0))
    return bad("error.uncertainty_negative", "heading or eye height");
  if (!(input.slope.slope_deg >= 0 && input.slope.slope_deg < 80) || !input.slope.downhill.finite())
    return bad("error.slope_range", "slope");
  for (double albedo : input.albedo)
    if (!(albedo >= 0 && albedo <= 1)) return bad("error.albedo_range", "albedo");
  if (!(input.skyline_albedo >= 0 && input.skyline_albedo <= 1))
    return bad("error.albedo_range", "albedo of the skyline");
  if (!(input.frames_and_dirt > 0 && input.frames_and_dirt <= 1))
    return bad("error.frames_share_range", "frames");
  const Glazing& g = input.glazing;
  if (g.sheets < 0 || g.sheets > 5) return bad("error.glazing_sheets_range", "glazing");
  if (g.sheets > 0 && !(g.refractive_index >= 1 && g.refractive_index <= 3))
    return bad("error.refractive_index_range", "glazing");
  if (!(g.extinction_per_m >= 0 && g.sheet_thickness_m >= 0 && g.sheet_thickness_m < 0.1))
    return bad("error.glazing_sheet_range", "glazing");
  if (g.normal_transmittance && !(*g.normal_transmittance > 0 && *g.normal_transmittance <= 1))
    return bad("error.transmittance_range", "glazing");
  if (input.chosen && (!input.chosen->facing.finite() || !(input.chosen->tilt_deg >= 0) ||
                       !(input.chosen->tilt_deg <= 90)))
    return bad("error.tilt_range", "chosen plane");
  if (input.winter_months > 0xFFF) return bad("error.winter_months_bits", "winter months");
  for (const CropNeed& need : input.needs)
    if (!(need.mol_m2_day > 0 && need.mol_m2_day < 100))
      return bad("error.crop_need_range", "crop needs");
  if (input.draws < 0 || input.draws > 20000) return bad("error.draws_range", "draws");
  return check_sky(input.sky, place);
}

StationFindings findings_of(const StationInput& input) {
  assert(check_station(input));
  StationFindings out;
  const int window = input.sky.source == SkySource::weather ? 15 : 1;
  const bool south = southern(input.place);
  out.sky = input.sky.source;
  out.sky_source = source_of(input.sky);
  out.winter_months = winter_months_of(input);
  out.season = input.season;
  out.draws = input.draws;

  const SunPath path = SunPath::of_year(input.place, input.year, input.utc_offset_h);
  const SunSteps sun = sun_steps(input.place, input.year, input.utc_offset_h);
  const std::vector<SkyStep> sky = sky_steps(sun, input.sky);
  const Masks masks = masks_of(input.skyline);
  const SunYear year = sun_year(path, masks, input.skyline.obstacles, out.winter_months);
  out.closed_fraction = masks.all.closed_fraction();
  out.headings_disagree = input.skyline.headings_disagree;
  const SiteLight light(sun, sky, input.skyline, masks, input.slope, input.albedo,
                        input.skyline_albedo);
  const TransmittanceCurve glazing(input.glazing);

  out.facings = facings_of(light, glazing, input.chosen);
  {
    const Skyline nothing;
    const SiteLight open(sun, sky, nothing, Masks{}, input.slope, input.albedo,
                         input.skyline_albedo);
    Sources sources(open);
    sources.add_sun(open, open.seen().light);
    const Sources::Passed passed(glazing);
    const Plane start{TrueAzimuth::degrees(south ? 0 : 180), 55};
    for (FacingFinding& found : out.facings)
      found.open_best_kwh_m2 = climb(sources, passed, found.season, start).kwh_m2;
  }
  const Plane best = out.facing().best.plane;
  out.shown = input.chosen.value_or(best);
  out.set_out = bearings_of(input, out.shown.facing);

  Draws draws;
  if (input.draws > 0) {
    DrawSettings settings;
    settings.draws = input.draws;
    settings.seed = input.seed;
    settings.eye_height_sigma_m = input.eye_height_sigma_m;
    settings.winter_months = out.winter_months;
    settings.shortest_day = day_of_year(shortest_day_of(input));
    settings.season = input.season;
    settings.start = best;
    settings.bed = out.shown;
    settings.bed_factor = input.frames_and_dirt;
    settings.bed_window_days = window;
    settings.needs = input.needs;
    draws = draw_sites(light, input.skyline, glazing, settings);
  }

  out.hours = hours_of(input, year, draws);
  for (const SunStep& step : sun.steps) {
    if (!(out.winter_months >> step.month & 1)) continue;
    const SunNode &a = sun.nodes[step.node], &b = sun.nodes[step.node + 1];
    const double middle = a.azimuth_deg + wrap_180(b.azimuth_deg - a.azimuth_deg) / 2;
    if (masks.all.piece_at(middle).open)
      out.hours.winter_unaimed_h += share_above(a.seen_deg, b.seen_deg) * sun.step_h;
  }
  const auto turn = [&](const DrawnSite& site) {
    return clockwise_deg(draws.centre.best.facing, site.best.facing);
  };
  // Not finer than the best plane is found.
  const double search_deg = draws.draws.empty() ? 0 : kPlaneSearch_deg;
  const Ranged turned = ranged(0, draws, turn, -180);
  out.best_facing = {best.facing, best.facing.turned_by(std::max(-180.0, turned.low - search_deg)),
                     best.facing.turned_by(std::min(180.0, turned.high + search_deg))};
  out.best_tilt_deg =
      ranged(best.tilt_deg, draws, [](const DrawnSite& s) { return s.best.tilt_deg; });
  out.best_tilt_deg.low = std::max(0.0, out.best_tilt_deg.low - search_deg);
  out.best_tilt_deg.high = std::min(90.0, out.best_tilt_deg.high + search_deg);

  out.growing = growing_of(input, light, glazing, out.shown, window);
  out.years = light_years(input, out.shown);
  for (size_t c = 0; c < out.growing.crops.size(); ++c) {
    CropSeason& crop = out.growing.crops[c];
    const DaySpell* spell = longest(crop.spells, sun.days());
    if (!spell) continue;
    const EndRange range =
        end_range(*spell, sun.days(), draws,
                  [&](const DrawnSite& s) -> const std::vector<DaySpell>& { return s.in_need[c]; });
    crop.from_low_day = range.from_low;
    crop.from_high_day = range.from_high;
    crop.to_low_day = range.to_low;
    crop.to_high_day = range.to_high;
  }

  const std::array<PlaneMonth, 12> plane = light.months(out.shown, glazing);
  for (int m = 0; m < 12; ++m) {
    MonthLight& month = out.months[m];
    month.month = m + 1;
    month.days = sun.month_begins[m + 1] - sun.month_begins[m];
    month.direct_sun_h =
        ranged(year.months[m].direct_h, draws, [m](const DrawnSite& s) { return s.months_h[m]; });
    month.flat_sun_h = year.months[m].flat_h;
    month.open_flat_kwh_m2 = light.open_kwh_m2()[m];
    month.site_flat_kwh_m2 = light.level_kwh_m2()[m];
    month.on_plane_kwh_m2 = plane[m].on_plane_kwh_m2();
    month.beam_kwh_m2 = plane[m].beam_kwh_m2;
    month.sky_kwh_m2 = plane[m].sky_kwh_m2;
    month.reflected_kwh_m2 = plane[m].reflected_kwh_m2;
    month.through_kwh_m2 = plane[m].through_kwh_m2;
    month.inside_mol_m2_day = out.growing.mol_m2_day[m];
    month.outside_mol_m2_day = out.growing.outside_mol_m2_day[m];
    month.albedo = input.albedo[m];
  }
  out.ledger =
      ledger_of(sun, input.skyline, out.winter_months, beam_through(light, out.shown, glazing));
  AimNext next = aim_next(in_months(sun, out.winter_months), input.skyline, masks.all);
  if (out.draws > 0) next.fit_to(sigma_of(out.hours.winter_h));
  out.aim_next = std::move(next.advice);
  return out;
}

struct LiveStation::Impl {
  SunSteps winter, shortest;
  FastView winter_view, shortest_view;
  double winter_flat_h = 0, eye_height_sigma_m = 0;
  int shortest_day = 0;  // from 0

  Impl(SunSteps w, SunSteps s)
      : winter(std::move(w)),
        shortest(std::move(s)),
        winter_view(winter),
        shortest_view(shortest) {}
  double winter_h(const Mask& under, std::vector<float>& shares) const;
  double shortest_h(const Mask& under, std::vector<float>& shares) const;
  PlausibleLines lines(const Skyline& skyline, int draws) const;
};

LiveStation::LiveStation(const StationInput& input) {
  const SunSteps sun = sun_steps(input.place, input.year, input.utc_offset_h);
  const Date day = shortest_day_of(input);
  const unsigned month = static_cast<unsigned>(day.month());
  impl_ = std::make_unique<Impl>(in_months(sun, winter_months_of(input)),
                                 in_months(sun, 1u << (month - 1)));
  impl_->shortest_day = day_of_year(day) - 1;
  impl_->eye_height_sigma_m = input.eye_height_sigma_m;
  for (double hours : daily_flat_hours(impl_->winter)) impl_->winter_flat_h += hours;
}

LiveStation::LiveStation(LiveStation&&) noexcept = default;
LiveStation& LiveStation::operator=(LiveStation&&) noexcept = default;
LiveStation::~LiveStation() = default;

namespace {

Ranged range_of(double value, const std::vector<double>& drawn) {
  if (drawn.empty()) return {value, value, value};
  return {value, std::min(value, end_of_range(drawn, kLow)),
          std::max(value, end_of_range(drawn, kHigh))};
}

}  // namespace

double LiveStation::Impl::winter_h(const Mask& under, std::vector<float>& shares) const {
  winter_view.view(under, shares);
  double hours = 0;
  for (float share : shares) hours += share * winter.step_h;
  return hours;
}

double LiveStation::Impl::shortest_h(const Mask& under, std::vector<float>& shares) const {
  shortest_view.view(under, shares);
  return daily_hours(shortest, shares)[shortest_day];
}

PlausibleLines LiveStation::Impl::lines(const Skyline& skyline, int draws) const {
  return {draws > 0 ? skyline : Skyline{}, eye_height_sigma_m, draws, 1};
}

Ranged LiveStation::shortest_day_h(const Skyline& skyline, int draws) const {
  std::vector<float> shares;
  std::vector<double> days;
  const PlausibleLines lines = impl_->lines(skyline, draws);
  for (int d = 0; d < draws; ++d) days.push_back(impl_->shortest_h(Mask(lines.draw(d)), shares));
  return range_of(impl_->shortest_h(Mask(skyline), shares), days);
}

LiveStation::Live LiveStation::update(const Skyline& skyline, int draws) const {
  Live live;
  const Mask mask(skyline);
  std::vector<float> shares;
  live.winter_h = impl_->winter_h(mask, shares);
  live.shortest_day_h = impl_->shortest_h(mask, shares);
  std::vector<double> winters, days;
  const PlausibleLines lines = impl_->lines(skyline, draws);
  for (int d = 0; d < draws; ++d) {
    const Mask drawn(lines.draw(d));
    winters.push_back(impl_->winter_h(drawn, shares));
    days.push_back(impl_->shortest_h(drawn, shares));
  }
  live.winter_range_h = range_of(live.winter_h, winters);
  live.shortest_range_h = range_of(live.shortest_day_h, days);
  live.winter_flat_h = impl_->winter_flat_h;
  live.closed_fraction = mask.closed_fraction();
  AimNext next = aim_next(impl_->winter, skyline, mask);
  if (draws > 0) next.fit_to(sigma_of(live.winter_range_h));
  live.winter_sigma_h = next.sigma_h;
  live.aim_next = std::move(next.advice);
  return live;
}

}  // namespace horizon
