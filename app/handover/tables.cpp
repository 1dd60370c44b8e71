#include "app/handover/tables.h"

#include <algorithm>
#include <charconv>
#include <cmath>

#include "app/words/words.h"
#include "survey/book/text.h"

namespace app {
namespace {

using horizon::kDegree;

std::string cell(double value, int decimals) {
  char text[400];  // the largest number there is, written out
  return {text, std::to_chars(text, text + sizeof text, value == 0 ? 0.0 : value,
                              std::chars_format::fixed, decimals)
                    .ptr};
}

std::string quoted(const std::string& text) { return survey::csv_field(survey::csv_text(text)); }

std::string kind_of(const horizon::Skyline& skyline, const horizon::MaskPiece& piece) {
  if (piece.open || piece.obstacle < 0) return "open";
  return std::string(horizon::name_of(skyline.obstacles[piece.obstacle].kind));
}
std::string label_of(const horizon::Skyline& skyline, const horizon::MaskPiece& piece) {
  return piece.obstacle < 0 ? "" : skyline.obstacles[piece.obstacle].label;
}

horizon::SunSight sight_at(const StationReport& station, double utc_s) {
  return horizon::sun_sight(*station.path, station.masks, station.skyline().obstacles, utc_s);
}

// The middles of the hours of the local year.
template <class Each>
void each_hour(const StationReport& station, Each&& each) {
  const auto& path = *station.path;
  for (int hour = 0; hour < path.days() * 24; ++hour) {
    each(hour, path.day_start_utc_s(0) + hour * 3600.0 + 1800.0);
  }
}

}  // namespace

std::string mask_csv(const StationReport& station) {
  std::string out = "azimuth_true_deg,elevation_deg,kind,label\r\n";
  const auto& mask = station.masks.all;
  for (int azimuth = 0; azimuth < 360; ++azimuth) {
    const auto& piece = mask.piece_at(azimuth);
    out += std::to_string(azimuth) + "," + cell(piece.elevation_deg(azimuth), 4) + "," +
           kind_of(station.skyline(), piece) + "," + quoted(label_of(station.skyline(), piece)) +
           "\r\n";
  }
  return out;
}

std::string breakpoints_csv(const StationReport& station) {
  std::string out =
      "from_azimuth_true_deg,to_azimuth_true_deg,from_elevation_deg,to_elevation_deg,edge,kind,"
      "label\r\n";
  for (const auto& piece : station.masks.all.pieces()) {
    out += cell(piece.from_deg, 9) + "," + cell(piece.to_deg, 9) + "," +
           cell(piece.from_el_deg, 9) + "," + cell(piece.to_el_deg, 9) + "," +
           (piece.edge == horizon::Edge::great_circle ? "great_circle" : "straight") + "," +
           kind_of(station.skyline(), piece) + "," + quoted(label_of(station.skyline(), piece)) +
           "\r\n";
  }
  return out;
}

std::string sun_hours_csv(const StationReport& station) {
  std::string out =
      "utc,local_standard_time,azimuth_true_deg,elevation_apparent_deg,direct_sun_h,beam_share,"
      "disc_in_view,hidden_by,over_open_stretch\r\n";
  // Of the whole hour, so that sums agree with the report; the rest is of its middle.
  const horizon::SunWindows windows = horizon::windows_above(*station.path, station.masks.all);
  std::size_t at = 0;
  const double offset = station.path->utc_offset_h();
  each_hour(station, [&](int, double utc_s) {
    const auto sight = sight_at(station, utc_s);
    const double from = utc_s - 1800, to = utc_s + 1800;
    while (at < windows.size() && windows[at].to_utc_s <= from) ++at;
    double direct_h = 0;
    for (std::size_t w = at; w < windows.size() && windows[w].from_utc_s < to; ++w)
      direct_h +=
          (std::min(to, windows[w].to_utc_s) - std::max(from, windows[w].from_utc_s)) / 3600;
    if (sight.sight == horizon::SightOfSun::below_horizon && direct_h <= 0) return;
    const bool in_view = sight.sight == horizon::SightOfSun::in_view;
    const std::string hidden = in_view ? ""
                               : sight.obstacle >= 0
                                   ? station.skyline().obstacles[sight.obstacle].label
                                   : "open";
    out += horizon::format_utc(utc_s) + "," +
           horizon::format_date(horizon::date_of(utc_s, offset)) + " " +
           horizon::format_clock(utc_s, offset) + "," + cell(sight.azimuth_deg, 4) + "," +
           cell(sight.elevation_deg, 4) + "," + cell(direct_h, 4) + "," + cell(sight.light, 4) +
           "," + cell(sight.disc_in_view, 4) + "," + quoted(hidden) + "," +
           (sight.open ? "1" : "0") + "\r\n";
  });
  return out;
}

std::string sun_vectors_csv(const StationReport& station) {
  std::string out = "hour_of_year,utc,east,north,up,beam_share\r\n";
  each_hour(station, [&](int hour, double utc_s) {
    const auto sight = sight_at(station, utc_s);
    if (sight.sight == horizon::SightOfSun::below_horizon) return;
    const double el = sight.elevation_deg * kDegree, az = sight.azimuth_deg * kDegree;
    out += std::to_string(hour + 1) + "," + horizon::format_utc(utc_s) + "," +
           cell(std::cos(el) * std::sin(az), 6) + "," + cell(std::cos(el) * std::cos(az), 6) + "," +
           cell(std::sin(el), 6) + "," + cell(sight.light, 4) + "\r\n";
  });
  return out;
}

std::string package_readme(const SiteReport& site, const PackageFacts& facts,
                           const std::vector<PackageFile>& files) {
  std::string out =
      site.site().name + "\n\n" + tr("package.intro", {facts.software, facts.made_utc}) + "\n\n";
  for (const auto& file : files) out += file.name + "\n    " + file.about + "\n\n";
  for (int i = 1; has_words("package.words." + std::to_string(i)); ++i) {
    out += tr("package.words." + std::to_string(i)) + "\n";
  }
  return out;
}

}  // namespace app
