// survey/book/store_internal.h: the open file, for survey's own sources. Everything here throws
// `Failure`; survey/book/store.h turns that into values.
// Every row carries, beside its columns, `row_stamp` ("table:16 hex digits"), new with every
// change, and `changed_utc`. A stamp that was replaced goes to adret_superseded with the state it
// stood for: from these sets two files know which of them has the newer state of a row.
#pragma once

#include <atomic>
#include <functional>
#include <optional>

#include "survey/book/row_cells.h"
#include "survey/book/store.h"
#include "survey/book/table.h"

namespace survey {

inline constexpr int kSchemaVersion = 4;
inline constexpr int kMostRows = 500'000;  // of a table; no site has a tenth of it

struct Store {
  Store(const std::string& path, const char* options, Access how)
      : db(path, options), access(how) {}
  Store(Database&& opened, Access how) : db(std::move(opened)), access(how) {}
  // An empty database out of sight, for what is read through the door from `source`.
  Store(std::unique_ptr<Database> source, Access how)
      : db(Database::temporary(source->path())), access(how), photo_source(std::move(source)) {}
  Database db;
  Access access;
  std::unique_ptr<Database> photo_source;  // where the bytes of photographs stayed
  std::vector<horizon::Error> remarks;     // of opening
  std::uint64_t changes = first_count();   // no two books of a process ever have the same
  bool touched = false;                    // since opening
  std::int64_t step = 0;                   // of the change in progress; 0 = none yet
  int depth = 0;                           // of nested changes
  std::string step_name;

 private:
  static std::uint64_t first_count() {
    static std::atomic<std::uint64_t> books{0};
    return ++books << 32;
  }
};

struct StoredRow {
  std::int64_t fid = 0;
  std::string stamp, changed_utc;
  Cells cells;
};

// schema.cpp
void create_schema(Database& db);
// The standard's own tables alone; and a table of ours in its list. No geometry: attributes.
void create_geopackage(Database& db);
void register_in_contents(Database& db, const std::string& table, const std::string& meaning,
                          const std::string& geometry, const std::string& type, bool measured);
// Refuses what is no site file or is newer than this program.
void check_is_site_file(Database& db);
// Every table and index as this program makes them, nothing else, and row numbers left to give.
bool has_our_schema(Database& db);
void refresh_contents(Database& db);          // bounds and last change of each table
std::string select_list(const Table& table);  // fid, row_stamp, changed_utc, columns

// door.cpp
// Row by row, each cell checked, into the fresh schema of `to`. What is refused is listed, by name.
// Photographs' bytes stay behind.
enum class History : std::uint8_t {
  none,
  states,  // earlier ones, removals and the chain
  steps,   // and the steps that can be undone: of one's own file
};
void through_the_door(Database& from, Database& to, History history,
                      std::vector<horizon::Error>& refused);
std::vector<std::string> missing_photos(Database& db);  // hashes of photo rows that lack the bytes
bool copy_photo(Database& from, Database& to, const std::string& sha256);  // false: not there whole
int copy_photo_bytes(Database& from, Database& to);  // of every photo row that lacks them
// A file of an older layout, or with what is not ours in it, is written anew; the old one is kept.
void rewrite_through_the_door(const std::string& path, std::vector<horizon::Error>& remarks);
// Before the file is opened: a rollback journal that would touch other files is refused.
void check_journal(const std::string& path);

// chain.cpp
// Readings in the order in which they came, each with the hash of what was read and of all before.
void add_to_chain(Database& db, const Table& table, const Cells& cells);
// What does not agree with the chain: readings changed or gone past the program.
using RowsOfTables = std::vector<std::pair<const Table*, std::vector<StoredRow>>>;
std::vector<horizon::Error> broken_chain(Store& store, const RowsOfTables& all);
std::string name_of_row(const Table& table, const Cells& cells);  // for people

// rows.cpp
StoredRow stored_row(const Table& table, const Statement& statement);
std::optional<StoredRow> find_row(Store& store, const Table& table, const std::string& id);
inline constexpr int kFirstCell = 3;  // of a row's statement: the first column of its table
void each_row(Store& store, const Table& table, const std::function<void(const Statement&)>& what);
std::vector<StoredRow> all_rows(Store& store, const Table& table);
// Of those where the column has the value; only their cells.
void each_where(Store& store, const Table& table, std::string_view column, const std::string& value,
                const std::function<void(Cells)>& what);
Cells cells_of_row(const Table& table, const Statement& statement);
// fid 0: a new number. Nothing else is recorded.
void insert_row(Database& db, const Table& table, std::int64_t fid, const std::string& stamp,
                const std::string& changed_utc, const Cells& cells);
// As stored, each cell checked: a file may have been changed past the program.
template <class Row>
Row checked_row(const Table& table, Cells cells) {
  try {
    check_cells(table, cells);
  } catch (Failure& failure) {
    failure.error.where += ", " + name_of_row(table, cells);
    throw;
  }
  return row_of<Row>(cells);
}
Id put_row(Store& store, const Table& table, Cells cells);
void remove_row(Store& store, const Table& table, const std::string& id);
// Writes a state (nothing = absent) whatever it is, with a stamp; records the one before it.
void write_state(Store& store, const Table& table, std::int64_t fid,
                 const std::optional<StoredRow>& before, const Cells* after,
                 const std::string& stamp);
std::string new_stamp(const Table& table);

// journal.cpp
void in_change(Store& store, const std::string& name, const std::function<void()>& work);
// Notes, within a change, how to come back to the state before.
void note_change(Store& store, const Table& table, std::int64_t fid, const std::string& id,
                 const std::optional<StoredRow>& before);

// site_list.cpp
SkylineSketch read_sketch(Database& db);
void write_sketch(Database& db, const SkylineSketch& sketch);

// photos.cpp
void keep_bytes(Database& db, const std::string& sha256, std::string_view bytes);

}  // namespace survey
