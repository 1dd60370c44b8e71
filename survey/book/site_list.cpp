// The list of sites: each file is opened for a moment, no photograph is read.
#include <algorithm>
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
    const Cells values = {json(sketch.elevation_deg).dump(), json(sketch.kind).dump()};
    store_->db.again("INSERT OR REPLACE INTO adret_sketch VALUES (1, ?, ?)", values).step();
  });
}

namespace {

SkylineSketch read_sketch(Database& db) {
  SkylineSketch sketch;
  Statement row = db.prepare("SELECT elevation_deg, kind FROM adret_sketch LIMIT 1");
  if (!row.step()) return sketch;
  const json elevations = json::parse(row.text(0), nullptr, false);
  const json kinds = json::parse(row.text(1), nullptr, false);
  if (!elevations.is_array() || !kinds.is_array() || elevations.size() != kinds.size()) return {};
  for (std::size_t i = 0; i < kinds.size(); ++i) {
    if (!elevations[i].is_number() || !kinds[i].is_number_unsigned()) return {};
    sketch.elevation_deg.push_back(elevations[i].get<float>());
    sketch.kind.push_back(kinds[i].get<std::uint8_t>());
  }
  return sketch;
}

SiteSummary summary_of(const FieldBook& book) {
  Database& db = book.store().db;
  SiteSummary summary;
  summary.path = book.path();
  summary.site = value_or_throw(book.site());
  summary.visits = static_cast<int>(db.number("SELECT count(*) FROM visit"));
  summary.stations = static_cast<int>(db.number("SELECT count(*) FROM station"));
  summary.sightings =
      static_cast<int>(db.number("SELECT count(*) FROM sighting WHERE voided_utc IS NULL"));
  summary.photos = static_cast<int>(db.number("SELECT count(*) FROM photo"));
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
    if (files->path().extension() != ".gpkg") continue;
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
