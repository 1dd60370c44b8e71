#include "survey/assess/progress.h"

#include <algorithm>

#include "horizon/skyline/mask.h"

namespace survey {

std::string_view name_of(Stop stop) {
  constexpr std::array<std::string_view, kStopCount> names = {"arrive", "skyline", "ground",
                                                              "light", "hand_over"};
  return names[static_cast<int>(stop)];
}

double StopProgress::done_share() const {
  if (tasks.empty()) return 0;
  double sum = 0;
  for (const Task& task : tasks) sum += task.part;
  return sum / static_cast<double>(tasks.size());
}

#define ADRET_ROWS(name, Row)                                       \
  const auto name##_result = book.all<Row>();                       \
  if (!name##_result) return tl::unexpected(name##_result.error()); \
  const auto& name = *name##_result

horizon::Result<std::array<StopProgress, kStopCount>> progress_of(const FieldBook& book,
                                                                  const StationSkyline* main) {
  ADRET_ROWS(visits, Visit);
  ADRET_ROWS(stations, Station);
  ADRET_ROWS(hazards, Hazard);
  ADRET_ROWS(pits, SoilPit);
  ADRET_ROWS(layers, SoilLayer);
  ADRET_ROWS(readings, PercolationReading);
  ADRET_ROWS(notes, SiteNote);
  ADRET_ROWS(climates, ClimateNormals);
  ADRET_ROWS(photos, Photo);
  ADRET_ROWS(findings, Finding);
  const auto design = book.design();
  if (!design) return tl::unexpected(design.error());
  StationSkyline own;
  if (!main && !stations.empty()) {
    const auto station = main_station(book);
    auto skyline = station ? station_skyline(book, station->id) : tl::unexpected(station.error());
    if (!skyline) return tl::unexpected(skyline.error());
    own = std::move(*skyline);
    main = &own;
  }
  auto topic = [&](Topic wanted) {
    return std::ranges::find(notes, wanted, &SiteNote::topic) != notes.end();
  };
  const bool placed = std::ranges::any_of(
      stations, [](const Station& s) { return s.position != Position{} && s.position.height_m; });
  const bool sighted = main && !main->skyline().points.empty();
  const horizon::Mask mask(sighted ? main->skyline() : horizon::Skyline{});
  const bool closed = sighted && mask.open_stretches().empty();
  const bool checked = main && std::ranges::any_of(main->instruments, [](const auto& instrument) {
                         return instrument.correction.used >= 2 && !instrument.correction.disputed;
                       });
  std::array<StopProgress, kStopCount> stops;
  stops[0] = {
      Stop::arrive,
      {{"task.visit", std::ranges::any_of(visits, [](auto& v) { return !v.people.empty(); })},
       {"task.weather", std::ranges::any_of(visits, [](auto& v) { return !v.weather.empty(); })},
       {"task.hazards",
        !hazards.empty() ||
            std::ranges::any_of(visits, [](auto& v) { return !v.hazards_seen.empty(); })},
       {"task.position", placed},
       {"task.heading_checks", checked}}};
  stops[1] = {Stop::skyline,
              {{"task.sightings", sighted},
               {"task.open_stretches", closed, sighted ? mask.closed_fraction() : 0},
               {"task.photos", !photos.empty()}}};
  stops[2] = {Stop::ground,
              {{"task.pit", !pits.empty() && !layers.empty()},
               {"task.percolation", readings.size() >= 2},
               {"task.water", topic(Topic::water)},
               {"task.wind", topic(Topic::wind)},
               {"task.access", topic(Topic::access)},
               {"task.services", topic(Topic::services)}}};
  stops[3] = {
      Stop::light,
      {{"task.climate", !climates.empty()},
       {"task.facing", design->facing_true_deg.has_value() && design->tilt_deg.has_value()}}};
  stops[4] = {Stop::hand_over,
              {{"task.findings", !findings.empty()},
               {"task.visit_ended", !visits.empty() && std::ranges::all_of(visits, [](auto& v) {
                  return v.ended.has_value();
                })}}};
  return stops;
}

#undef ADRET_ROWS

}  // namespace survey
