#include "survey/assess/site_check.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <cstdio>
#include <filesystem>
#include <optional>
#include <unordered_set>

#include "horizon/geodesy.h"
#include "horizon/skyline/mask.h"
#include "horizon/time.h"
#include "survey/assess/progress.h"
#include "survey/book/row_cells.h"
#include "survey/book/store_internal.h"
#include "survey/book/text.h"

namespace survey {

std::string_view name_of(Weight weight) {
  constexpr std::array<std::string_view, 3> names = {"damage", "doubtful", "to do"};
  return names[static_cast<int>(weight)];
}

namespace {

struct Checker {
  const FieldBook& book;
  std::vector<CheckItem> items;

  Database& db() { return book.store().db; }
  void add(Weight weight, std::string where, horizon::Sentence what) {
    items.push_back({weight, std::move(where), std::move(what)});
  }
  void expect(bool holds, const std::string& where, horizon::Sentence what) {
    if (!holds) add(Weight::damage, where, std::move(what));
  }

  void integrity();
  void package();
  void rows_and_chain();
  void photos();
  void likely();
  void skylines(const std::vector<StationSkyline>& all);
  void progress(const StationSkyline* main);
};

// What is wrong, with the cure that damage has.
horizon::Sentence recover(horizon::Sentence what) { return {"error.recover", {std::move(what)}}; }

void Checker::integrity() {
  Statement lines = db().prepare("PRAGMA integrity_check(20)");
  while (lines.step())
    if (lines.text(0) != "ok")
      add(Weight::damage, book.path(), recover({"error.storage_failed", {lines.text(0)}}));
  Statement keys = db().prepare("PRAGMA foreign_key_check");
  while (keys.step())
    add(Weight::damage, "table " + keys.text(0), recover("error.registration_broken"));
}

void Checker::package() {
  expect(db().number("PRAGMA user_version") >= 10200, book.path(),
         recover("error.geopackage_version"));
  for (const int srs : {-1, 0, 4326})
    expect(db().number("SELECT count(*) FROM gpkg_spatial_ref_sys WHERE srs_id=" +
                       std::to_string(srs)) == 1,
           "gpkg_spatial_ref_sys", recover({"error.reference_system_missing", {srs}}));
  for (const Table* table : all_tables()) {
    const Cells key = {table->name};
    Statement& listed = db().again("SELECT data_type FROM gpkg_contents WHERE table_name=?", key);
    const bool found = listed.step();
    const std::string type = found ? listed.text(0) : "";
    listed.reset();
    expect(type == (table->geometry() ? "features" : "attributes"), "gpkg_contents",
           recover({"error.table_not_registered", {table->name}}));
    if (!table->geometry()) continue;
    Statement& column = db().again(
        "SELECT count(*) FROM gpkg_geometry_columns WHERE table_name=? AND srs_id=4326", key);
    expect(column.step() && column.integer(0) == 1, "gpkg_geometry_columns",
           recover({"error.geometry_not_registered", {table->name}}));
    column.reset();
  }
}

void Checker::rows_and_chain() {
  std::unordered_set<std::string> ids;
  RowsOfTables all;
  for (const Table* table : all_tables()) {
    all.emplace_back(table, all_rows(book.store(), *table));
    for (const StoredRow& row : all.back().second)
      ids.insert(table->name + "/" + words_of(row.cells[0]));
  }
  const auto broken = broken_chain(book.store(), all);  // of the rows as they lie
  for (auto& [table, rows] : all)
    for (StoredRow& row : rows) {
      const auto damaged = [&](horizon::Sentence what) {
        add(Weight::damage, name_of_row(*table, row.cells), std::move(what));
      };
      try {
        check_cells(*table, row.cells);
      } catch (const Failure& failure) {
        damaged(recover({"error.at_place", {failure.error.where, failure.error.sentence()}}));
      }
      for (std::size_t i = 0; i < table->columns.size(); ++i) {
        const Column& column = table->columns[i];
        if (column.refers_to.empty()) continue;
        const std::string id = words_of(row.cells[i]);
        if (!id.empty() && !ids.contains(column.refers_to + "/" + id))
          damaged({"error.row_referred_to_missing", {column.refers_to}});
      }
    }
  for (const horizon::Error& error : broken) add(Weight::damage, error.where, error.sentence());
}

// A package's site file holds no pictures: they lie beside it, each once, and are told by their hash.
std::unordered_set<std::string> pictures_beside(const std::string& site_path) {
  namespace fs = std::filesystem;
  std::unordered_set<std::string> hashes;
  std::error_code error;
  for (const auto& entry : fs::directory_iterator(fs::path(site_path).parent_path() / "photos",
                                                  fs::directory_options::none, error)) {
    if (!entry.is_regular_file(error) ||
        entry.file_size(error) > static_cast<std::uintmax_t>(kMaxPhotoBytes))
      continue;
    if (const auto bytes = read_file(entry.path().string())) hashes.insert(sha256_hex(*bytes));
  }
  return hashes;
}

void Checker::photos() {
  std::optional<std::unordered_set<std::string>> beside;
  long apart = 0;
  const bool none_inside = db().number("SELECT COUNT(*) FROM photo_data") == 0;
  for (const Photo& photo : value_or_throw(book.all<Photo>())) {
    const auto bytes = book.photo_bytes(photo.id);
    if (bytes) continue;
    if (!none_inside) {
      add(Weight::damage, "photo \"" + photo.file_name + "\"", bytes.error().sentence());
      continue;
    }
    if (!beside) beside = pictures_beside(book.path());
    apart += !beside->contains(photo.sha256);
  }
  if (apart > 0)
    add(Weight::doubtful, book.path(),
        {"error.pictures_apart", {horizon::Arg::figure(static_cast<double>(apart), 0)}});
}

std::string degrees(double value) {
  char text[32];
  std::snprintf(text, sizeof text, "%.1f", value);
  return text;
}

// Common practice: what a person with a hand compass, a phone or a theodolite can have read.
void Checker::likely() {
  const double now = now_utc_s();
  auto time = [&](const Moment& moment, const std::string& where) {
    if (moment.utc_s == 0) return add(Weight::doubtful, where, "error.time_missing");
    if (moment.utc_s < 631152000 || moment.utc_s > now + 86400)  // 1990
      add(Weight::doubtful, where, {"error.time_unlikely", {horizon::format_utc(moment.utc_s)}});
  };
  const Site site = value_or_throw(book.site());
  const horizon::Place middle{site.position.latitude_deg, site.position.longitude_deg, 0};
  const bool has_middle = site.position != Position{};
  for (const Station& station : value_or_throw(book.all<Station>())) {
    const std::string where = "station \"" + station.name + "\"";
    time(station.time, where);
    if (station.position == Position{}) {
      add(Weight::doubtful, where, "error.station_at_zero");
      continue;
    }
    if (has_middle &&
        horizon::geodesic(middle, {station.position.latitude_deg, station.position.longitude_deg})
                .distance_m > 20000)
      add(Weight::doubtful, where, "error.station_far_from_site");
    if (!station.position.height_m)
      add(Weight::doubtful, where, "error.height_missing");
    else if (*station.position.height_m < -430 || *station.position.height_m > 8850)
      add(Weight::doubtful, where, "error.height_of_no_land");
    if (station.eye_height_m < 0.2 || station.eye_height_m > 4)
      add(Weight::doubtful, where,
          {"error.eye_height_unlikely", {horizon::Arg::figure(degrees(station.eye_height_m))}});
  }
  const auto stations = value_or_throw(book.all<Station>());
  if (std::ranges::count(stations, true, &Station::main) > 1)
    add(Weight::doubtful, book.path(), "error.two_main_stations");
  int number = 0;
  for (const Sighting& sighting : value_or_throw(book.all<Sighting>())) {
    ++number;
    if (sighting.voided) continue;
    const std::string where = "sighting " + std::to_string(number) +
                              (sighting.label.empty() ? "" : ", \"" + sighting.label + "\"");
    time(sighting.time, where);
    if (std::abs(sighting.elevation_deg) > 75)
      add(Weight::doubtful, where,
          {"error.elevation_unlikely_high",
           {horizon::Arg::figure(degrees(sighting.elevation_deg))}});
    else if (sighting.elevation_deg < -15)
      add(Weight::doubtful, where,
          {"error.elevation_unlikely_low",
           {horizon::Arg::figure(degrees(sighting.elevation_deg))}});
    if (sighting.bearing_sigma_deg == 0 || sighting.elevation_sigma_deg == 0)
      add(Weight::doubtful, where, "error.reading_without_error");
  }
  for (const SoilLayer& layer : value_or_throw(book.all<SoilLayer>())) {
    if (!layer.sand_percent || !layer.silt_percent || !layer.clay_percent) continue;
    const double sum = *layer.sand_percent + *layer.silt_percent + *layer.clay_percent;
    if (std::abs(sum - 100) > 1)
      add(Weight::doubtful, "soil layer from " + degrees(layer.top_m) + " m",
          {"error.soil_parts_make", {horizon::Arg::figure(degrees(sum))}});
  }
  for (const Visit& visit : value_or_throw(book.all<Visit>())) {
    time(visit.begun, "visit \"" + visit.people + "\"");
    if (visit.ended && visit.ended->utc_s < visit.begun.utc_s)
      add(Weight::doubtful, "visit \"" + visit.people + "\"", "error.visit_ends_before");
  }
}

void Checker::skylines(const std::vector<StationSkyline>& all) {
  for (const StationSkyline& one : all) {
    const std::string where = "station \"" + one.station.name + "\"";
    for (const horizon::Error& note : one.notes) add(Weight::doubtful, note.where, note.sentence());
    for (const auto& aim : one.result.unplaced)
      add(Weight::doubtful, where, {"error.sighting_unusable", {aim.why.sentence()}});
    for (const auto& aim : one.result.outliers)
      add(Weight::doubtful, where,
          {"error.aim_left_out",
           {aim.group, horizon::Arg::figure(degrees(aim.bearing_off_deg)),
            horizon::Arg::figure(degrees(aim.elevation_off_deg))}});
    if (one.skyline().points.empty()) continue;
    const horizon::Mask mask(one.skyline());
    for (const horizon::OpenStretch& open : mask.open_stretches())
      add(Weight::to_do, where,
          {"error.open_stretch",
           {horizon::Arg::figure(degrees(open.from_deg)),
            horizon::Arg::figure(degrees(open.to_deg))}});
  }
}

void Checker::progress(const StationSkyline* main) {
  for (const StopProgress& stop : value_or_throw(progress_of(book, main)))
    for (const Task& task : stop.tasks)
      if (!task.done) add(Weight::to_do, std::string(name_of(stop.stop)), task.key);
}

}  // namespace

horizon::Result<std::vector<CheckItem>> check_site(const FieldBook& book,
                                                   const CheckOptions& options) {
  return guarded([&] {
    Checker checker{book, {}};
    checker.integrity();
    // A damaged tree breaks every later look; what is known by then is the answer.
    if (!checker.items.empty()) return checker.items;
    checker.package();
    checker.rows_and_chain();
    for (const horizon::Error& remark : book.remarks())
      checker.add(Weight::doubtful, remark.where, remark.sentence());
    if (options.photos) checker.photos();
    const bool sound = std::ranges::none_of(
        checker.items, [](const CheckItem& item) { return item.weight == Weight::damage; });
    if (sound) {
      checker.likely();
      const auto skylines = value_or_throw(station_skylines(book));  // the main one first
      checker.skylines(skylines);
      if (options.progress) checker.progress(skylines.empty() ? nullptr : &skylines.front());
    }
    return checker.items;
  });
}

}  // namespace survey
