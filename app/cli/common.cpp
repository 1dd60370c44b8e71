#include <cmath>
#include <cstdio>
#include <filesystem>

#include "app/cli/cli.h"
#include "app/words/sentence.h"
#include "survey/assess/site_clock.h"
#include "survey/book/durable.h"
#include "survey/book/text.h"
#include "survey/exchange/angle_text.h"
#include "survey/exchange/beside.h"
#include "survey/exchange/coordinates.h"

namespace app {

void stop(const horizon::Error& error) {
  const std::string where = words_of_place(error.where),
                    message = (where.empty() ? "" : where + ": ") + words_of(error);
  throw Stop{error.code == horizon::Code::failed ? 1 : 2, message};
}

void stop_bad_input(horizon::Sentence why, std::string where) {
  stop(horizon::Error{horizon::Code::bad_input, std::move(why), std::move(where)});
}

void tell(const std::string& file, const horizon::Error& error, const char* what) {
  const std::string where = words_of_place(error.where);
  std::fprintf(stderr, "adret-cli: %s: %s%s%s%s\n", file.c_str(), where.c_str(),
               where.empty() ? "" : ": ", what, words_of(error).c_str());
}

void tell_clock(const std::string& file, double utc_offset_h, double longitude_deg) {
  if (std::abs(survey::clock_from_sun_h(utc_offset_h, longitude_deg)) > survey::kClockFromSun_h)
    tell(file, {horizon::Code::bad_input, survey::site_clock_off(utc_offset_h, longitude_deg), {}},
         "note: ");
}

void refuse_empty_values(CLI::App& cli) {
  for (CLI::App* verb : cli.get_subcommands([](const CLI::App*) { return true; }))
    for (CLI::Option* option : verb->get_options()) {
      if (option->get_items_expected_max() == 0) continue;  // a flag
      const bool number = option->get_type_name().find("FLOAT") != std::string::npos;
      option->check(
          [number](const std::string& value) -> std::string {
            if (survey::trimmed(value).empty()) return words_of("error.option_empty");
            if (number &&
                survey::lower_ascii(value).find_first_not_of("+-nainfty") == std::string::npos)
              return words_of("error.option_not_finite");
            return {};
          },
          "");
    }
}

std::string weather_to_use(const std::string& given, const survey::FieldBook& book) {
  if (given == "none") return {};
  if (!given.empty()) return given;
  const std::string kept = survey::weather_beside(book);
  if (!kept.empty())
    tell(kept, {horizon::Code::bad_input, "error.weather_kept_beside", ""}, "note: ");
  return kept;
}

survey::FieldBook open_site(const std::string& path, survey::Access access, bool* remarked) {
  auto book = value_or_stop(survey::FieldBook::open(path, access));
  for (const auto& remark : book.remarks()) tell(path, remark, "");
  if (remarked) *remarked = !book.remarks().empty();
  return book;
}

void end_with(survey::FieldBook& book) {
  const std::string path = book.path();
  const auto closed = book.close();
  if (!closed)
    tell(path, closed.error(), "all is kept; closing: ");
  else if (closed->log_beside)
    tell(path, {horizon::Code::failed, "error.log_beside"}, "note: ");
}

void clear_folder_of(const std::string& file) {
  std::string folder = std::filesystem::path(file).parent_path().string();
  if (folder.empty()) folder = ".";
  for (const std::string& name : survey::clear_leftovers(folder))
    tell(folder, {horizon::Code::failed, "error.unfinished_removed", name}, "note: ");
}

namespace {

// Degrees as people write them, with the hemisphere's letter or a sign; anything else as it is.
std::string plain_degrees(std::string text, char positive, char negative) {
  double sign = 1;
  std::string_view angle = text;
  const auto letter = [&](char c) {
    c = static_cast<char>(std::toupper(static_cast<unsigned char>(c)));
    if (c != positive && c != negative) return false;
    if (c == negative) sign = -1;
    return true;
  };
  if (!angle.empty() && letter(angle.back()))
    angle.remove_suffix(1);
  else if (!angle.empty() && letter(angle.front()))
    angle.remove_prefix(1);
  const auto degrees = survey::angle_deg_of(angle);
  if (!degrees || (angle.size() < text.size() && *degrees < 0)) return text;
  char number[32];
  std::snprintf(number, sizeof number, "%.17g", sign * *degrees);
  return number;
}

}  // namespace

void add_place_options(CLI::App& verb, PlaceOptions& options) {
  options.place = {NAN, NAN, 0};
  auto* lat = verb.add_option("--lat", options.place.latitude_deg,
                              "Latitude: degrees, north positive, or as 46°37'16\"N")
                  ->transform([](const std::string& t) { return plain_degrees(t, 'N', 'S'); });
  auto* lon = verb.add_option("--lon", options.place.longitude_deg,
                              "Longitude: degrees, east positive, or as 10°20'52\"E")
                  ->transform([](const std::string& t) { return plain_degrees(t, 'E', 'W'); });
  auto* height =
      verb.add_option("--height-m", options.place.height_m, "Height above the sea in metres");
  auto* at = verb.add_option_function<std::string>(
      "--at",
      [&options, height](const std::string& text) {
        const survey::ReadPosition read = value_or_stop(survey::position_of(text));
        options.place.latitude_deg = read.place.latitude_deg;
        options.place.longitude_deg = read.place.longitude_deg;
        if (!read.has_height || height->count() > 0) return;  // what was typed beside it counts
        options.has_height = true;
        options.place.height_m = read.place.height_m;
      },
      "Position in any notation, such as \"32N 597000 5163000\" or \"EPSG:2056 2600000 1200000\"");
  at->excludes(lat)->excludes(lon);
  height->each([&options](const std::string&) { options.has_height = true; });
}

void check_place(const horizon::Place& place) {
  if (std::isnan(place.latitude_deg) && std::isnan(place.longitude_deg))
    stop_bad_input("error.place_needed", "place");
  if (!(std::abs(place.latitude_deg) <= 90)) stop_bad_input("error.latitude_range", "--lat");
  if (!(std::abs(place.longitude_deg) <= 360)) stop_bad_input("error.longitude_range", "--lon");
  if (!(place.height_m >= -500 && place.height_m <= 9000))
    stop_bad_input("error.height_range", "--height-m");
}

}  // namespace app
