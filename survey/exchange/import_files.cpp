// Sightings tables, photographs, and the choice of the right reader.
#include <algorithm>
#include <array>
#include <cmath>
#include <filesystem>
#include <fstream>
#include <map>

#include "horizon/geodesy.h"
#include "horizon/time.h"
#include "survey/book/again.h"
#include "survey/book/merge.h"
#include "survey/book/photo_file.h"
#include "survey/book/sql.h"
#include "survey/book/text.h"
#include "survey/exchange/contacts_csv.h"
#include "survey/exchange/exchange.h"
#include "survey/exchange/marks_csv.h"

namespace survey {

using horizon::Code;
using horizon::Result;

namespace {

// The station named, or the one asked for, or the only one there is.
Station station_for(const FieldBook& book, const std::string& name, const ImportOptions& options) {
  const auto stations = value_or_throw(book.all<Station>());
  if (!name.empty()) {
    const auto found = std::ranges::find(stations, name, &Station::name);
    if (found != stations.end()) return *found;
    give_up(Code::bad_input, {"error.no_such_station", {name}});
  }
  if (!options.station_id.empty()) return value_or_throw(book.get<Station>(options.station_id));
  const auto main = std::ranges::find(stations, true, &Station::main);
  if (main != stations.end()) return *main;
  if (stations.size() == 1) return stations.front();
  give_up(Code::bad_input,
          stations.empty() ? "error.no_station_give_one" : "error.several_stations");
}

Sighting sighting_of(const MarkRow& mark, const Station& station, const ImportOptions& options) {
  Sighting row;
  row.station_id = station.id;
  row.time = station.time;
  if (!mark.time_utc.empty())
    if (const auto time = horizon::parse_utc_s(mark.time_utc)) row.time.utc_s = *time;
  row.bearing_deg = mark.bearing_deg;
  row.reference = mark.north.value_or(options.reference);
  row.elevation_deg = mark.elevation_deg;
  row.bearing_sigma_deg = mark.bearing_sigma_deg.value_or(row.bearing_sigma_deg);
  row.elevation_sigma_deg = mark.elevation_sigma_deg.value_or(row.elevation_sigma_deg);
  row.instrument = mark.instrument.empty() ? options.instrument : mark.instrument;
  row.back_bearing = mark.back_bearing;
  row.group = mark.group;
  row.note = mark.note;
  row.kind = mark.kind;
  row.label = mark.label;
  row.layer = mark.layer;
  row.edge = mark.edge;
  row.distance_m = mark.distance_m;
  row.width_deg = mark.width_deg;
  return row;
}

// A phone's fix is good to some ten metres: within 40 m of one station, and clearly nearer to it
// than to any other, a photograph was taken there.
constexpr double kPhotoAtStation_m = 40, kClearlyNearer_m = 15;

Id station_near(const FieldBook& book, const Position& where, ImportReport& report,
                const std::string& file_name) {
  const Station* best = nullptr;
  double nearest = 1e9, next = 1e9;
  const auto stations = value_or_throw(book.all<Station>());
  for (const Station& station : stations) {
    const Position& p = station.position;
    if (p.latitude_deg == 0 && p.longitude_deg == 0) continue;
    const double away = horizon::geodesic({p.latitude_deg, p.longitude_deg, 0},
                                          {where.latitude_deg, where.longitude_deg, 0})
                            .distance_m;
    next = std::min(next, std::max(away, nearest));
    if (away < nearest) {
      nearest = away;
      best = &station;
    }
  }
  if (!best) return {};
  if (nearest <= kPhotoAtStation_m && next - nearest >= kClearlyNearer_m) return best->id;
  report.remarks.push_back(
      {Code::out_of_range,
       nearest > kPhotoAtStation_m
           ? horizon::Sentence("error.photo_station_far", {best->name, std::lround(nearest)})
           : horizon::Sentence("error.photo_station_unclear"),
       file_name});
  return {};
}

}  // namespace

Result<ImportReport> import_marks(FieldBook& book, std::string_view csv,
                                  const ImportOptions& options) {
  const ContactsTable lights = contacts_of_csv(csv, options.utc_offset_h);
  const bool any_light = lights.is_diary || !lights.contacts.empty() || !lights.errors.empty();
  MarksTable table;
  if (!any_light)
    table = marks_of_csv(csv, options.reference);
  else if (!lights.rest.empty())
    table = marks_of_csv(lights.rest, options.reference);
  // A table of contacts with the columns of sightings, and none in it.
  if (any_light && table.marks.empty()) table.errors.clear();
  ImportReport report;
  report.errors = table.errors;
  report.errors.insert(report.errors.end(), lights.errors.begin(), lights.errors.end());
  report.remarks = table.notes;
  Again again(book);
  const auto done = book.change("import sightings", [&]() -> Result<void> {
    for (const MarkRow& mark : table.marks) {
      auto put = guarded([&] {
        Sighting row = sighting_of(mark, station_for(book, mark.station, options), options);
        if (again.here(row)) {
          ++report.already;
          return;
        }
        value_or_throw(book.put(std::move(row)));
        ++report.sightings;
      });
      if (put) continue;
      if (put.error().code == Code::failed) return put;
      report.errors.push_back(
          {put.error().code, put.error().sentence(), "line " + std::to_string(mark.line)});
    }
    const auto put_light = [&](const auto& lined, int& count) -> Result<void> {
      auto put = guarded([&] {
        auto row = lined.row;
        row.station_id = station_for(book, lined.station, options).id;
        if constexpr (requires { row.time; }) row.time.utc_offset_h = options.utc_offset_h;
        if (again.here(row)) {
          ++report.already;
          return;
        }
        value_or_throw(book.put(std::move(row)));
        ++count;
      });
      if (put || put.error().code == Code::failed) return put;
      report.errors.push_back(
          {put.error().code, put.error().sentence(), "line " + std::to_string(lined.line)});
      return {};
    };
    for (const auto& lined : lights.contacts)
      if (auto put = put_light(lined, report.contacts); !put) return put;
    for (const auto& lined : lights.diary)
      if (auto put = put_light(lined, report.diary_rows); !put) return put;
    return {};
  });
  if (!done) return tl::unexpected(done.error());
  return report;
}

Result<ImportReport> import_photo(FieldBook& book, std::string_view bytes,
                                  const std::string& file_name, const ImportOptions& options) {
  const auto facts = photo_facts(bytes);
  if (!facts)
    return tl::unexpected(horizon::Error{facts.error().code, facts.error().sentence(), file_name});
  return guarded([&] {
    ImportReport report;
    Photo photo =
        photo_of(*facts, valid_utf8(file_name) ? file_name : "photo", options.utc_offset_h);
    const std::string hash = sha256_hex(bytes);
    for (const Photo& known : value_or_throw(book.all<Photo>()))
      if (known.sha256 == hash) {
        // A package's site file has its pictures beside it: this one comes back.
        if (book.photo_bytes(known.id)) {
          ++report.already;
          return report;
        }
        value_or_throw(book.add_photo(known, bytes));
        ++report.photos;
        return report;
      }
    photo.station_id = options.station_id;
    if (photo.station_id.empty() && facts->position)
      photo.station_id = report.tied_to = station_near(book, *facts->position, report, file_name);
    value_or_throw(book.add_photo(std::move(photo), bytes));
    ++report.photos;
    if (facts->satellite_utc_s && facts->local_s) {
      const double off = *facts->local_s -
                         facts->utc_offset_h.value_or(options.utc_offset_h) * 3600 -
                         *facts->satellite_utc_s;
      if (std::abs(off) > 600)
        report.remarks.push_back({Code::bad_input,
                                  {"error.camera_clock_off", {static_cast<long>(off / 60)}},
                                  file_name});
    }
    return report;
  });
}

namespace {

bool is_grid_ending(const std::string& path) {
  const std::string end = lower_ascii(std::filesystem::path(path).extension().string());
  return end == ".asc" || end == ".agr" || end == ".grd";
}

struct Foreign {
  std::string_view start;
  const char* key;
};
// What people bring that is none of ours, by its first bytes.
constexpr Foreign kForeign[] = {
    {"PK\x03\x04", "error.file_is_zip"},
    {"\x1f\x8b", "error.file_is_gzip"},
    {"7z\xbc\xaf", "error.file_is_7z"},
    {"%PDF", "error.file_is_pdf"},
    {"\xd0\xcf\x11\xe0", "error.file_is_old_office"},
    {"GIF8", "error.file_is_gif"},
    {"BM", "error.file_is_bitmap"},
    {"RIFF", "error.file_is_webp"},
    {"\xff\x4f\xff\x51", "error.file_is_jpeg2000"},
    {"CDF", "error.file_is_netcdf"},
    {"\x89HDF", "error.file_is_hdf"},
};

std::optional<const char*> foreign(std::string_view head) {
  using namespace std::string_view_literals;
  for (const Foreign& each : kForeign)
    if (head.starts_with(each.start)) return each.key;
  if (head.size() < 8) return std::nullopt;
  if (head.substr(4, 8) == "jP  \r\n\x87\n"sv) return "error.file_is_jpeg2000";
  if (head.substr(4, 4) == "ftyp"sv) {
    const std::string_view brand = head.substr(8, 4);
    if (brand.starts_with("hei") || brand.starts_with("hev") || brand == "mif1" || brand == "msf1")
      return "error.file_is_heic";
    if (brand == "avif") return "error.file_is_avif";
    return "error.file_is_film";
  }
  return std::nullopt;
}

bool is_weather(std::string_view text) {
  text = trimmed(text);
  if (lower_ascii(text.substr(0, 9)) == "location,") return true;
  const std::size_t second = text.find('\n');
  return second != std::string_view::npos &&
         lower_ascii(trimmed(text.substr(second, 20))).starts_with("date (mm/dd/yyyy)");
}

}  // namespace

std::string_view name_of(FileKind kind) {
  constexpr std::array<std::string_view, 7> names = {"table", "gpx",     "geojson", "photo",
                                                     "site",  "weather", "terrain"};
  return names[static_cast<int>(kind)];
}

Result<FileKind> kind_of_file(const std::string& path) {
  std::error_code error;
  const auto size = std::filesystem::file_size(path, error);
  if (error) return horizon::fail(Code::not_found, "error.no_such_file", path);
  if (size == 0) return horizon::fail(Code::bad_input, "error.file_empty", path);
  std::string head(4096, '\0');
  auto in = std::ifstream(path, std::ios::binary);
  in.read(head.data(), static_cast<std::streamsize>(head.size()));
  head.resize(static_cast<std::size_t>(std::max<std::streamsize>(0, in.gcount())));
  using namespace std::string_view_literals;
  if (head.starts_with("SQLite format 3")) return FileKind::site;
  if (head.starts_with("\xff\xd8\xff") || head.starts_with("\x89PNG")) return FileKind::photo;
  for (const std::string_view tiff : {"II*\0"sv, "MM\0*"sv, "II+\0"sv, "MM\0+"sv})
    if (head.starts_with(tiff)) return FileKind::terrain;
  const std::string ending = lower_ascii(std::filesystem::path(path).extension().string());
  if (ending == ".hgt" || is_grid_ending(path)) return FileKind::terrain;
  if (const auto key = foreign(head)) return horizon::fail(Code::bad_input, *key, path);
  auto text = text_of(head);
  // The cut may have gone through a character.
  for (int less = 1; !text && less < 4 && head.size() > 4; ++less)
    text = text_of(std::string_view(head).substr(0, head.size() - less));
  if (!text) return horizon::fail(text.error().code, "error.file_kind_unknown", path);
  const std::string_view start = trimmed(text->utf8);
  if (start.starts_with('<')) {
    if (start.find("<kml") != std::string_view::npos)
      return horizon::fail(Code::bad_input, "error.file_kml", path);
    return FileKind::gpx;
  }
  if (start.starts_with('{') || start.starts_with('[')) return FileKind::geojson;
  if (is_weather(start)) return FileKind::weather;
  if (lower_ascii(start.substr(0, 4)) == "ncol") return FileKind::terrain;
  return FileKind::table;
}

namespace {

Result<ImportReport> import_received(FieldBook& book, const std::string& path) {
  auto other = FieldBook::open(path, Access::received);
  if (!other) return tl::unexpected(other.error());
  auto merged = import_site(book, *other);
  if (!merged) return tl::unexpected(merged.error());
  ImportReport report;
  report.errors = other->remarks();
  report.rows = merged->added + merged->changed;
  report.photos = merged->photo_bytes;
  const auto tell_each = [&](const std::vector<std::string>& rows, const char* what) {
    for (const std::string& row : rows) report.remarks.push_back({Code::bad_input, what, row});
  };
  tell_each(merged->removed_rows, "error.removed_there");
  tell_each(merged->readings_kept, "error.reading_kept_voided");
  for (const Conflict& conflict : merged->conflicts)
    report.errors.push_back({Code::bad_input,
                             {"error.both_files_changed", {conflict.mine, conflict.theirs}},
                             conflict.table + " \"" + conflict.row_name + "\""});
  return report;
}

Result<ImportReport> import_terrain(const FieldBook& book, const std::string& path,
                                    const ImportOptions& options) {
  auto kept = keep_terrain(book, path, options.terrain_system);
  if (!kept) return tl::unexpected(kept.error());
  ImportReport report;
  report.already = kept->already ? 1 : 0;
  const auto site = book.site();
  const std::string name = std::filesystem::path(path).filename().string();
  if (!kept->ground_m)
    report.remarks.push_back({Code::out_of_range, "error.terrain_without_site", name});
  else if (site && site->position.height_m &&
           std::abs(*kept->ground_m - *site->position.height_m) > 150)
    report.remarks.push_back(
        {Code::out_of_range,
         {"error.terrain_height_differs",
          {std::lround(*kept->ground_m), std::lround(*site->position.height_m)}},
         name});
  report.terrain = std::move(*kept);
  return report;
}

Result<ImportReport> import_weather(const FieldBook& book, const std::string& path,
                                    std::string_view bytes) {
  auto kept = keep_weather(book, std::filesystem::path(path).filename().string(), bytes);
  if (!kept) return tl::unexpected(kept.error());
  ImportReport report;
  report.already = kept->already ? 1 : 0;
  report.remarks = kept->file.notes;
  report.remarks.insert(report.remarks.end(), kept->fit.begin(), kept->fit.end());
  report.weather = std::move(*kept);
  return report;
}

std::optional<Position> main_station_in(const FieldBook& book) {
  const auto stations = value_or_throw(book.all<Station>());
  const auto main = std::ranges::find(stations, true, &Station::main);
  if (main == stations.end()) return std::nullopt;
  return main->position;
}

// Places that a GPX or GeoJSON file brought.
template <class Row>
void add_places(const FieldBook& book, std::map<Id, Position>& places) {
  for (const Row& row : value_or_throw(book.all<Row>()))
    if constexpr (requires { row.points; }) {
      if (!row.points.empty()) places.emplace(row.id, row.points.front().position);
    } else {
      places.emplace(row.id, row.position);
    }
}

std::map<Id, Position> places_of(const FieldBook& book) {
  std::map<Id, Position> places;
  add_places<Landmark>(book, places);
  add_places<Station>(book, places);
  add_places<Path>(book, places);
  return places;
}

// Nobody sees a summit 100 km off; what lies there belongs to another site, or its latitude and
// longitude were exchanged.
void tell_far(const FieldBook& book, const std::map<Id, Position>& before, ImportReport& report) {
  constexpr double kFar_m = 100000;
  Position middle = value_or_throw(book.site()).position;
  if (const auto main = main_station_in(book); main && middle == Position{}) middle = *main;
  if (middle == Position{}) return;
  const auto from_m = [&](double latitude_deg, double longitude_deg) {
    return horizon::geodesic({middle.latitude_deg, middle.longitude_deg, 0},
                             {latitude_deg, longitude_deg, 0})
        .distance_m;
  };
  long far = 0, exchanged = 0;
  double nearest_m = 1e9;
  for (const auto& [id, at] : places_of(book)) {
    if (before.contains(id)) continue;
    const double m = from_m(at.latitude_deg, at.longitude_deg);
    if (m <= kFar_m) continue;
    ++far;
    nearest_m = std::min(nearest_m, m);
    exchanged +=
        std::abs(at.longitude_deg) <= 90 && from_m(at.longitude_deg, at.latitude_deg) <= kFar_m;
  }
  if (exchanged > 0)
    report.remarks.push_back({Code::bad_input, {"error.places_exchanged", {exchanged}}});
  else if (far > 0)
    report.remarks.push_back(
        {Code::bad_input, {"error.places_far", {far, horizon::Arg::figure(nearest_m / 1000, 0)}}});
}

Result<ImportReport> import_bytes(FieldBook& book, const std::string& path, FileKind kind,
                                  const ImportOptions& options) {
  std::error_code error;
  if (std::filesystem::file_size(path, error) > static_cast<std::uintmax_t>(kMaxPhotoBytes))
    return horizon::fail(Code::bad_input, "error.file_too_large", path);
  const auto bytes = read_file(path);
  if (!bytes) return tl::unexpected(bytes.error());
  if (kind == FileKind::photo)
    return import_photo(book, *bytes, std::filesystem::path(path).filename().string(), options);
  if (kind == FileKind::weather) return import_weather(book, path, *bytes);
  if (kind == FileKind::gpx || kind == FileKind::geojson)
    return guarded([&] {
      const auto before = places_of(book);
      ImportReport report =
          value_or_throw(kind == FileKind::gpx
                             ? import_gpx(book, *bytes, options)
                             : import_geojson(book, value_or_throw(text_of(*bytes)).utf8, options));
      tell_far(book, before, report);
      return report;
    });
  return import_marks(book, *bytes, options);
}

}  // namespace

Result<ImportReport> import_file(FieldBook& book, const std::string& path,
                                 const ImportOptions& options) {
  const auto kind = kind_of_file(path);
  if (!kind) return tl::unexpected(kind.error());
  auto report = *kind == FileKind::site      ? import_received(book, path)
                : *kind == FileKind::terrain ? import_terrain(book, path, options)
                                             : import_bytes(book, path, *kind, options);
  if (report)
    report->kind = *kind;
  else if (report.error().where.empty())
    report.error().where = path;
  return report;
}

}  // namespace survey
