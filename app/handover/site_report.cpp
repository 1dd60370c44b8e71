#include "app/handover/site_report.h"

#include <algorithm>
#include <atomic>
#include <chrono>
#include <thread>

#include "app/handover/site_plan.h"
#include "app/words/sentence.h"
#include "app/words/words.h"
#include "horizon/parallel.h"
#include "survey/assess/house_input.h"

namespace app {
namespace {

using horizon::Result;

constexpr double kGlazingMiddle_m = 1;  // above the ground, as the map's

template <class Row>
Result<void> read(const survey::FieldBook& book, std::vector<Row>& into) {
  auto rows = book.all<Row>();
  if (!rows) return tl::unexpected(rows.error());
  into = std::move(*rows);
  return {};
}

template <class Row>
void by_time(std::vector<Row>& rows) {
  std::stable_sort(rows.begin(), rows.end(),
                   [](const Row& a, const Row& b) { return a.time.utc_s < b.time.utc_s; });
}

Result<void> read_ground(const survey::FieldBook& book, SiteReport& report) {
  std::vector<survey::SoilPit> pits;
  if (auto ok = read(book, pits); !ok) return ok;
  for (auto& pit : pits) {
    auto layers = book.where<survey::SoilLayer>("pit_id", pit.id);
    if (!layers) return tl::unexpected(layers.error());
    std::stable_sort(layers->begin(), layers->end(),
                     [](const auto& a, const auto& b) { return a.top_m < b.top_m; });
    report.pits.push_back({std::move(pit), std::move(*layers)});
  }
  std::vector<survey::PercolationTest> tests;
  if (auto ok = read(book, tests); !ok) return ok;
  for (auto& test : tests) {
    auto readings = book.where<survey::PercolationReading>("test_id", test.id);
    if (!readings) return tl::unexpected(readings.error());
    by_time(*readings);
    report.percolation.push_back({std::move(test), std::move(*readings)});
  }
  return {};
}

void house(StationReport& station, const survey::SiteSettings& settings,
           std::span<const survey::StationSkyline> others,
           std::span<const horizon::OtherSpot> spots, bool leads, int draws,
           const Cancelled& cancelled) {
  auto input = survey::house_input(settings, station.input, station.findings.best_facing.value,
                                   station.input.sky.weather, others, spots);
  if (!input) {
    station.house_missing = in_words(input.error());
    return;
  }
  input->preview = !leads;
  if (draws == 0) input->winters = 20;
  input->progress = [&](double) { return !cancelled || !cancelled(); };
  auto found = horizon::house_findings(*input);
  if (cancelled && cancelled()) return;
  if (found)
    station.house = std::move(*found);
  else
    station.house_missing = in_words(found.error());
}

// Once the stations are known; nothing of the plot is needed. `words`: the language's.
void houses_elsewhere(SiteReport& report, std::size_t leading, int draws, const std::string& words,
                      const Cancelled& cancelled) {
  horizon::in_parallel(static_cast<int>(report.stations.size()), [&](int i) {
    const InLanguage in(words);
    const auto at = static_cast<std::size_t>(i);
    if (at != leading) house(report.stations[at], report.settings, {}, {}, false, draws, cancelled);
  });
}

// The stations are other spots to the one that leads, and so is the plot's best place.
void leading_house(SiteReport& report, std::size_t leading, int draws, const std::string& words,
                   const Cancelled& cancelled) {
  const InLanguage in(words);
  std::vector<survey::StationSkyline> others;
  for (std::size_t i = 0; i < report.stations.size(); ++i)
    if (i != leading) others.push_back(report.stations[i].derived);
  std::vector<horizon::OtherSpot> spots;
  if (report.plot) spots = other_spots(*report.plot, kGlazingMiddle_m);
  house(report.stations[leading], report.settings, others, spots, true, draws, cancelled);
}

// Everything that follows from its marks.
void work_out(StationReport& station, int year) {
  station.findings = horizon::findings_of(station.input);
  station.masks = horizon::masks_of(station.skyline());
  station.path = std::make_shared<const horizon::SunPath>(
      horizon::SunPath::of_year(station.input.place, year, station.input.utc_offset_h));
  station.year = horizon::sun_year(*station.path, station.masks, station.skyline().obstacles,
                                   station.input.winter_months);
  station.day_paths = day_paths(*station.path);
  station.sun_year_chart = sun_year_chart(*station.path, station.masks, station.skyline());
}

// The ground and the plot, once the stations are known; what the plan is made from.
Result<std::optional<survey::PlotInput>> ground_and_plot(SiteReport& report,
                                                         const survey::FieldBook& book,
                                                         const survey::Assessment& site,
                                                         const horizon::WeatherYear* weather,
                                                         const Cancelled& cancelled) {
  survey::GroundOptions options{weather, {}, {}, &site};
  const horizon::Plane& plane = report.stations.front().findings.shown;
  options.facing = plane.facing;
  options.tilt_deg = plane.tilt_deg;
  auto ground = ground_findings(book, options);
  if (!ground) return tl::unexpected(ground.error());
  report.ground = std::move(*ground);
  auto plot = plot_input(book, report.ground, &site);
  if (!plot) return tl::unexpected(plot.error());
  if (plot->said) report.ground.missing.push_back({"ground.as_said", {in_words(*plot->said)}});
  report.weights = plot->weights;
  if (cancelled && cancelled()) return tl::unexpected(cancelled_error());
  if (auto found = plot_findings(*plot, survey::Ahead::places)) {
    report.plot = std::move(*found);
    return std::optional<survey::PlotInput>(std::move(*plot));
  } else {
    report.ground.missing.push_back(
        {"ground.missing.plot", {horizon::Sentence("ground.map"), found.error().sentence()}});
  }
  return std::optional<survey::PlotInput>();
}

}  // namespace

std::size_t best_station(const SiteReport& site) {
  std::size_t best = 0;
  for (std::size_t i = 1; i < site.stations.size(); ++i)
    if (site.stations[i].findings.hours.winter_h_a_day.value >
        site.stations[best].findings.hours.winter_h_a_day.value)
      best = i;
  return best;
}

const StationReport* SiteReport::station(const survey::Id& id) const {
  for (const auto& one : stations) {
    if (one.derived.station.id == id) return &one;
  }
  return nullptr;
}

Result<SiteReport> site_report(const survey::FieldBook& book, int draws, const Progress& progress,
                               const Cancelled& cancelled,
                               std::shared_ptr<const horizon::WeatherYear> weather) {
  SiteReport report;
  const auto site = survey::assess(book);
  if (!site) return tl::unexpected(site.error());
  report.settings = site->settings;
  if (const auto beyond = site->said()) report.left_out.push_back(in_words(*beyond));
  for (auto ok :
       {read(book, report.visits), read(book, report.notes), read(book, report.hazards),
        read(book, report.landmarks), read(book, report.photos), read(book, report.paths),
        read(book, report.people), read(book, report.obstacles), read_ground(book, report)}) {
    if (!ok) return tl::unexpected(ok.error());
  }
  by_time(report.photos);
  const int year = survey::sun_year_of(report.settings);
  if (auto ok = horizon::check_sun_year(year); !ok) return tl::unexpected(ok.error());
  for (const auto& derived : site->stations) {
    if (cancelled && cancelled()) return tl::unexpected(cancelled_error());
    const std::string name = derived.station.name;
    if (derived.skyline().points.empty()) {
      report.left_out.push_back(tr("report.station_without_aims", {name}));
      continue;
    }
    StationReport station;
    station.derived = derived;
    station.input = survey::station_input(report.settings, station.derived);
    station.input.draws = draws;
    if (weather) {
      station.input.sky.weather = weather;
      station.input.sky.source = horizon::SkySource::weather;
    }
    if (auto ok = horizon::check_station(station.input); !ok) {
      auto error = ok.error();
      error.where = name + (error.where.empty() ? "" : ", " + error.where);
      return tl::unexpected(error);
    }
    const auto& id = station.derived.station.id;
    auto checks = book.where<survey::HeadingCheckRow>("station_id", id);
    if (!checks) return tl::unexpected(checks.error());
    station.checks = std::move(*checks);
    report.stations.push_back(std::move(station));
  }
  if (report.stations.empty()) {
    return horizon::fail(horizon::Code::not_found, "error.no_station_with_sighting");
  }
  const auto caller = std::this_thread::get_id();
  std::atomic<int> done{0};
  horizon::in_parallel(static_cast<int>(report.stations.size()), [&](int i) {
    StationReport& station = report.stations[static_cast<std::size_t>(i)];
    if (progress && std::this_thread::get_id() == caller)
      progress(done / static_cast<double>(report.stations.size()) / 2, station.name());
    if (cancelled && cancelled()) return;
    work_out(station, year);
    ++done;
  });
  if (cancelled && cancelled()) return tl::unexpected(cancelled_error());
  if (progress) progress(0.5, report.site().name);
  // The field book stays on this thread.
  Result<std::optional<survey::PlotInput>> plot;
  const std::size_t leading = best_station(report);
  const std::string words(language());
  horizon::side_by_side(
      [&] { plot = ground_and_plot(report, book, *site, weather.get(), cancelled); },
      [&] { houses_elsewhere(report, leading, draws, words, cancelled); });
  if (!plot) return tl::unexpected(plot.error());
  horizon::side_by_side(
      [&] {
        if (*plot) report.plan = site_plan(report, **plot);
      },
      [&] { leading_house(report, leading, draws, words, cancelled); });
  if (cancelled && cancelled()) return tl::unexpected(cancelled_error());
  return report;
}

}  // namespace app
