// The one door for databases from outside: nothing of their schema is executed or kept. Each row
// goes through the check that typed rows go through, into tables of our own making.
#include <algorithm>
#include <cstring>
#include <filesystem>
#include <fstream>
#include <unordered_set>

#include "horizon/time.h"
#include "survey/book/durable.h"
#include "survey/book/store_internal.h"

namespace survey {

namespace fs = std::filesystem;
using horizon::Code;

namespace {

constexpr std::int64_t kMostKept = 2'000'000;  // of earlier states and links
constexpr std::size_t kMostTold = 200;         // refusals by name; the rest by number

bool is_stamp(const std::string& stamp, const std::string& table) {
  return stamp.size() == table.size() + 17 && stamp.starts_with(table) &&
         stamp[table.size()] == ':' &&
         stamp.find_first_not_of("0123456789abcdef", table.size() + 1) == std::string::npos;
}

std::string as_text(const Cell& cell) {
  const auto* text = std::get_if<std::string>(&cell);
  return text ? *text : std::string();
}

class Door {
 public:
  Door(Database& from, Database& to, std::vector<horizon::Error>& refused)
      : from_(from), to_(to), refused_(refused) {}

  void tables() {
    for (const Table* table : all_tables()) rows(*table);
    if (untold_ > 0)
      refused_.push_back({Code::bad_input, {"error.more_rows_left_out", {untold_}}, from_.path()});
    if (ids_.find("site") == ids_.end() || ids_["site"].empty())
      give_up(Code::bad_input, "error.file_names_no_site", from_.path());
  }

  void history() {
    copy("SELECT table_name, row_id, stamp, image FROM adret_superseded",
         "INSERT OR IGNORE INTO adret_superseded VALUES (?, ?, ?, ?)", [](Cells& row) {
           const Table* table = table_named(as_text(row[0]));
           if (!table || !is_uuid(as_text(row[1])) || !is_stamp(as_text(row[2]), table->name))
             return false;
           row[3] = sound_image(*table, row[3]);
           return true;
         });
    copy("SELECT table_name, row_id, stamp, changed_utc FROM adret_removed",
         "INSERT OR IGNORE INTO adret_removed VALUES (?, ?, ?, ?)", [this](Cells& row) {
           const Table* table = table_named(as_text(row[0]));
           return table && is_uuid(as_text(row[1])) && is_stamp(as_text(row[2]), table->name) &&
                  horizon::parse_utc_s(as_text(row[3])) &&
                  !ids_[table->name].contains(as_text(row[1]));
         });
    if (has("adret_chain"))
      copy(
          "SELECT seq, table_name, row_id, reading_sha256, chain_sha256 FROM adret_chain ORDER BY seq",
          "INSERT OR IGNORE INTO adret_chain VALUES (?, ?, ?, ?, ?)", [](Cells& row) {
            return std::holds_alternative<std::int64_t>(row[0]) && table_named(as_text(row[1])) &&
                   is_uuid(as_text(row[2])) && as_text(row[3]).size() == 64 &&
                   as_text(row[4]).size() == 64;
          });
  }

  // Readings of a layout that knew no chain are taken into one now.
  void chain() {
    if (has("adret_chain")) return;
    for (const Table* table : all_tables()) {
      if (!table->keep_for_ever) continue;
      Statement rows = to_.prepare("SELECT " + select_list(*table) + " FROM " +
                                   sql_name(table->name) + " ORDER BY fid");
      while (rows.step()) add_to_chain(to_, *table, stored_row(*table, rows).cells);
    }
  }

  void steps() {
    copy("SELECT step, name, made_utc, undone FROM adret_step",
         "INSERT OR IGNORE INTO adret_step VALUES (?, ?, ?, ?)", [](Cells& row) {
           return std::holds_alternative<std::int64_t>(row[0]) &&
                  horizon::parse_utc_s(as_text(row[2])) &&
                  std::holds_alternative<std::int64_t>(row[3]);
         });
    copy("SELECT step, place, table_name, row_fid, row_id, image FROM adret_step_row",
         "INSERT OR IGNORE INTO adret_step_row VALUES (?, ?, ?, ?, ?, ?)", [](Cells& row) {
           const Table* table = table_named(as_text(row[2]));
           if (!table || !is_uuid(as_text(row[4])) ||
               !std::holds_alternative<std::int64_t>(row[0]) ||
               !std::holds_alternative<std::int64_t>(row[1]) ||
               !std::holds_alternative<std::int64_t>(row[3]))
             return false;
           if (std::holds_alternative<std::monostate>(row[5])) return true;
           row[5] = sound_image(*table, row[5]);
           return !std::holds_alternative<std::monostate>(row[5]);
         });
  }

 private:
  bool has(const std::string& table) {
    const Cells key = {table};
    Statement& found =
        from_.again("SELECT count(*) FROM sqlite_master WHERE type='table' AND name=?", key);
    found.step();
    const bool there = found.integer(0) == 1;
    found.reset();
    return there;
  }

  static Cell sound_image(const Table& table, const Cell& image) {
    const auto* text = std::get_if<std::string>(&image);
    if (!text) return {};
    try {
      Cells cells = cells_of_image(table, *text);
      check_cells(table, cells);
      return image_of(table, cells);
    } catch (const Failure&) {
      return {};
    }
  }

  template <class Sound>
  void copy(const char* select, const char* insert, const Sound& sound) {
    Statement rows = from_.prepare(select);
    std::int64_t count = 0;
    while (rows.step()) {
      if (++count > kMostKept)
        give_up(Code::bad_input, "error.too_many_earlier_states", from_.path());
      Cells row;
      for (int i = 0; i < rows.columns(); ++i) row.push_back(rows.cell(i));
      if (sound(row)) to_.again(insert, row).step();
    }
  }

  void refuse(horizon::Error error) {
    if (refused_.size() < kMostTold)
      refused_.push_back(std::move(error));
    else
      ++untold_;
  }

  // Of the columns that an older layout lacks, NULL: the check fills in what is usual.
  std::string list_of(const Table& table) {
    std::unordered_set<std::string> there;
    Statement info = from_.prepare("PRAGMA table_xinfo(" + sql_name(table.name) + ")");
    while (info.step())
      if (info.integer(6) == 0) there.insert(info.text(1));  // not one that is computed
    if (there.empty()) return {};
    if (!there.contains("id"))
      give_up(Code::bad_input, {"error.table_without_ids", {table.name}}, from_.path());
    const auto one = [&](const std::string& name) {
      return there.contains(name) ? sql_name(name) : std::string("NULL");
    };
    std::string list = one("fid") + ", " + one("row_stamp") + ", " + one("changed_utc");
    for (const Column& column : table.columns) list += ", " + one(column.name);
    return list;
  }

  void rows(const Table& table) {
    const std::string list = list_of(table);
    auto& ids = ids_[table.name];
    if (list.empty()) return;
    Statement rows =
        from_.prepare("SELECT " + list + " FROM " + sql_name(table.name) + " NOT INDEXED");
    Statement insert = to_.prepare(insert_into(table));
    std::unordered_set<std::int64_t> fids;
    int count = 0;
    while (rows.step()) {
      if (++count > kMostRows)
        give_up(Code::bad_input, {"error.too_many_rows", {table.name}}, from_.path());
      StoredRow row = stored_row(table, rows);
      row.stamp = as_text(rows.cell(1));
      row.changed_utc = as_text(rows.cell(2));
      const std::string name = table.name + " number " + std::to_string(count);
      try {
        check_cells(table, row.cells);
        check_references(table, row.cells);
        const std::string id = as_text(row.cells[0]);
        if (table.single && !ids.empty()) give_up(Code::bad_input, "error.one_row_only");
        if (!ids.insert(id).second) give_up(Code::bad_input, "error.id_twice");
      } catch (Failure& failure) {
        refuse({failure.error.code, failure.error.sentence(),
                name + (failure.error.where.empty() ? "" : ", " + failure.error.where)});
        continue;
      }
      if (row.fid < 1 || row.fid > 1'000'000'000 || !fids.insert(row.fid).second) row.fid = 0;
      if (!is_stamp(row.stamp, table.name))
        row.stamp = table.name + ":" + sha256_hex(image_of(table, row.cells)).substr(0, 16);
      if (!horizon::parse_utc_s(row.changed_utc)) row.changed_utc = "1970-01-01T00:00:00.000Z";
      insert_unchained(insert, row);
    }
  }

  void check_references(const Table& table, const Cells& cells) {
    for (std::size_t i = 0; i < table.columns.size(); ++i) {
      const Column& column = table.columns[i];
      const std::string id = column.refers_to.empty() ? std::string() : as_text(cells[i]);
      if (!id.empty() && !ids_[column.refers_to].contains(id))
        give_up(Code::bad_input, {"error.reference_missing", {column.refers_to}},
                table.name + "." + column.name);
    }
  }

  static std::string insert_into(const Table& table) {
    std::string sql = "INSERT INTO " + sql_name(table.name) + " VALUES (?";
    for (std::size_t i = 0; i < table.columns.size() + 2; ++i) sql += ", ?";
    return sql + ")";
  }

  static void insert_unchained(Statement& insert, const StoredRow& row) {
    const Cell fid = row.fid == 0 ? Cell() : Cell(row.fid), stamp = row.stamp,
               changed = row.changed_utc;
    int at = 0;
    insert.bind(++at, fid);
    for (const Cell& cell : row.cells) insert.bind(++at, cell);
    insert.bind(++at, stamp);
    insert.bind(++at, changed);
    insert.step();
    insert.reset();
  }

  Database &from_, &to_;
  std::vector<horizon::Error>& refused_;
  std::size_t untold_ = 0;
  std::unordered_map<std::string, std::unordered_set<std::string>> ids_;  // by table
};

void copy_sketch(Database& from, Database& to) {
  const SkylineSketch sketch = read_sketch(from);
  if (!sketch.kind.empty()) write_sketch(to, sketch);
}

}  // namespace

void through_the_door(Database& from, Database& to, History history,
                      std::vector<horizon::Error>& refused) {
  Transaction transaction(to);
  create_schema(to);
  Door door(from, to, refused);
  door.tables();
  if (history != History::none) {
    door.history();
    door.chain();
  }
  if (history == History::steps) door.steps();
  copy_sketch(from, to);
  transaction.commit();
}

std::vector<std::string> missing_photos(Database& db) {
  std::vector<std::string> missing;
  Statement rows = db.prepare(
      "SELECT DISTINCT sha256 FROM photo WHERE sha256 NOT IN (SELECT sha256 FROM photo_data)");
  while (rows.step()) missing.push_back(rows.text(0));
  return missing;
}

bool copy_photo(Database& from, Database& to, const std::string& sha256) {
  const Cells key = {sha256};
  Statement& bytes = from.again("SELECT bytes FROM photo_data WHERE sha256=?", key);
  const std::string picture = bytes.step() ? bytes.text(0) : "";
  bytes.reset();
  if (picture.empty() || sha256_hex(picture) != sha256) return false;
  keep_bytes(to, sha256, picture);
  return true;
}

int copy_photo_bytes(Database& from, Database& to) {
  int copied = 0;
  for (const std::string& hash : missing_photos(to)) copied += copy_photo(from, to, hash);
  return copied;
}

void rewrite_through_the_door(const std::string& path, std::vector<horizon::Error>& remarks) {
  auto fresh = value_or_throw(Unfinished::file(path));
  std::string kept;
  {
    Database from(path, "mode=rw");
    from.run("PRAGMA wal_checkpoint(TRUNCATE)");
    from.prepare("PRAGMA journal_mode=DELETE").step();
    Transaction nobody_else(from);
    const std::int64_t version =
        from.number("SELECT version FROM adret_schema ORDER BY version DESC");
    Database to(fresh.path(), "mode=rw");
    through_the_door(from, to, History::steps, remarks);
    {
      Transaction transaction(to);
      copy_photo_bytes(from, to);
      refresh_contents(to);
      transaction.commit();
    }
    to.close();
    kept = path + (version < kSchemaVersion ? ".layout-" + std::to_string(version) : ".before") +
           ".bak";
    auto copy = value_or_throw(Unfinished::file(kept));
    std::error_code error;
    fs::copy_file(path, copy.path(), fs::copy_options::overwrite_existing, error);
    if (error) throw Failure{disk_error(kept, error.value())};
    value_or_throw(copy.land(Existing::replace));
  }
  value_or_throw(fresh.land(Existing::replace));
  if (!remarks.empty()) remarks.push_back({Code::bad_input, "error.old_file_kept", kept});
}

void check_journal(const std::string& path) {
  std::ifstream journal(path + "-journal", std::ios::binary | std::ios::ate);
  if (!journal || journal.tellg() < 16) return;
  char end[8] = {};
  journal.seekg(-8, std::ios::end);
  journal.read(end, 8);
  // SQLite file format, 3: the name of a super-journal stands before this mark at the end.
  constexpr unsigned char kMark[8] = {0xd9, 0xd5, 0x05, 0xf9, 0x20, 0xa1, 0x63, 0xd7};
  if (std::memcmp(end, kMark, 8) == 0)
    give_up(Code::bad_input, "error.journal_of_other_files", path + "-journal");
}

}  // namespace survey
