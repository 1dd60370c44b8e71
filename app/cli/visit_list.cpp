#include "app/cli/visit_list.h"

#include <algorithm>
#include <cmath>
#include <cstdio>

#include "app/handover/zip.h"
#include "app/words/quantity.h"
#include "app/words/words.h"
#include "horizon/time.h"
#include "survey/book/durable.h"
#include "survey/book/sql.h"
#include "survey/book/store.h"
#include "survey/book/text.h"
#include "survey/exchange/exchange.h"

namespace app {
namespace {

using horizon::Result;

// A UUID of version 8 (RFC 9562): of the place to a metre.
survey::Id id_of(const horizon::Place& place, const char* what) {
  char text[80];
  std::snprintf(text, sizeof text, "visit %s %.5f %.5f", what, place.latitude_deg,
                place.longitude_deg);
  std::string hex = survey::sha256_hex(text).substr(0, 32);
  hex[12] = '8';
  hex[16] = "89ab"[static_cast<std::size_t>(hex[16]) % 4];
  for (const std::size_t at : {20U, 16U, 12U, 8U}) hex.insert(at, "-");
  return hex;
}

survey::SkylineSketch sketch_of(const horizon::TerrainSkyline& land) {
  constexpr int kSteps = 120;
  survey::SkylineSketch sketch;
  for (int i = 0; i < kSteps; ++i) {
    sketch.elevation_deg.push_back(static_cast<float>(land.elevation_deg(360.0 * i / kSteps)));
    sketch.kind.push_back(255);  // nobody aimed there
  }
  return sketch;
}

Result<void> write_site(const std::string& path, const Visit& visit, std::size_t count,
                        const VisitListOptions& options) {
  const survey::Terrace& terrace = visit.terrace;
  survey::Site site;
  site.id = id_of(terrace.place, "site");
  site.name = tr("visit.name", {options.name, number(terrace.id)});
  site.position = {terrace.place.latitude_deg, terrace.place.longitude_deg, {}};
  site.created = {options.time_utc_s, horizon::solar_zone_h(terrace.place.longitude_deg)};
  site.note = tr("visit.expect", {number(terrace.id), number(double(count)),
                                  number(visit.winter_h, 1), number(visit.shortest_day_h, 1)});
  auto book = survey::FieldBook::create(path, site);
  if (!book) return tl::unexpected(book.error());
  survey::Station station;
  station.id = id_of(terrace.place, "station");
  station.name = "A";
  station.main = true;
  station.position = {terrace.place.latitude_deg, terrace.place.longitude_deg,
                      std::round(visit.land.ground_m)};
  station.position_source = survey::PositionSource::map;
  station.horizontal_sigma_m = std::max(10.0, std::sqrt(terrace.area_m2) / 4);
  station.height_sigma_m = 10;
  station.time = site.created;
  if (auto put = book->put(station); !put) return tl::unexpected(put.error());
  if (auto set = book->set_sketch(sketch_of(visit.land)); !set) return set;
  if (auto closed = book->close(); !closed) return tl::unexpected(closed.error());
  return {};
}

}  // namespace

Result<survey::ValleyCut> write_visit_list(const std::string& path,
                                           const survey::ValleyGrid& valley,
                                           const std::vector<Visit>& visits,
                                           const VisitListOptions& options) {
  const InLanguage in(options.language);
  auto place = survey::Unfinished::folder(path);
  if (!place) return tl::unexpected(place.error());
  const std::string folder = place->path() + "/";
  const std::string stem = survey::file_stem_of(options.name, "valley");
  // Another valley's of the same name are not to be written over.
  const std::string heights =
      stem + "-" + survey::short_hash(id_of(visits.front().terrace.place, "heights")).substr(0, 6);
  std::vector<ZipEntry> entries;
  const auto entry = [&](const std::string& name, bool packed_already) {
    entries.push_back({name, folder + name, packed_already});
    return folder + name;
  };
  std::vector<horizon::Place> places;
  std::vector<horizon::TerrainSkyline> lines;
  for (const Visit& visit : visits) {
    char name[40];
    std::snprintf(name, sizeof name, "-%02d.gpkg", visit.terrace.id);
    if (auto made = write_site(entry(stem + name, false), visit, visits.size(), options); !made)
      return tl::unexpected(made.error());
    places.push_back(visit.terrace.place);
    lines.push_back(visit.land);
  }
  const std::string near = entry(heights + "-near.tif", true);
  const std::string far = entry(heights + "-far.tif", true);
  const auto cut = survey::write_cut(valley, places, lines, options.cut, near, far);
  if (!cut) return cut;
  if (cut->far_cell_m == 0) entries.pop_back();
  const std::string whole = folder + "visits.zip";
  if (auto packed = write_zip(whole, entries, options.time_utc_s, {}, {}); !packed)
    return tl::unexpected(packed.error());
  if (auto moved = survey::move_file(whole, path, survey::Existing::replace); !moved)
    return tl::unexpected(moved.error());
  return cut;
}

}  // namespace app
