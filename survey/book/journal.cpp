// Undo and redo. A step lists the rows it changed, each with the state on the other side: after
// a change the state before it, after an undo the state that the undo left. Undo and redo are
// the same exchange, one backwards, one forwards.
#include "horizon/time.h"
#include "survey/book/store_internal.h"

namespace survey {

using horizon::Code;

namespace {

void begin_step(Store& store) {
  Database& db = store.db;
  db.run(
      "DELETE FROM adret_step_row WHERE step IN (SELECT step FROM adret_step WHERE undone);"
      "DELETE FROM adret_step WHERE undone");
  const Cells values = {store.step_name, horizon::format_utc(now_utc_s(), 3)};
  db.again("INSERT INTO adret_step (name, made_utc) VALUES (?, ?)", values).step();
  store.step = db.last_row();
  static const std::string older =
      " WHERE step<=(SELECT step FROM adret_step ORDER BY step DESC LIMIT 1 OFFSET " +
      std::to_string(kUndoSteps) + ")";
  db.again("DELETE FROM adret_step_row" + older).step();
  db.again("DELETE FROM adret_step" + older).step();
}

std::string exchange(Store& store, bool undo) {
  Database& db = store.db;
  Transaction transaction(db);
  Statement find =
      db.prepare(undo ? "SELECT step, name FROM adret_step WHERE NOT undone ORDER BY step DESC"
                      : "SELECT step, name FROM adret_step WHERE undone ORDER BY step");
  if (!find.step())
    give_up(Code::not_found, undo ? "error.nothing_to_undo" : "error.nothing_to_redo");
  const std::int64_t step = find.integer(0);
  const std::string name = find.text(1);
  find.reset();
  struct Entry {
    std::int64_t place, fid;
    const Table* table;
    std::string id;
    Cell image;
  };
  std::vector<Entry> entries;
  Statement rows =
      db.prepare(std::string("SELECT place, row_fid, table_name, row_id, image FROM adret_step_row "
                             "WHERE step=? ORDER BY place") +
                 (undo ? " DESC" : ""));
  const Cell key = step;
  rows.bind(1, key);
  while (rows.step()) {
    const Table* table = table_named(rows.text(2));
    if (table)
      entries.push_back({rows.integer(0), rows.integer(1), table, rows.text(3), rows.cell(4)});
  }
  rows.reset();
  for (const Entry& entry : entries) {
    const auto now = find_row(store, *entry.table, entry.id);
    std::optional<Cells> then;
    if (const auto* image = std::get_if<std::string>(&entry.image))
      check_cells(*entry.table, then.emplace(cells_of_image(*entry.table, *image)));
    if (now || then)
      write_state(store, *entry.table, now ? now->fid : entry.fid, now, then ? &*then : nullptr,
                  new_stamp(*entry.table));
    const Cells update = {now ? Cell(image_of(*entry.table, now->cells)) : Cell(), step,
                          entry.place};
    db.again("UPDATE adret_step_row SET image=? WHERE step=? AND place=?", update).step();
  }
  const Cells mark = {std::int64_t{undo}, step};
  db.again("UPDATE adret_step SET undone=? WHERE step=?", mark).step();
  transaction.commit();
  ++store.changes;
  return name;
}

}  // namespace

void in_change(Store& store, const std::string& name, const std::function<void()>& work) {
  if (store.access != Access::write) give_up(Code::failed, "error.file_read_only", store.db.path());
  if (store.depth > 0) return work();
  Transaction transaction(store.db);
  store.step = 0;
  store.step_name = name;
  ++store.depth;
  try {
    work();
    --store.depth;
  } catch (...) {
    --store.depth;
    throw;
  }
  transaction.commit();
  if (store.step != 0) ++store.changes;
}

void note_change(Store& store, const Table& table, std::int64_t fid, const std::string& id,
                 const std::optional<StoredRow>& before) {
  if (store.step == 0) begin_step(store);
  // A new row's number is known before it is written: keys are never given twice.
  if (fid == 0) {
    const Cells key = {table.name};
    Statement& next = store.db.again("SELECT seq FROM sqlite_sequence WHERE name=?", key);
    fid = next.step() ? next.integer(0) + 1 : 1;
    next.reset();
  }
  const Cells values = {store.step, table.name, fid, id,
                        before ? Cell(image_of(table, before->cells)) : Cell()};
  store.db
      .again(
          "INSERT INTO adret_step_row SELECT ?1, coalesce(max(place), 0) + 1, ?2, ?3, ?4, ?5 "
          "FROM adret_step_row WHERE step=?1",
          values)
      .step();
}

horizon::Result<std::string> FieldBook::undo() {
  return guarded([&] { return exchange(*store_, true); });
}
horizon::Result<std::string> FieldBook::redo() {
  return guarded([&] { return exchange(*store_, false); });
}

int FieldBook::undo_steps() const {
  const auto count = guarded(
      [&] { return store_->db.number("SELECT count(*) FROM adret_step WHERE NOT undone"); });
  return static_cast<int>(count.value_or(0));
}
int FieldBook::redo_steps() const {
  const auto count =
      guarded([&] { return store_->db.number("SELECT count(*) FROM adret_step WHERE undone"); });
  return static_cast<int>(count.value_or(0));
}

}  // namespace survey
