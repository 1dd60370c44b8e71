#include "survey/assess/assessment.h"

namespace survey {

horizon::Result<Assessment> assess(const FieldBook& book, std::string_view station) {
  auto settings = site_settings(book);
  if (!settings) return tl::unexpected(settings.error());
  std::size_t beyond = 0;
  auto stations = station_skylines(book, kMostStations, kStationsThen, station, &beyond);
  if (!stations) return tl::unexpected(stations.error());
  return Assessment{std::move(*settings), std::move(*stations), beyond};
}

std::optional<horizon::Error> Assessment::said() const {
  if (beyond == 0) return std::nullopt;
  const auto figure = [](std::size_t n) { return horizon::Arg::figure(static_cast<double>(n), 0); };
  return horizon::Error{horizon::Code::bad_input,
                        {"error.stations_beyond", {figure(stations.size()), figure(beyond)}},
                        settings.site.name};
}

std::optional<horizon::Plane> shown_plane(const Assessment& site,
                                          std::shared_ptr<const horizon::WeatherYear> weather) {
  for (const StationSkyline& station : site.stations) {
    if (station.skyline().points.empty()) continue;
    horizon::StationInput input = station_input(site.settings, station);
    input.draws = 0;
    if (weather) {
      input.sky.weather = weather;
      input.sky.source = horizon::SkySource::weather;
    }
    if (horizon::check_station(input)) return horizon::findings_of(input).shown;
  }
  return std::nullopt;
}

}  // namespace survey
