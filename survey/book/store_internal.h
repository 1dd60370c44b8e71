// survey/book/store_internal.h: the open file, for survey's own sources. Everything here throws
// `Failure`; survey/book/store.h turns that into values.
// Every row carries, beside its columns, `row_stamp` ("table:16 hex digits"), new with every
// change, and `changed_utc`. A stamp that was replaced goes to adret_superseded with the state it
// stood for: from these sets two files know which of them has the newer state of a row.
#pragma once

#include <functional>
#include <optional>

#include "survey/book/store.h"
#include "survey/book/table.h"

namespace survey {

inline constexpr int kSchemaVersion = 3;

struct Store {
  Store(const std::string& path, const char* options, Access how)
      : db(path, options), access(how) {}
  // A copy out of sight of the file, to be changed without changing that.
  explicit Store(Store& original) : db(original.db), access(original.access) {}
  Database db;
  Access access;
  std::uint64_t changes = 0;
  bool touched = false;   // since opening
  std::int64_t step = 0;  // of the change in progress; 0 = none yet
  int depth = 0;          // of nested changes
  std::string step_name;
};

struct StoredRow {
  std::int64_t fid = 0;
  std::string stamp, changed_utc;
  Cells cells;
};

// schema.cpp
void create_schema(Database& db);
// Refuses what is no site file, is newer than this program, or holds code.
void check_schema(Database& db);
void migrate(const std::string& path);  // to kSchemaVersion, keeping a copy; nothing to do: nothing
void migrate(Database& db);             // the same, keeping none
void refresh_contents(Database& db);    // bounds and last change of each table
std::string select_list(const Table& table);  // fid, row_stamp, changed_utc, columns

// rows.cpp
StoredRow stored_row(const Table& table, const Statement& statement);
std::optional<StoredRow> find_row(Store& store, const Table& table, const std::string& id);
std::vector<StoredRow> all_rows(Store& store, const Table& table);
std::vector<Cells> rows_where(Store& store, const Table& table, std::string_view column,
                              const std::string& value);
// fid 0: a new number. Nothing else is recorded.
void insert_row(Database& db, const Table& table, std::int64_t fid, const std::string& stamp,
                const std::string& changed_utc, const Cells& cells);
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

// photos.cpp
void keep_bytes(Database& db, const std::string& sha256, std::string_view bytes);

}  // namespace survey
