// The GeoPackage tables and our own, made from survey/book/columns.h.
// Source: OGC 12-128r18, clauses 1.1 (base), 2.1 (features), 2.4 (attributes), annex C
#include <algorithm>
#include <cmath>
#include <set>

#include "horizon/time.h"
#include "survey/book/geometry.h"
#include "survey/book/layer_styles.h"
#include "survey/book/store_internal.h"

namespace survey {

using horizon::Code;

namespace {

// Table definitions of the standard. The defaults of the standard's own text are kept.
constexpr const char* kStandardTables = R"(
CREATE TABLE gpkg_spatial_ref_sys (
  srs_name TEXT NOT NULL, srs_id INTEGER NOT NULL PRIMARY KEY, organization TEXT NOT NULL,
  organization_coordsys_id INTEGER NOT NULL, definition TEXT NOT NULL, description TEXT);
CREATE TABLE gpkg_contents (
  table_name TEXT NOT NULL PRIMARY KEY, data_type TEXT NOT NULL, identifier TEXT UNIQUE,
  description TEXT DEFAULT '',
  last_change DATETIME NOT NULL DEFAULT (strftime('%Y-%m-%dT%H:%M:%fZ','now')),
  min_x DOUBLE, min_y DOUBLE, max_x DOUBLE, max_y DOUBLE, srs_id INTEGER,
  CONSTRAINT fk_gc_r_srs_id FOREIGN KEY (srs_id) REFERENCES gpkg_spatial_ref_sys(srs_id));
CREATE TABLE gpkg_geometry_columns (
  table_name TEXT NOT NULL, column_name TEXT NOT NULL, geometry_type_name TEXT NOT NULL,
  srs_id INTEGER NOT NULL, z TINYINT NOT NULL, m TINYINT NOT NULL,
  CONSTRAINT pk_geom_cols PRIMARY KEY (table_name, column_name),
  CONSTRAINT uk_gc_table_name UNIQUE (table_name),
  CONSTRAINT fk_gc_tn FOREIGN KEY (table_name) REFERENCES gpkg_contents(table_name),
  CONSTRAINT fk_gc_srs FOREIGN KEY (srs_id) REFERENCES gpkg_spatial_ref_sys(srs_id));
INSERT INTO gpkg_spatial_ref_sys VALUES
  ('Undefined Cartesian SRS', -1, 'NONE', -1, 'undefined', 'undefined Cartesian coordinate reference system'),
  ('Undefined geographic SRS', 0, 'NONE', 0, 'undefined', 'undefined geographic coordinate reference system'),
  ('WGS 84 geodetic', 4326, 'EPSG', 4326, 'GEOGCS["WGS 84",DATUM["WGS_1984",SPHEROID["WGS 84",6378137,298.257223563,AUTHORITY["EPSG","7030"]],AUTHORITY["EPSG","6326"]],PRIMEM["Greenwich",0,AUTHORITY["EPSG","8901"]],UNIT["degree",0.0174532925199433,AUTHORITY["EPSG","9122"]],AXIS["Latitude",NORTH],AXIS["Longitude",EAST],AUTHORITY["EPSG","4326"]]', 'longitude and latitude in degrees on the WGS 84 ellipsoid');
)";

constexpr const char* kOwnTables = R"(
CREATE TABLE photo_data (
  fid INTEGER PRIMARY KEY AUTOINCREMENT NOT NULL, sha256 TEXT NOT NULL UNIQUE, bytes BLOB NOT NULL);
CREATE TABLE adret_schema (version INTEGER NOT NULL PRIMARY KEY, since_utc DATETIME NOT NULL);
CREATE TABLE adret_superseded (
  table_name TEXT NOT NULL, row_id TEXT NOT NULL, stamp TEXT NOT NULL, image TEXT,
  PRIMARY KEY (table_name, row_id, stamp));
CREATE TABLE adret_removed (
  table_name TEXT NOT NULL, row_id TEXT NOT NULL, stamp TEXT NOT NULL, changed_utc DATETIME NOT NULL,
  PRIMARY KEY (table_name, row_id));
CREATE TABLE adret_step (
  step INTEGER PRIMARY KEY AUTOINCREMENT NOT NULL, name TEXT NOT NULL, made_utc DATETIME NOT NULL,
  undone INTEGER NOT NULL DEFAULT 0);
CREATE TABLE adret_step_row (
  step INTEGER NOT NULL, place INTEGER NOT NULL, table_name TEXT NOT NULL, row_fid INTEGER NOT NULL,
  row_id TEXT NOT NULL, image TEXT, PRIMARY KEY (step, place)) WITHOUT ROWID;
CREATE TABLE adret_chain (
  seq INTEGER PRIMARY KEY NOT NULL, table_name TEXT NOT NULL, row_id TEXT NOT NULL,
  reading_sha256 TEXT NOT NULL, chain_sha256 TEXT NOT NULL);
CREATE INDEX adret_chain_by_row ON adret_chain (table_name, row_id);
CREATE TABLE adret_sketch (
  fid INTEGER PRIMARY KEY NOT NULL, elevation_deg TEXT NOT NULL, kind TEXT NOT NULL);
)";

std::string sql_type(const Column& column) {
  switch (column.holds) {
    case Holds::whole:
      return "INTEGER";
    case Holds::yes_no:
      return "BOOLEAN";
    case Holds::real:
      return "DOUBLE";
    case Holds::moment:
      return "DATETIME";
    case Holds::point:
      return "POINT";
    case Holds::line:
      return "LINESTRING";
    default:
      return "TEXT";
  }
}

void create_table(Database& db, const Table& table) {
  std::string sql =
      "CREATE TABLE " + sql_name(table.name) + " (fid INTEGER PRIMARY KEY AUTOINCREMENT NOT NULL";
  for (const Column& column : table.columns)
    sql += ", " + sql_name(column.name) + " " + sql_type(column) +
           (column.name == "id" ? " NOT NULL UNIQUE" : "");
  db.run(sql + ", row_stamp TEXT NOT NULL, changed_utc DATETIME NOT NULL)");
  for (const Column& column : table.columns)
    if (!column.refers_to.empty())
      db.run("CREATE INDEX " + sql_name(table.name + "_by_" + column.name) + " ON " +
             sql_name(table.name) + " (" + sql_name(column.name) + ")");
}

void register_table(Database& db, const std::string& name, const std::string& meaning,
                    const Column* geometry) {
  register_in_contents(db, name, meaning, geometry ? geometry->name : "",
                       geometry ? sql_type(*geometry) : "",
                       geometry && geometry->holds == Holds::line);
}

void set_version(Database& db) {
  db.again("INSERT INTO adret_schema VALUES (?, ?)",
           {std::int64_t{kSchemaVersion}, horizon::format_utc(now_utc_s(), 3)})
      .step();
}

}  // namespace

void create_geopackage(Database& db) {
  db.run("PRAGMA application_id=1196444487; PRAGMA user_version=10300");
  db.run(kStandardTables);
}

void register_in_contents(Database& db, const std::string& table, const std::string& meaning,
                          const std::string& geometry, const std::string& type, bool measured) {
  db.again(
        "INSERT INTO gpkg_contents (table_name, data_type, identifier, description, srs_id) "
        "VALUES (?1, ?2, ?1, ?3, ?4)",
        {table, std::string(geometry.empty() ? "attributes" : "features"), meaning,
         geometry.empty() ? Cell() : Cell(std::int64_t{4326})})
      .step();
  if (!geometry.empty())
    db.again("INSERT INTO gpkg_geometry_columns VALUES (?1, ?2, ?3, 4326, 2, ?4)",
             {table, geometry, type, std::int64_t{measured ? 2 : 0}})
        .step();
}

void create_schema(Database& db) {
  create_geopackage(db);
  db.run(kOwnTables);
  register_table(db, "photo_data", "the bytes of photographs, by their SHA-256", nullptr);
  for (const Table* table : all_tables()) {
    create_table(db, *table);
    register_table(db, table->name, table->meaning, table->geometry());
  }
  set_version(db);
}

void check_is_site_file(Database& db) {
  const std::string& path = db.path();
  if (db.number("PRAGMA application_id") != 1196444487 ||
      !db.number("SELECT count(*) FROM sqlite_master WHERE type='table' AND name='adret_schema'"))
    give_up(Code::bad_input, "error.no_site_file", path);
  const std::int64_t version = db.number("SELECT version FROM adret_schema ORDER BY version DESC");
  if (version > kSchemaVersion)
    give_up(Code::bad_input, {"error.file_of_newer_layout", {version, kSchemaVersion}}, path);
}

bool has_our_schema(Database& db) {
  static constexpr const char* kList =
      "SELECT type || char(10) || name || char(10) || tbl_name || char(10) || coalesce(sql, '') "
      "FROM sqlite_master LIMIT 1000";
  const auto list = [](Database& one) {
    std::set<std::string> items;
    Statement rows = one.prepare(kList);
    while (rows.step()) items.insert(rows.text(0));
    return items;
  };
  static const std::set<std::string> ours = [&] {
    Database fresh = Database::temporary("");
    create_schema(fresh);
    return list(fresh);
  }();
  auto theirs = list(db);
  theirs.erase("table\nlayer_styles\nlayer_styles\n" + layer_styles_sql());  // a hand-over's
  if (theirs != ours) return false;
  if (db.number("SELECT version FROM adret_schema ORDER BY version DESC") != kSchemaVersion)
    return false;
  // A row number near the last there can be would soon let no row in.
  return db.number(
             "SELECT count(*) FROM sqlite_sequence WHERE typeof(seq)<>'integer' OR "
             "seq>1000000000000 OR seq<0") == 0;
}

void refresh_contents(Database& db) {
  for (const Table* table : all_tables()) {
    double west = 181, east = -181, south = 91, north = -91;
    if (const Column* geometry = table->geometry()) {
      Statement rows =
          db.prepare("SELECT " + sql_name(geometry->name) + " FROM " + sql_name(table->name) +
                     " WHERE " + sql_name(geometry->name) + " IS NOT NULL");
      while (rows.step()) {
        const Cell cell = rows.cell(0);
        const auto* blob = std::get_if<Blob>(&cell);
        if (!blob) continue;
        std::vector<PathPoint> points;
        if (const auto point = point_of(blob->bytes))
          points.push_back({*point, {}});
        else if (auto line = line_of(blob->bytes))
          points = std::move(*line);
        for (const auto& [at, time] : points) {
          west = std::min(west, at.longitude_deg);
          east = std::max(east, at.longitude_deg);
          south = std::min(south, at.latitude_deg);
          north = std::max(north, at.latitude_deg);
        }
      }
    }
    const bool any = west <= east;
    db.again(
          "UPDATE gpkg_contents SET min_x=?2, min_y=?3, max_x=?4, max_y=?5, last_change="
          "coalesce((SELECT max(changed_utc) FROM " +
              sql_name(table->name) + "), last_change) WHERE table_name=?1",
          {table->name, any ? Cell(west) : Cell(), any ? Cell(south) : Cell(),
           any ? Cell(east) : Cell(), any ? Cell(north) : Cell()})
        .step();
  }
}

std::string select_list(const Table& table) {
  std::string list = "fid, row_stamp, changed_utc";
  for (const Column& column : table.columns) list += ", " + sql_name(column.name);
  return list;
}

}  // namespace survey
