// survey/exchange/programme_schema.cpp: the tables of a programme, in a GeoPackage and on a server.
#include <filesystem>

#include "survey/book/durable.h"
#include "survey/book/layer_styles.h"
#include "survey/book/store_internal.h"
#include "survey/exchange/programme_rows.h"
#include "survey/exchange/programme_sql.h"

namespace survey {

using horizon::Code;

namespace {

constexpr std::int64_t kVersion = 1;

struct Sheet {
  const char *name, *meaning;
  const std::vector<Column>& columns;
  bool points;
};
const std::vector<Sheet>& sheets() {
  static const std::vector<Sheet> all = {
      {"site", "one row a site: its newest state", programme_columns<ProgrammeSite>(), true},
      {"crop_odds", "crops in the unheated house", programme_columns<ProgrammeCrop>(), false},
      {"verdict_line", "what speaks for and against a site", programme_columns<ProgrammeVerdict>(),
       false},
      {"open_question", "what is still to be found out", programme_columns<ProgrammeQuestion>(),
       false},
      {"photo", "where photographs were taken", programme_columns<ProgrammePhoto>(), true},
  };
  return all;
}

std::string number(double value) {
  char text[40];
  std::snprintf(text, sizeof text, "%.10g", value);
  return text;
}

std::string type_of(const Column& column, bool postgres) {
  switch (column.holds) {
    case Holds::whole:
      return "INTEGER";
    case Holds::yes_no:
      return "BOOLEAN";
    case Holds::real:
      return postgres ? "DOUBLE PRECISION" : "DOUBLE";
    case Holds::moment:
      return postgres ? "TIMESTAMPTZ" : "DATETIME";
    default:
      return "TEXT";
  }
}

// Each column with what it may hold; of a figure, its low end is not above its high end.
std::string columns_sql(const std::vector<Column>& columns, bool postgres) {
  std::string sql, low;
  for (const Column& column : columns) {
    const std::string name = sql_name(column.name);
    sql += ", " + name + " " + type_of(column, postgres) + (column.nullable ? "" : " NOT NULL");
    const bool counts = column.holds == Holds::real || column.holds == Holds::whole;
    if (counts && std::isfinite(column.range.min))
      sql += " CHECK (" + name + " BETWEEN " + number(column.range.min) + " AND " +
             number(column.range.max) + ")";
    if (column.required) sql += " CHECK (" + name + " <> '')";
    if (column.name.ends_with("_low")) low = column.name;
    if (column.name.ends_with("_high") && !column.name.starts_with("best_facing"))
      sql += " CHECK (" + sql_name(low) + " <= " + name + ")";
  }
  return sql;
}

void make_tables(Database& db) {
  for (const Sheet& sheet : sheets()) {
    const bool site = std::string(sheet.name) == "site";
    std::string sql = "CREATE TABLE " + std::string(sheet.name) + " (";
    sql +=
        site
            ? "state_no INTEGER PRIMARY KEY AUTOINCREMENT NOT NULL"
            : "fid INTEGER PRIMARY KEY AUTOINCREMENT NOT NULL, site_id TEXT NOT NULL, state_no "
              "INTEGER NOT NULL REFERENCES site (state_no) ON DELETE CASCADE, line INTEGER NOT NULL";
    if (sheet.points) sql += ", geom POINT";
    sql += columns_sql(sheet.columns, false);
    sql += site ? ", stamp TEXT NOT NULL, follows INTEGER, gathered_utc DATETIME NOT NULL DEFAULT "
                  "(strftime('%Y-%m-%dT%H:%M:%fZ','now')), UNIQUE (site_id))"
                : ", UNIQUE (state_no, line))";
    db.run(sql);
    register_in_contents(db, sheet.name, sheet.meaning, sheet.points ? "geom" : "", "POINT", false);
  }
  db.run(
      "CREATE INDEX site_by_name ON site (name, site_id);"
      "CREATE TABLE thumbnail (fid INTEGER PRIMARY KEY AUTOINCREMENT NOT NULL, sha256 TEXT NOT NULL "
      "UNIQUE, jpeg BLOB NOT NULL);"
      "CREATE TABLE copy_seen (fid INTEGER PRIMARY KEY AUTOINCREMENT NOT NULL, site_id TEXT NOT NULL, "
      "copy_sha256 TEXT NOT NULL, file_name TEXT NOT NULL, seen_utc DATETIME NOT NULL DEFAULT "
      "(strftime('%Y-%m-%dT%H:%M:%fZ','now')), UNIQUE (site_id, copy_sha256));"
      "CREATE TABLE kept_copy (state_no INTEGER PRIMARY KEY NOT NULL REFERENCES site (state_no) ON "
      "DELETE CASCADE, rows BLOB NOT NULL, weather_name TEXT NOT NULL, weather BLOB NOT NULL);"
      "CREATE TABLE programme (version INTEGER NOT NULL PRIMARY KEY, since_utc DATETIME NOT NULL);");
  register_in_contents(db, "thumbnail", "photographs, small, by the SHA-256 of the original", "",
                       "", false);
  register_in_contents(db, "copy_seen", "copies of sites that were taken in", "", "", false);
  db.again("INSERT INTO programme VALUES (?1, strftime('%Y-%m-%dT%H:%M:%fZ','now'))",
           {std::int64_t{kVersion}})
      .step();
  const LayerStyle styles[] = {
      {.table = "site",
       .geometry = "geom",
       .label = "name",
       .by = "winter_sun_h_per_day",
       .classes = {{0, 2, "square", "#42545e", 3.0, "< 2 h"},
                   {2, 4, "circle", "#b07418", 3.4, "2 - 4 h"},
                   {4, 24, "star", "#d98a00", 4.6, "> 4 h"}}},
      {.table = "photo",
       .geometry = "geom",
       .sign = "cross",
       .colour = "#286096",
       .size_mm = 2.6,
       .label = "label"},
  };
  put_layer_styles(db, styles);
}

std::string server_tables() {
  std::string sql = "CREATE SCHEMA adret;";
  for (const Sheet& sheet : sheets()) {
    const std::string name = sheet.name, table = "adret." + name + "_state";
    const bool site = name == "site";
    sql += "CREATE TABLE " + table + " (";
    sql += site ? "state_no BIGINT GENERATED ALWAYS AS IDENTITY PRIMARY KEY"
                : "row_no BIGINT GENERATED ALWAYS AS IDENTITY PRIMARY KEY, site_id TEXT NOT NULL, "
                  "state_no BIGINT NOT NULL, line INTEGER NOT NULL";
    if (sheet.points) sql += ", geom geometry(Point, 4326)";
    sql += columns_sql(sheet.columns, true);
    if (site)
      sql +=
          ", stamp TEXT NOT NULL, follows BIGINT CHECK (follows < state_no), gathered_utc TIMESTAMPTZ "
          "NOT NULL DEFAULT now(), gathered_by TEXT NOT NULL DEFAULT current_user, UNIQUE (site_id, "
          "state_no), UNIQUE (site_id, follows), FOREIGN KEY (site_id, follows) REFERENCES "
          "adret.site_state (site_id, state_no));"
          "CREATE UNIQUE INDEX ON adret.site_state (site_id) WHERE follows IS NULL;"
          "CREATE INDEX ON adret.site_state (name);"
          "CREATE INDEX ON adret.site_state (winter_sun_h_per_day);";
    else
      sql +=
          ", UNIQUE (state_no, line), FOREIGN KEY (site_id, state_no) REFERENCES "
          "adret.site_state (site_id, state_no));"
          "CREATE INDEX ON " +
          table + " (site_id);";
    if (sheet.points) sql += "CREATE INDEX ON " + table + " USING gist (geom);";
    // The newest state is the one that none follows.
    sql += "CREATE VIEW adret." + name + " AS SELECT t.* FROM " + table +
           " t WHERE NOT EXISTS (SELECT 1 FROM adret.site_state n WHERE n.site_id = t.site_id AND "
           "n.follows = t.state_no);"
           "COMMENT ON VIEW adret." +
           name + " IS '" + sheet.meaning + "';";
  }
  return sql +
         "CREATE TABLE adret.thumbnail (sha256 TEXT PRIMARY KEY, jpeg BYTEA NOT NULL);"
         "CREATE TABLE adret.copy_seen (site_id TEXT NOT NULL, copy_sha256 TEXT NOT NULL, file_name TEXT "
         "NOT NULL, seen_utc TIMESTAMPTZ NOT NULL DEFAULT now(), seen_by TEXT NOT NULL DEFAULT "
         "current_user, PRIMARY KEY (site_id, copy_sha256));"
         "CREATE TABLE adret.kept_copy (state_no BIGINT PRIMARY KEY REFERENCES adret.site_state, rows "
         "BYTEA NOT NULL, weather_name TEXT NOT NULL, weather BYTEA NOT NULL);"
         "CREATE TABLE adret.programme (version INTEGER PRIMARY KEY, since_utc TIMESTAMPTZ NOT NULL "
         "DEFAULT now());"
         "INSERT INTO adret.programme (version) VALUES (" +
         std::to_string(kVersion) + ");";
}

// Two roles without a login, to be granted to people: one may add, one may look.
constexpr const char* kRoles = R"(
DO $$ BEGIN
  IF NOT EXISTS (SELECT 1 FROM pg_roles WHERE rolname = 'adret_gatherer') THEN
    CREATE ROLE adret_gatherer NOLOGIN; END IF;
  IF NOT EXISTS (SELECT 1 FROM pg_roles WHERE rolname = 'adret_reader') THEN
    CREATE ROLE adret_reader NOLOGIN; END IF;
END $$;
GRANT USAGE ON SCHEMA adret TO adret_gatherer, adret_reader;
GRANT SELECT, INSERT ON ALL TABLES IN SCHEMA adret TO adret_gatherer;
REVOKE INSERT ON adret.programme, adret.site, adret.crop_odds, adret.verdict_line,
  adret.open_question, adret.photo FROM adret_gatherer;
GRANT SELECT ON adret.site, adret.crop_odds, adret.verdict_line, adret.open_question, adret.photo,
  adret.thumbnail, adret.programme TO adret_reader;
)";

bool is_made(ProgrammeSql& sql) {
  return sql.number("SELECT 1 FROM pg_tables WHERE schemaname='adret' AND tablename='programme'") !=
         0;
}

}  // namespace

void make_programme_file(const std::string& path) {
  auto place = value_or_throw(Unfinished::file(path));
  Database db(place.path(), "mode=rwc");
  create_geopackage(db);
  make_tables(db);
  db.close();
  const auto landed = place.land(Existing::keep);
  std::error_code error;
  if (!landed && !std::filesystem::exists(path, error)) throw Failure{landed.error()};
}

void make_programme_server(ProgrammeSql& sql, std::vector<horizon::Error>& remarks) {
  if (is_made(sql)) return;
  ProgrammeTransaction transaction(sql);
  sql.rows("SELECT pg_advisory_xact_lock(?1::bigint)", {std::int64_t{0x4144524554}});
  if (!is_made(sql)) {
    if (!sql.number("SELECT 1 FROM pg_extension WHERE extname='postgis'"))
      sql.run("CREATE EXTENSION postgis");
    sql.run(server_tables());
    sql.run("SAVEPOINT roles");
    try {
      sql.run(kRoles);
    } catch (const Failure& failure) {
      sql.run("ROLLBACK TO SAVEPOINT roles");
      remarks.push_back({Code::failed,
                         {"error.programme_roles", {horizon::Arg(failure.error.sentence())}},
                         sql.where()});
    }
  }
  transaction.commit();
}

void check_is_programme(ProgrammeSql& sql) {
  std::int64_t version = 0;
  if (sql.postgres()
          ? is_made(sql)
          : sql.number("SELECT 1 FROM sqlite_master WHERE type='table' AND name='programme'"))
    version = sql.number(std::string("SELECT max(version) FROM ") +
                         (sql.postgres() ? "adret.programme" : "programme"));
  if (version == 0) give_up(Code::bad_input, "error.no_programme", sql.where());
  if (version > kVersion)
    give_up(Code::bad_input, {"error.file_of_newer_layout", {version, kVersion}}, sql.where());
}

}  // namespace survey
