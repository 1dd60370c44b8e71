// Sightings tables, photographs, and the choice of the right reader.
#include <algorithm>
#include <cmath>
#include <filesystem>
#include <fstream>

#include "horizon/time.h"
#include "survey/book/again.h"
#include "survey/book/merge.h"
#include "survey/book/photo_file.h"
#include "survey/book/sql.h"
#include "survey/book/text.h"
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
    give_up(Code::bad_input,
            "there is no station \"" + name + "\"; add it first, or leave the column out");
  }
  if (!options.station_id.empty()) return value_or_throw(book.get<Station>(options.station_id));
  const auto main = std::ranges::find(stations, true, &Station::main);
  if (main != stations.end()) return *main;
  if (stations.size() == 1) return stations.front();
  give_up(Code::bad_input, stations.empty()
                               ? "there is no station yet; add one, with --station NAME --lat --lon"
                               : "there are several stations; name one with --station");
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

}  // namespace

Result<ImportReport> import_marks(FieldBook& book, std::string_view csv,
                                  const ImportOptions& options) {
  const MarksTable table = marks_of_csv(csv, options.reference);
  ImportReport report;
  report.errors = table.errors;
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
          {put.error().code, put.error().message, "line " + std::to_string(mark.line)});
    }
    return {};
  });
  if (!done) return tl::unexpected(done.error());
  return report;
}

Result<ImportReport> import_photo(FieldBook& book, std::string_view bytes,
                                  const std::string& file_name, const ImportOptions& options) {
  const auto facts = photo_facts(bytes);
  if (!facts)
    return tl::unexpected(horizon::Error{facts.error().code, facts.error().message, file_name});
  return guarded([&] {
    ImportReport report;
    Photo photo =
        photo_of(*facts, valid_utf8(file_name) ? file_name : "photo", options.utc_offset_h);
    const std::string hash = sha256_hex(bytes);
    for (const Photo& known : value_or_throw(book.all<Photo>()))
      if (known.sha256 == hash) {
        ++report.already;
        return report;
      }
    photo.station_id = options.station_id;
    value_or_throw(book.add_photo(std::move(photo), bytes));
    ++report.photos;
    if (facts->satellite_utc_s && facts->local_s) {
      const double off = *facts->local_s -
                         facts->utc_offset_h.value_or(options.utc_offset_h) * 3600 -
                         *facts->satellite_utc_s;
      if (std::abs(off) > 600)
        report.remarks.push_back({Code::bad_input,
                                  "camera clock and satellite time differ by " +
                                      std::to_string(static_cast<long>(off / 60)) +
                                      " minutes; give the clock's --utc-offset-h or set the camera",
                                  file_name});
    }
    return report;
  });
}

Result<ImportReport> import_file(FieldBook& book, const std::string& path,
                                 const ImportOptions& options) {
  std::error_code error;
  const auto size = std::filesystem::file_size(path, error);
  if (error) return horizon::fail(Code::not_found, "there is no such file", path);
  auto with_path = [&](Result<ImportReport> result) {
    if (!result && result.error().where.empty()) result.error().where = path;
    return result;
  };
  std::string head(16, '\0');
  {
    auto bytes = std::ifstream(path, std::ios::binary);
    bytes.read(head.data(), 16);
  }
  if (head.starts_with("SQLite format 3")) {
    auto other = FieldBook::open(path, Access::received);
    if (!other) return tl::unexpected(other.error());
    auto merged = import_site(book, *other);
    if (!merged) return tl::unexpected(merged.error());
    ImportReport report;
    report.rows = merged->added + merged->changed;
    report.photos = merged->photo_bytes;
    for (const Conflict& conflict : merged->conflicts)
      report.errors.push_back({Code::bad_input,
                               "both files changed this: \"" + conflict.mine + "\" here, \"" +
                                   conflict.theirs + "\" there; decide with `adret-cli merge`",
                               conflict.table + " \"" + conflict.row_name + "\""});
    return report;
  }
  if (size > static_cast<std::uintmax_t>(kMaxPhotoBytes))
    return horizon::fail(Code::bad_input, "the file is above 50 MB; split it or store it smaller",
                         path);
  auto bytes = read_file(path);
  if (!bytes) return tl::unexpected(bytes.error());
  const std::string name = std::filesystem::path(path).filename().string();
  if (head.starts_with("\xff\xd8\xff") || head.starts_with("\x89PNG"))
    return import_photo(book, *bytes, name, options);
  const auto text = text_of(*bytes);
  if (!text)
    return horizon::fail(text.error().code,
                         "this is no sightings table, GPX, GeoJSON, JPEG, PNG or site file", path);
  const std::string_view start = trimmed(text->utf8);
  if (start.starts_with('<')) return with_path(import_gpx(book, *bytes, options));
  if (start.starts_with('{') || start.starts_with('['))
    return with_path(import_geojson(book, text->utf8, options));
  return with_path(import_marks(book, *bytes, options));
}

}  // namespace survey
