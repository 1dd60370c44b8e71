#include "horizon/time.h"
#include "survey/book/store_internal.h"

namespace survey {

using horizon::Code;

namespace {

std::string select_from(const Table& table) {
  return "SELECT " + select_list(table) + " FROM " + sql_name(table.name);
}

// Never OR REPLACE: that would let a planted index remove other rows.
std::string insert_into(const Table& table) {
  std::string names = "fid, row_stamp, changed_utc", places = "?1, ?2, ?3";
  std::string again = "row_stamp=excluded.row_stamp, changed_utc=excluded.changed_utc";
  for (std::size_t i = 0; i < table.columns.size(); ++i) {
    const std::string name = sql_name(table.columns[i].name);
    names += ", " + name;
    places += ", ?" + std::to_string(i + 4);
    again += ", " + name + "=excluded." + name;
  }
  return "INSERT INTO " + sql_name(table.name) + " (" + names + ") VALUES (" + places +
         ") ON CONFLICT (fid) DO UPDATE SET " + again;
}

void check_raw(const Table& table, const Cells& before, const Cells& after) {
  for (std::size_t i = 0; i < table.columns.size(); ++i)
    if (table.columns[i].raw && before[i] != after[i])
      give_up(Code::bad_input,
              table.keep_for_ever ? "error.reading_never_changed" : "error.kept_as_first_read",
              table.name + "." + table.columns[i].name);
}

// Looks no longer at the rows, come what may.
struct Finally {
  Statement& statement;
  ~Finally() { statement.reset(); }
};

}  // namespace

std::string new_stamp(const Table& table) { return table.name + ":" + random_hex(8); }

Cells cells_of_row(const Table& table, const Statement& statement) {
  Cells cells;
  cells.reserve(table.columns.size());
  for (std::size_t i = 0; i < table.columns.size(); ++i)
    cells.push_back(statement.cell(static_cast<int>(i) + kFirstCell));
  return cells;
}

StoredRow stored_row(const Table& table, const Statement& statement) {
  return {statement.integer(0), statement.text(1), statement.text(2),
          cells_of_row(table, statement)};
}

std::optional<StoredRow> find_row(Store& store, const Table& table, const std::string& id) {
  const Cells key = {id};
  Statement& statement = store.db.again(select_from(table) + " WHERE id=?1", key);
  if (!statement.step()) return std::nullopt;
  StoredRow row = stored_row(table, statement);
  statement.reset();
  return row;
}

void each_row(Store& store, const Table& table, const std::function<void(const Statement&)>& what) {
  Statement& statement = store.db.again(select_from(table) + " ORDER BY fid");
  const Finally done{statement};
  for (int count = 0; statement.step(); ++count) {
    if (count >= kMostRows)
      give_up(Code::bad_input, {"error.too_many_rows", {table.name}}, store.db.path());
    what(statement);
  }
}

std::vector<StoredRow> all_rows(Store& store, const Table& table) {
  std::vector<StoredRow> rows;
  each_row(store, table,
           [&](const Statement& statement) { rows.push_back(stored_row(table, statement)); });
  return rows;
}

void each_where(Store& store, const Table& table, std::string_view column, const std::string& value,
                const std::function<void(Cells)>& what) {
  if (table.index_of(column) < 0)
    give_up(Code::bad_input, "error.no_such_column", table.name + "." + std::string(column));
  const Cells key = {value};
  Statement& statement =
      store.db.again(select_from(table) + " WHERE " + sql_name(column) + "=?1 ORDER BY fid", key);
  const Finally done{statement};
  while (statement.step()) what(cells_of_row(table, statement));
}

void insert_row(Database& db, const Table& table, std::int64_t fid, const std::string& stamp,
                const std::string& changed_utc, const Cells& cells) {
  Cells values = {fid == 0 ? Cell() : Cell(fid), stamp, changed_utc};
  values.insert(values.end(), cells.begin(), cells.end());
  db.again(insert_into(table), values).step();
  if (table.keep_for_ever) add_to_chain(db, table, cells);
}

void write_state(Store& store, const Table& table, std::int64_t fid,
                 const std::optional<StoredRow>& before, const Cells* after,
                 const std::string& stamp) {
  Database& db = store.db;
  const std::string now = horizon::format_utc(now_utc_s(), 3);
  const std::string id = std::get<std::string>(before ? before->cells[0] : (*after)[0]);
  if (before) {
    const Cells superseded = {table.name, id, before->stamp, image_of(table, before->cells)};
    db.again("INSERT OR REPLACE INTO adret_superseded VALUES (?, ?, ?, ?)", superseded).step();
  } else {
    // A row that comes back supersedes its own removal.
    const Cells key = {table.name, id};
    db.again(
          "INSERT OR IGNORE INTO adret_superseded SELECT table_name, row_id, stamp, NULL "
          "FROM adret_removed WHERE table_name=? AND row_id=?",
          key)
        .step();
    db.again("DELETE FROM adret_removed WHERE table_name=? AND row_id=?", key).step();
  }
  if (after) {
    insert_row(db, table, fid, stamp, now, *after);
  } else {
    const Cells key = {fid};
    db.again("DELETE FROM " + sql_name(table.name) + " WHERE fid=?", key).step();
    const Cells gone = {table.name, id, stamp, now};
    db.again("INSERT OR REPLACE INTO adret_removed VALUES (?, ?, ?, ?)", gone).step();
  }
  store.touched = true;
}

Id put_row(Store& store, const Table& table, Cells cells) {
  // The one row of its table has the site's id, so that two copies mean the same row by it.
  if (table.single && table.name != "site") cells[0] = store.db.word("SELECT id FROM site");
  check_cells(table, cells);
  const std::string id = std::get<std::string>(cells[0]);
  in_change(store, table.name, [&] {
    const auto before = find_row(store, table, id);
    if (before) {
      if (before->cells == cells) return;
      check_raw(table, before->cells, cells);
    } else if (table.single &&
               store.db.number("SELECT count(*) FROM " + sql_name(table.name)) > 0) {
      give_up(Code::bad_input, "error.one_row_only", table.name);
    }
    note_change(store, table, before ? before->fid : 0, id, before);
    write_state(store, table, before ? before->fid : 0, before, &cells, new_stamp(table));
  });
  return id;
}

void remove_row(Store& store, const Table& table, const std::string& id) {
  if (table.keep_for_ever) give_up(Code::bad_input, "error.reading_never_removed", table.name);
  if (table.name == "site") give_up(Code::bad_input, "error.site_row_stays", table.name);
  in_change(store, "remove " + table.name, [&] {
    const auto before = find_row(store, table, id);
    if (!before) give_up(Code::not_found, "error.no_such_row", table.name + " " + id);
    const Cells key = {id};
    for (const Table* other : all_tables())
      for (const Column& column : other->columns) {
        if (column.refers_to != table.name) continue;
        Statement& count = store.db.again("SELECT count(*) FROM " + sql_name(other->name) +
                                              " WHERE " + sql_name(column.name) + "=?1",
                                          key);
        count.step();
        const std::int64_t rows = count.integer(0);
        count.reset();
        if (rows > 0)
          give_up(Code::bad_input, {"error.rows_belong_to_it", {rows, other->name}},
                  table.name + " " + id);
      }
    note_change(store, table, before->fid, id, before);
    write_state(store, table, before->fid, before, nullptr, new_stamp(table));
  });
}

}  // namespace survey
