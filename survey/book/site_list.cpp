// The list of sites: each file is opened for a moment, no photograph is read.
#include <algorithm>
#include <cmath>
#include <filesystem>
#include <nlohmann/json.hpp>

#include "survey/book/row_cells.h"
#include "survey/book/store_internal.h"

namespace survey {

namespace fs = std::filesystem;
using nlohmann::json;

horizon::Result<void> FieldBook::set_sketch(const SkylineSketch& sketch) {
  if (sketch.elevation_deg.size() != sketch.kind.size())
    return horizon::fail(horizon::Code::bad_input, "error.sketch_kinds_missing");
  return guarded([&] {
    if (read_only()) give_up(horizon::Code::failed, "error.file_read_only", path());
    write_sketch(store_->db, sketch);
  });
}

void write_sketch(Database& db, const SkylineSketch& sketch) {
  const Cells values = {json(sketch.elevation_deg).dump(), json(sketch.kind).dump()};
  db.again(
        "INSERT INTO adret_sketch VALUES (1, ?, ?) ON CONFLICT (fid) DO UPDATE SET "
        "elevation_deg=excluded.elevation_deg, kind=excluded.kind",
        values)
      .step();
}

SkylineSketch read_sketch(Database& db) {
  constexpr std::size_t kMost = 3600;  // as many as ten a degree
  SkylineSketch sketch;
  if (!db.number("SELECT count(*) FROM sqlite_master WHERE type='table' AND name='adret_sketch'"))
    return sketch;
  Statement row = db.prepare("SELECT elevation_deg, kind FROM adret_sketch LIMIT 1");
  if (!row.step() || row.text(0).size() > 64 * kMost || row.text(1).size() > 64 * kMost)
    return sketch;
  const json elevations = json::parse(row.text(0), nullptr, false);
  const json kinds = json::parse(row.text(1), nullptr, false);
  if (!elevations.is_array() || !kinds.is_array() || elevations.size() != kinds.size() ||
      kinds.size() > kMost)
    return {};
  for (std::size_t i = 0; i < kinds.size(); ++i) {
    if (!elevations[i].is_number() || !kinds[i].is_number_unsigned()) return {};
    const double elevation = elevations[i].get<double>();
    const auto kind = kinds[i].get<std::uint64_t>();
    if (!(std::abs(elevation) <= 90) || (kind >= horizon::kKindCount && kind != 255)) return {};
    sketch.elevation_deg.push_back(static_cast<float>(elevation));
    sketch.kind.push_back(static_cast<std::uint8_t>(kind));
  }
  return sketch;
}

namespace {

// Up to as many as a table may hold: a damaged tree could go on counting for ever.
int count_of(Database& db, const std::string& rows) {
  return static_cast<int>(db.number("SELECT count(*) FROM (SELECT 1 FROM " + rows + " LIMIT " +
                                    std::to_string(kMostRows) + ")"));
}

SiteSummary summary_of(const FieldBook& book) {
  Database& db = book.store().db;
  SiteSummary summary;
  summary.path = book.path();
  summary.site = value_or_throw(book.site());
  summary.visits = count_of(db, "visit");
  summary.stations = count_of(db, "station");
  summary.sightings = count_of(db, "sighting WHERE voided_utc IS NULL");
  summary.photos = count_of(db, "photo");
  for (const Visit& visit : value_or_throw(book.all<Visit>()))
    if (!summary.last_visit || visit.begun.utc_s > summary.last_visit->utc_s)
      summary.last_visit = visit.begun;
  summary.sketch = read_sketch(db);
  return summary;
}

}  // namespace

horizon::Result<SiteList> list_sites(const std::string& folder) {
  std::error_code error;
  fs::directory_iterator files(folder, error);
  if (error)
    return horizon::fail(horizon::Code::failed, {"error.folder_unreadable", {error.message()}},
                         folder);
  SiteList list;
  for (; files != fs::directory_iterator(); files.increment(error)) {
    if (error) break;
    if (files->path().extension() != ".gpkg" || files->path().filename().string()[0] == '.')
      continue;  // hidden: not finished
    auto summary = guarded([&] {
      return summary_of(value_or_throw(FieldBook::open(files->path().string(), Access::read)));
    });
    if (summary)
      list.sites.push_back(std::move(*summary));
    else
      list.errors.push_back(
          {summary.error().code, summary.error().sentence(), files->path().string()});
  }
  std::ranges::sort(list.sites, {},
                    [](const SiteSummary& s) { return std::pair(s.site.name, s.path); });
  return list;
}

}  // namespace survey
