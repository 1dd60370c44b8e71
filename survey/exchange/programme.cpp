#include "survey/exchange/programme.h"

#include <algorithm>
#include <filesystem>
#include <map>

#include "survey/exchange/programme_rows.h"
#include "survey/exchange/programme_sql.h"

namespace survey {

using horizon::Code;

namespace {

constexpr std::int64_t kMostSites = 200'000;

// A server's tables hold every state; its views, and a file's tables, the newest.
std::string stored(const ProgrammeSql& sql, const std::string& table) {
  return sql.postgres() ? "adret." + table + "_state" : table;
}
std::string shown(const ProgrammeSql& sql, const std::string& table) {
  return sql.postgres() ? "adret." + table : table;
}
std::string select_list(const ProgrammeSql& sql, const std::vector<Column>& columns) {
  std::string list;
  for (const Column& column : columns) {
    const std::string name = sql_name(column.name);
    list += (list.empty() ? "" : ", ");
    list += sql.postgres() && column.holds == Holds::moment
                ? "to_char(" + name + " AT TIME ZONE 'UTC', 'YYYY-MM-DD\"T\"HH24:MI:SS.MS\"Z\"')"
                : name;
  }
  return list;
}

// A point for maps beside the columns of its latitude and longitude.
Cell point_of(const std::optional<double>& latitude_deg, const std::optional<double>& longitude_deg,
              const std::optional<double>& height_m) {
  if (!latitude_deg || !longitude_deg) return {};
  return Blob{geometry_of(Position{*latitude_deg, *longitude_deg, height_m})};
}

struct Insert {
  std::string names, places;
  Cells values;

  void add(const std::string& name, Cell value) {
    values.push_back(std::move(value));
    put(name, "?" + std::to_string(values.size()));
  }
  void add(const std::vector<Column>& columns, Cells cells) {
    for (std::size_t i = 0; i < cells.size(); ++i)
      add(sql_name(columns[i].name), std::move(cells[i]));
  }
  void put(const std::string& name, const std::string& place) {
    names += (names.empty() ? "" : ", ") + name;
    places += (places.empty() ? "" : ", ") + place;
  }
  // After the columns: a server makes the point of them.
  void point(const ProgrammeSql& sql, const std::vector<Column>& columns, std::size_t before,
             Cell blob) {
    if (!sql.postgres()) return add("geom", std::move(blob));
    const auto place = [&](const char* name) {
      const auto at = std::ranges::find(columns, name, &Column::name) - columns.begin();
      return "?" + std::to_string(before + static_cast<std::size_t>(at) + 1) + "::float8";
    };
    put("geom", "ST_SetSRID(ST_MakePoint(" + place("longitude_deg") + ", " + place("latitude_deg") +
                    "), 4326)");
  }
  std::string into(const std::string& table) const {
    return "INSERT INTO " + table + " (" + names + ") VALUES (" + places + ")";
  }
};

template <class Row>
void put_lines(ProgrammeSql& sql, const std::string& table, const std::string& site_id,
               std::int64_t state_no, const std::vector<Row>& rows) {
  std::int64_t line = 0;
  for (const Row& row : rows) {
    Insert insert;
    insert.add("site_id", site_id);
    insert.add("state_no", state_no);
    insert.add("line", ++line);
    insert.add(programme_columns<Row>(), programme_cells(row));
    if constexpr (std::is_same_v<Row, ProgrammePhoto>)
      insert.point(sql, programme_columns<Row>(), 3,
                   point_of(row.latitude_deg, row.longitude_deg, {}));
    sql.rows(insert.into(stored(sql, table)), insert.values);
  }
}

// 0: another was first.
std::int64_t put_site(ProgrammeSql& sql, const ProgrammeState& state, const std::string& stamp,
                      std::int64_t follows) {
  const ProgrammeSite& site = state.site;
  if (!sql.postgres()) {  // within the write lock of the file
    if (sql.number("SELECT state_no FROM site WHERE site_id=?1", {site.site_id}) != follows)
      return 0;
    sql.rows("DELETE FROM site WHERE site_id=?1", {site.site_id});
  }
  Insert insert;
  const auto& columns = programme_columns<ProgrammeSite>();
  insert.add(columns, programme_cells(site));
  insert.point(sql, columns, 0, point_of(site.latitude_deg, site.longitude_deg, site.height_m));
  insert.add("stamp", stamp);
  insert.add("follows", follows ? Cell(follows) : Cell());
  return sql.number(insert.into(stored(sql, "site")) + " ON CONFLICT DO NOTHING RETURNING state_no",
                    insert.values);
}

template <class Row>
Row read_row(const char* table, const Cells& cells, std::size_t from) {
  Row row;
  CellReader reader{table, cells, from};
  describe(row, reader);
  return row;
}

template <class Row>
void read_lines(ProgrammeSql& sql, const char* table, const std::string& where, const Cells& key,
                const std::map<std::int64_t, ProgrammeState*>& by_no,
                std::vector<Row> ProgrammeState::*member) {
  sql.each("SELECT state_no, " + select_list(sql, programme_columns<Row>()) + " FROM " +
               shown(sql, table) + where + " ORDER BY state_no, line",
           key, [&](const Cells& cells) {
             const auto* no = std::get_if<std::int64_t>(&cells[0]);
             const auto found = no ? by_no.find(*no) : by_no.end();
             if (found != by_no.end())
               (found->second->*member).push_back(read_row<Row>(table, cells, 1));
           });
}

const std::string& text(const Cell& cell) {
  static const std::string none;
  const auto* words = std::get_if<std::string>(&cell);
  return words ? *words : none;
}
const std::string& bytes(const Cell& cell) {
  static const std::string none;
  const auto* blob = std::get_if<Blob>(&cell);
  return blob ? blob->bytes : none;
}

}  // namespace

std::vector<Cells> ProgrammeSql::rows(const std::string& sql, const Cells& values) {
  std::vector<Cells> out;
  each(sql, values, [&](const Cells& row) { out.push_back(row); });
  return out;
}

std::int64_t ProgrammeSql::number(const std::string& sql, const Cells& values) {
  const auto found = rows(sql, values);
  if (found.empty() || found[0].empty()) return 0;
  const auto* number = std::get_if<std::int64_t>(&found[0][0]);
  return number ? *number : 0;
}

ProgrammeTransaction::~ProgrammeTransaction() {
  if (done_) return;
  try {
    sql_.run("ROLLBACK");
  } catch (const Failure&) {
    // The server is gone, or ended it already: nothing of it stays.
  }
}

Programme::Programme(std::unique_ptr<ProgrammeSql> sql) : sql_(std::move(sql)) {}
Programme::Programme(Programme&&) noexcept = default;
Programme::~Programme() = default;

bool Programme::is_server() const { return sql_->postgres(); }

horizon::Result<Programme> Programme::open(const std::string& where, Open how) {
  return guarded([&] {
    std::error_code error;
    std::vector<horizon::Error> remarks;
    std::unique_ptr<ProgrammeSql> sql;
    if (is_server_address(where)) {
      sql = programme_server(where);
      if (how == Open::add) make_programme_server(*sql, remarks);
    } else {
      const bool there = std::filesystem::exists(where, error);
      if (!there && how == Open::read) give_up(Code::not_found, "error.no_such_file", where);
      if (!there) make_programme_file(where);
      sql = programme_file(where, how == Open::read);
    }
    check_is_programme(*sql);
    Programme programme(std::move(sql));
    programme.remarks_ = std::move(remarks);
    return programme;
  });
}

horizon::Result<bool> Programme::knows(const Id& site_id, const std::string& copy_sha256) const {
  return guarded([&] {
    return sql_->number("SELECT 1 FROM " + shown(*sql_, "copy_seen") +
                            " WHERE site_id=?1 AND copy_sha256=?2",
                        {site_id, copy_sha256}) != 0;
  });
}

horizon::Result<std::optional<KeptSite>> Programme::kept(const Id& site_id) const {
  return guarded([&]() -> std::optional<KeptSite> {
    const auto rows =
        sql_->rows("SELECT k.state_no, s.stamp, k.rows, k.weather_name, k.weather FROM " +
                       shown(*sql_, "kept_copy") + " k JOIN " + shown(*sql_, "site") +
                       " s ON s.state_no=k.state_no WHERE s.site_id=?1",
                   {site_id});
    if (rows.empty()) return std::nullopt;
    const Cells& row = rows[0];
    return KeptSite{std::get<std::int64_t>(row[0]), text(row[1]), bytes(row[2]), text(row[3]),
                    bytes(row[4])};
  });
}

horizon::Result<bool> Programme::put(const ProgrammeState& state, const KeptSite& kept,
                                     std::int64_t follows, const std::string& copy_sha256,
                                     const std::vector<Thumbnail>& pictures) {
  return guarded([&] {
    const ProgrammeSite& site = state.site;
    const std::string stamp = stamp_of(state);
    ProgrammeTransaction transaction(*sql_);
    const bool same =
        sql_->number("SELECT 1 FROM " + shown(*sql_, "site") + " WHERE site_id=?1 AND stamp=?2",
                     {site.site_id, stamp}) != 0;
    if (!same) {
      const std::int64_t no = put_site(*sql_, state, stamp, follows);
      if (no == 0) return false;
      put_lines(*sql_, "crop_odds", site.site_id, no, state.crops);
      put_lines(*sql_, "verdict_line", site.site_id, no, state.verdict);
      put_lines(*sql_, "open_question", site.site_id, no, state.questions);
      put_lines(*sql_, "photo", site.site_id, no, state.photos);
      sql_->rows("INSERT INTO " + shown(*sql_, "kept_copy") + " VALUES (?1, ?2, ?3, ?4)",
                 {no, Blob{kept.packed}, kept.weather_name, Blob{kept.weather_packed}});
    }
    for (const Thumbnail& picture : pictures)
      sql_->rows("INSERT INTO " + shown(*sql_, "thumbnail") +
                     " (sha256, jpeg) VALUES (?1, ?2) ON CONFLICT DO NOTHING",
                 {picture.sha256, Blob{picture.jpeg}});
    sql_->rows("INSERT INTO " + shown(*sql_, "copy_seen") +
                   " (site_id, copy_sha256, file_name) VALUES (?1, ?2, ?3) ON CONFLICT DO NOTHING",
               {site.site_id, copy_sha256, site.file_name});
    if (!sql_->postgres())
      sql_->run(
          "UPDATE gpkg_contents SET last_change=strftime('%Y-%m-%dT%H:%M:%fZ','now'), "
          "min_x=(SELECT min(longitude_deg) FROM site), max_x=(SELECT max(longitude_deg) FROM site), "
          "min_y=(SELECT min(latitude_deg) FROM site), max_y=(SELECT max(latitude_deg) FROM site) "
          "WHERE table_name='site'");
    transaction.commit();
    return true;
  });
}

horizon::Result<bool> Programme::claim(const Id& site_id) {
  return guarded([&] {
    return !sql_->postgres() ||
           sql_->number("SELECT pg_try_advisory_lock(hashtextextended(?1, 0))", {site_id}) != 0;
  });
}

horizon::Result<void> Programme::release(const Id& site_id) {
  return guarded([&] {
    if (sql_->postgres())
      sql_->rows("SELECT pg_advisory_unlock(hashtextextended(?1, 0))", {site_id});
  });
}

std::vector<ProgrammeState> Programme::read(bool details, const std::optional<Id>& only) const {
  const Cells key = only ? Cells{*only} : Cells{};
  const std::string where = only ? " WHERE site_id=?1" : "";
  std::vector<ProgrammeState> states;
  std::vector<std::int64_t> numbers;
  if (!only)
    states.reserve(static_cast<std::size_t>(std::clamp<std::int64_t>(
        sql_->number("SELECT count(*) FROM " + shown(*sql_, "site")), 0, kMostSites)));
  sql_->each("SELECT state_no, " + select_list(*sql_, programme_columns<ProgrammeSite>()) +
                 " FROM " + shown(*sql_, "site") + where + " ORDER BY name, site_id LIMIT " +
                 std::to_string(kMostSites),
             key, [&](const Cells& cells) {
               states.emplace_back().site = read_row<ProgrammeSite>("site", cells, 1);
               const auto* no = std::get_if<std::int64_t>(&cells[0]);
               numbers.push_back(no ? *no : 0);
             });
  std::map<std::int64_t, ProgrammeState*> by_no;
  if (details)
    for (std::size_t i = 0; i < states.size(); ++i) by_no[numbers[i]] = &states[i];
  if (details) {
    read_lines(*sql_, "crop_odds", where, key, by_no, &ProgrammeState::crops);
    read_lines(*sql_, "verdict_line", where, key, by_no, &ProgrammeState::verdict);
    read_lines(*sql_, "open_question", where, key, by_no, &ProgrammeState::questions);
    read_lines(*sql_, "photo", where, key, by_no, &ProgrammeState::photos);
  }
  return states;
}

horizon::Result<std::vector<ProgrammeState>> Programme::sites(bool details) const {
  return guarded([&] { return read(details, {}); });
}

horizon::Result<ProgrammeState> Programme::site(const Id& site_id) const {
  return guarded([&] {
    auto found = read(true, site_id);
    if (found.empty()) give_up(Code::not_found, "error.no_such_row", site_id);
    return std::move(found.front());
  });
}

horizon::Result<std::string> Programme::thumbnail(const std::string& sha256) const {
  return guarded([&]() -> std::string {
    const auto rows =
        sql_->rows("SELECT jpeg FROM " + shown(*sql_, "thumbnail") + " WHERE sha256=?1", {sha256});
    return rows.empty() ? std::string() : bytes(rows[0][0]);
  });
}

std::string stamp_of(const ProgrammeState& state) {
  std::string all;
  const auto add = [&](const Cells& cells) {
    for (const Cell& cell : cells) all += words_of(cell) + '\x1f';
    all += '\x1e';
  };
  ProgrammeSite site = state.site;
  site.file_name.clear();
  site.software.clear();
  add(programme_cells(site));
  for (const auto& row : state.crops) add(programme_cells(row));
  for (const auto& row : state.verdict) add(programme_cells(row));
  for (const auto& row : state.questions) add(programme_cells(row));
  for (const auto& row : state.photos) add(programme_cells(row));
  return sha256_hex(all);
}

}  // namespace survey
