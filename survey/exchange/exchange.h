// survey/exchange/exchange.h: rows in and out as the files that other programs read and write.
// Formats: sightings as a text table (survey/exchange/marks_csv.h); GPX 1.1; GeoJSON (RFC 7946); photographs
//          (survey/book/photo_file.h). docs/formats.md says which element becomes which row.
// Frame:   WGS 84, longitude before latitude in GeoJSON; heights as they stand in the file
// Errors:  every element that cannot be taken is listed with its place and the cure; the rest is
//          taken, all of one file as one step of undo. Nothing is read or written but the path
//          given; names inside a file are text, never paths
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "survey/book/durable.h"
#include "survey/book/store.h"
#include "survey/exchange/beside.h"

namespace survey {

struct ImportOptions {
  Id station_id;  // for sightings and photos that name none; empty: the main or only station
  Reference reference = Reference::true_north;  // of bearings that name none
  double utc_offset_h = 0;                      // of clock times without one
  std::string instrument;
  std::optional<std::string> terrain_system;  // of a grid that does not name its own: EPSG:32632
};

enum class FileKind : std::uint8_t { table, gpx, geojson, photo, site, weather, terrain };
std::string_view name_of(FileKind kind);
// By what the file holds; what cannot be taken is refused with what it is and the cure.
horizon::Result<FileKind> kind_of_file(const std::string& path);

struct ImportReport {
  FileKind kind = FileKind::table;
  int sightings = 0, stations = 0, landmarks = 0, paths = 0, notes = 0, photos = 0;
  int contacts = 0, diary_rows = 0;
  int rows = 0;     // of a GeoJSON file that this program wrote
  int already = 0;  // that were there
  std::optional<KeptWeather> weather;
  std::optional<KeptTerrain> terrain;
  Id tied_to;  // the station that a photo was tied to by its position
  std::vector<horizon::Error> errors, remarks;
};

// Contacts and diaries among them, survey/exchange/contacts_csv.h.
horizon::Result<ImportReport> import_marks(FieldBook& book, std::string_view csv,
                                           const ImportOptions& options = {});
horizon::Result<ImportReport> import_gpx(FieldBook& book, std::string_view xml,
                                         const ImportOptions& options = {});
horizon::Result<ImportReport> import_geojson(FieldBook& book, std::string_view json,
                                             const ImportOptions& options = {});
horizon::Result<ImportReport> import_photo(FieldBook& book, std::string_view bytes,
                                           const std::string& file_name,
                                           const ImportOptions& options = {});
// By what the file holds, not by its name; site files too. Weather and height grids are kept beside
// the site file (survey/exchange/beside.h).
horizon::Result<ImportReport> import_file(FieldBook& book, const std::string& path,
                                          const ImportOptions& options = {});

// Every row of every table; reads back as the same rows (photographs without their bytes).
horizon::Result<std::string> geojson_of(const FieldBook& book);
// Stations, landmarks and pits as waypoints, paths as tracks.
horizon::Result<std::string> gpx_of(const FieldBook& book);
// Sightings that are not voided, as survey/exchange/marks_csv.h reads them.
horizon::Result<std::string> marks_csv_of(const FieldBook& book);
// One table with all its columns, RFC 4180; points as longitude, latitude, height.
horizon::Result<std::string> table_csv_of(const FieldBook& book, std::string_view table);

// Photographs into a folder that exists; returns the names given. Existing files stay.
horizon::Result<std::vector<std::string>> export_photos(const FieldBook& book,
                                                        const std::string& folder);
// A folder that nobody could know or make before, for this run only; empty: none can be made.
std::string new_temp_folder(const std::string& prefix);
// A name that is safe on every file system: no separators, control or reserved characters, no
// leading or trailing dot or blank, no device names, 80 bytes at most, never empty.
std::string safe_file_name(std::string_view wish);
// A short stem for a file of one's own: letters and digits of every script (of ASCII in lower
// case), all else '-'; 40 characters at most.
std::string file_stem_of(std::string_view name, std::string_view fallback);

}  // namespace survey
