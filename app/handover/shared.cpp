#include <algorithm>
#include <cmath>

#include "app/handover/sections.h"
#include "app/words/sentence.h"
#include "app/words/words.h"
#include "horizon/angle.h"
#include "survey/book/text.h"

namespace app {

SkylineChart skyline_chart_of(const ReportContext& context, std::size_t station) {
  const StationReport& one = context.site.stations[station];
  SkylineChart chart;
  chart.skyline = &one.skyline();
  chart.mask = &one.masks.all;
  chart.paths = context.site.stations[station].day_paths;
  chart.center_deg = one.input.place.latitude_deg < 0 ? 0 : 180;
  return chart;
}

std::string ranged(const horizon::Ranged& value, int decimals, const std::string& unit) {
  if (!(value.high > value.low)) return "";
  return number(value.low, decimals) + "–" + number(value.high, decimals) + "\u00A0" + unit;
}

std::string off_south(double facing_deg, bool southern) {
  const double off = horizon::wrap_180(facing_deg - (southern ? 0 : 180));
  const char* middle = southern ? "north" : "south";
  if (std::abs(off) < 0.5) return tr(std::string("report.due_") + middle);
  // In the north, a facing of less than 180 lies east of south; in the south the other way round.
  const bool east = southern ? off > 0 : off < 0;
  return tr(std::string(east ? "report.east_of_" : "report.west_of_") + middle,
            {degrees(std::abs(off))});
}

std::string windows_in_words(const std::vector<horizon::DayWindow>& windows, double utc_offset_h) {
  std::string words;
  for (std::size_t i = 0; i < windows.size(); ++i) {
    if (i > 0) words += i + 1 == windows.size() ? " " + tr("report.and") + " " : ", ";
    words += horizon::format_clock(windows[i].from_utc_s, utc_offset_h) + "–" +
             horizon::format_clock(windows[i].to_utc_s, utc_offset_h);
  }
  return words;
}

std::string day_of_year_in_words(int day, int year) {
  const int days = horizon::days_in_year(year);
  return day_month(horizon::date_of_day(year, std::clamp(day, 1, days)));
}

std::string days_in_words(int low, int high, int year) {
  const std::string from = day_of_year_in_words(low, year);
  return low == high ? from : from + " – " + day_of_year_in_words(high, year);
}

std::string spell_in_words(const horizon::DaySpell& spell, int year) {
  return day_of_year_in_words(spell.from_day, year) + " – " +
         day_of_year_in_words(spell.to_day, year);
}

std::string soil_in_words(const PitReport& pit, Units units) {
  std::string words;
  for (const auto& layer : pit.layers) {
    add_listed(words,
               depth(layer.top_m, units) + "–" + depth(layer.bottom_m, units) + " " +
                   (layer.texture.empty() ? tr("report.layer") : tr_of("texture", layer.texture)));
  }
  if (pit.pit.rock_m) add_clause(words, tr("report.rock_at", {depth(*pit.pit.rock_m, units)}));
  return words;
}

std::string height_of(const StationReport& station, Units units) {
  if (!station.input.height_known) return tr("report.height_unknown");
  return height(station.derived.station.position.height_m.value_or(station.input.place.height_m),
                units);
}

int winter_days(const StationReport& station) {
  int days = 0;
  for (const auto& month : station.findings.months) {
    if (station.findings.winter_months >> (month.month - 1) & 1) days += month.days;
  }
  return std::max(days, 1);
}

namespace {
bool disputed(const StationReport& station) {
  return station.findings.headings_disagree ||
         std::ranges::any_of(station.derived.instruments,
                             [](const auto& i) { return i.correction.disputed; });
}
}  // namespace

std::string doubt_of_headings(const SiteReport& site) {
  std::string names;
  for (const auto& station : site.stations)
    if (disputed(station)) add_listed(names, station.name());
  return names.empty() ? names : tr("report.doubt.disputed", {names});
}

std::vector<std::string> doubts(const ReportContext& context) {
  std::vector<std::string> out;
  const StationReport& main = context.site.stations[best_station(context.site)];
  const auto& findings = main.findings;
  if (findings.sky == horizon::SkySource::clear) {
    out.push_back(tr("report.doubt.clear_sky"));
  } else {
    out.push_back(tr("report.doubt.typical", {findings.sky_source}));
  }
  if (const std::string headings = doubt_of_headings(context.site); !headings.empty())
    out.insert(out.begin(), headings);
  for (const auto& note : main.derived.notes)
    if (note.key == "error.site_clock_off") out.insert(out.begin(), words_of(note));
  if (findings.hours.winter_unaimed_h > 0.5) {
    out.push_back(tr("report.doubt.unaimed", {number(findings.hours.winter_unaimed_h),
                                              number(findings.hours.winter_flat_h)}));
  }
  for (const auto& station : context.site.stations) {
    // One line a station; stretches that only a single mark parts are told as one.
    std::string ranges;
    bool parted = false;
    const auto open = station.masks.all.open_stretches();
    for (std::size_t i = 0; i < open.size(); ++i) {
      const double from_deg = open[i].from_deg;
      while (i + 1 < open.size() && open[i + 1].from_deg - open[i].to_deg < 1) ++i, parted = true;
      add_listed(ranges, degree_range(from_deg, open[i].to_deg));
    }
    if (open.size() == 1 && open.front().width_deg() > 359)
      out.push_back(tr("report.doubt.all_open", {station.name()}));
    else if (!open.empty())
      out.push_back(
          tr(parted ? "report.doubt.open" : "report.doubt.open_whole", {station.name(), ranges}));
    const bool checked = std::ranges::any_of(station.derived.instruments,
                                             [](const auto& i) { return i.correction.used > 0; });
    if (!checked && !disputed(station))
      out.push_back(tr("report.doubt.unchecked", {station.name()}));
    const auto unplaced = static_cast<long>(station.derived.result.unplaced.size());
    if (unplaced > 0) out.push_back(tr_count("report.doubt.unplaced", unplaced, {station.name()}));
  }
  if (!findings.aim_next.empty()) {
    const auto& advice = findings.aim_next.front();
    if (advice.error_h / winter_days(main) > 1.0 / 60) {
      out.push_back(tr("report.doubt.aim", {degree_range(advice.from_deg, advice.to_deg),
                                            hours_minutes(advice.error_h / winter_days(main))}));
    }
  }
  for (const auto& words : context.site.left_out) out.push_back(words);
  return out;
}

SoilProfileChart soil_chart_of(const PitReport& pit, Units units) {
  SoilProfileChart chart;
  chart.water_m = pit.pit.water_m;
  chart.ended_on_rock = pit.pit.rock_m.has_value();
  for (const auto& layer : pit.layers) {
    SoilLayer drawn;
    drawn.from_m = layer.top_m;
    drawn.to_m = layer.bottom_m;
    drawn.name = layer.texture.empty() ? tr("report.layer") : tr_of("texture", layer.texture);
    const auto add = [&](const std::string& words) {
      if (words.empty()) return;
      if (!drawn.notes.empty()) drawn.notes += ", ";
      drawn.notes += words;
    };
    for (const auto& words : {layer.colour, layer.structure, layer.moisture, layer.consistence,
                              layer.roots, layer.mottles}) {
      add(words);
    }
    if (layer.coarse_percent) {
      add(tr("report.stones", {number(*layer.coarse_percent)}));
    }
    add(layer.note);
    const std::string text = survey::lower_ascii(layer.texture);
    const auto has = [&](const char* word) { return text.find(word) != std::string::npos; };
    // The last word of a class names the fine earth: "texture.sandy_loam" is a loam.
    drawn.fill = has("topsoil") || has("humus")  ? SoilFill::topsoil
                 : has("peat")                   ? SoilFill::peat
                 : has("rock")                   ? SoilFill::rock
                 : has("gravel") || has("stone") ? SoilFill::gravel
                 : has("loam")                   ? SoilFill::loam
                 : has("clay")                   ? SoilFill::clay
                 : has("silt")                   ? SoilFill::silt
                 : has("sand")                   ? SoilFill::sand
                                                 : SoilFill::other;
    if (layer.coarse_percent && *layer.coarse_percent >= 60) drawn.fill = SoilFill::gravel;
    chart.layers.push_back(std::move(drawn));
  }
  (void)units;
  return chart;
}

PlotMap plot_map_of(const ReportContext& context) {
  PlotMap map;
  const auto& origin = context.site.stations.front().derived.station.position;
  const double north_m = 111320.0;  // a degree of latitude: a sketch, no survey
  const double east_m = north_m * std::cos(origin.latitude_deg * horizon::kDegree);
  const auto place = [&](const survey::Position& p) {
    return std::pair{horizon::wrap_180(p.longitude_deg - origin.longitude_deg) * east_m,
                     (p.latitude_deg - origin.latitude_deg) * north_m};
  };
  const auto add = [&](const survey::Position& p, const std::string& label, PlotSign sign,
                       const std::string& value) {
    const auto [east, north] = place(p);
    if (std::hypot(east, north) > 2000) return;  // far summits would shrink the plot to a dot
    map.places.push_back({east, north, label, sign, value});
  };
  for (const auto& station : context.site.stations) {
    add(station.derived.station.position, station.name(), PlotSign::station,
        hours_decimal(station.findings.hours.winter_h_a_day.value));
  }
  for (const auto& pit : context.site.pits) {
    if (pit.pit.position) add(*pit.pit.position, pit.pit.name, PlotSign::pit, "");
  }
  for (const auto& note : context.site.notes) {
    if (note.topic == survey::Topic::water && note.position) {
      add(*note.position, tr("topic.water"), PlotSign::water, "");
    }
  }
  for (const auto& path : context.site.paths) {
    std::vector<Point> outline;
    for (const auto& point : path.points) {
      const auto [east, north] = place(point.position);
      if (std::hypot(east, north) > 2000) continue;
      outline.push_back({static_cast<float>(east), static_cast<float>(north)});
    }
    if (outline.size() > 1) map.outlines.push_back(std::move(outline));
  }
  map.facing_deg = context.site.stations.front().findings.shown.facing.degrees();
  return map;
}

}  // namespace app
