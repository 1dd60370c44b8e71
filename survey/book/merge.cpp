#include "survey/book/merge.h"

#include <algorithm>
#include <set>
#include <unordered_map>
#include <unordered_set>

#include "horizon/time.h"
#include "survey/book/row_cells.h"
#include "survey/book/store_internal.h"

namespace survey {

using horizon::Code;

namespace {

// One side's knowledge of one row.
struct Side {
  std::optional<StoredRow> row;
  std::string removed_stamp, removed_utc;
  std::map<std::string, Cell> superseded;  // stamp -> image

  bool known() const { return row || !removed_stamp.empty(); }
  const std::string& stamp() const { return row ? row->stamp : removed_stamp; }
  const std::string& changed() const { return row ? row->changed_utc : removed_utc; }
};
using Sides = std::unordered_map<std::string, Side>;  // by row id

Sides read_side(Store& store, const Table& table) {
  Sides sides;
  for (StoredRow& row : all_rows(store, table)) {
    Cells checked = row.cells;
    check_cells(table, checked);  // what comes in obeys the same rules as what is typed
    const std::string id = std::get<std::string>(checked[0]);
    row.cells = std::move(checked);
    sides[id].row = std::move(row);
  }
  const Cells key = {table.name};
  Statement& removed = store.db.again(
      "SELECT row_id, stamp, changed_utc FROM adret_removed WHERE table_name=?", key);
  while (removed.step()) {
    Side& side = sides[removed.text(0)];
    side.removed_stamp = removed.text(1);
    side.removed_utc = removed.text(2);
  }
  removed.reset();
  Statement& old =
      store.db.again("SELECT row_id, stamp, image FROM adret_superseded WHERE table_name=?", key);
  while (old.step()) sides[old.text(0)].superseded[old.text(1)] = old.cell(2);
  old.reset();
  return sides;
}

struct Outcome {
  std::optional<Cells> cells;
  std::string stamp, changed_utc;
  std::vector<Conflict> conflicts;  // not empty: nothing is written
  std::optional<Cells> beside;      // their reading, added as a row of its own
  bool reading_kept = false;
};

// The same from either side.
std::string joint_stamp(const Table& table, const std::string& a, const std::string& b,
                        const std::optional<Cells>& cells) {
  return table.name + ":" +
         sha256_hex(std::min(a, b) + "|" + std::max(a, b) + "|" +
                    (cells ? image_of(table, *cells) : std::string()))
             .substr(0, 16);
}

std::string row_name(const Table& table, const Cells& cells) {
  for (const char* column : {"name", "label", "text", "what", "people"}) {
    const int at = table.index_of(column);
    if (at >= 0 && !words_of(cells[at]).empty()) return words_of(cells[at]).substr(0, 60);
  }
  return words_of(cells[0]);
}

void set_void(const Table& table, Cells& cells, const std::string& when, const char* reason) {
  const int at = table.index_of("voided_utc");
  if (at < 0 || !std::holds_alternative<std::monostate>(cells[at])) return;
  cells[at] = when;
  cells[at + 1] = 0.0;
  cells[table.index_of("void_reason")] = std::string(reason);
}

bool same_reading(const Table& table, const Cells& a, const Cells& b) {
  for (std::size_t i = 0; i < table.columns.size(); ++i)
    if (table.columns[i].raw && a[i] != b[i]) return false;
  return true;
}

// The latest state that both knew: of the stamps one side has left behind or stands on.
std::optional<Cells> common_ancestor(const Table& table, const Side& mine, const Side& theirs) {
  std::vector<Cells> found;
  for (const auto& [stamp, image] : mine.superseded) {
    if (!theirs.superseded.contains(stamp)) continue;
    for (const Cell* candidate : {&image, &theirs.superseded.at(stamp)})
      if (const auto* text = std::get_if<std::string>(candidate))
        found.push_back(cells_of_image(table, *text));
  }
  if (found.empty()) return std::nullopt;
  // Of several, the one nearest to both: the fewest columns differ.
  auto distance = [&](const Cells& cells) {
    int differ = 0;
    for (std::size_t i = 0; i < cells.size(); ++i)
      differ += (cells[i] != mine.row->cells[i]) + (cells[i] != theirs.row->cells[i]);
    return std::pair(differ, image_of(table, cells));
  };
  return *std::ranges::min_element(found, {}, distance);
}

std::optional<Take> choice_for(const Choices& choices, const Conflict& conflict) {
  const auto found = choices.by_key.find(conflict.key());
  return found != choices.by_key.end() ? std::optional(found->second) : choices.all;
}

// Their reading under an id of its own, the same whoever merges.
Cells as_another_row(const Table& table, const Cells& cells) {
  Cells other = cells;
  std::string hex = sha256_hex(image_of(table, cells)).substr(0, 32);
  hex[12] = '8';  // RFC 9562, version 8
  hex[16] = 'a';
  for (const int at : {8, 13, 18, 23}) hex.insert(at, "-");
  other[0] = hex;
  return other;
}

Outcome both_changed(const Table& table, const Side& mine, const Side& theirs,
                     const Choices& choices) {
  Outcome out;
  out.changed_utc = std::max(mine.changed(), theirs.changed());
  bool theirs_beside = false;
  auto decide = [&](Conflict conflict, auto use_theirs) {
    conflict.table = table.name;
    conflict.id = words_of((mine.row ? mine.row : theirs.row)->cells[0]);
    conflict.row_name = row_name(table, (mine.row ? mine.row : theirs.row)->cells);
    conflict.mine_changed_utc = mine.changed();
    conflict.theirs_changed_utc = theirs.changed();
    const auto choice = choice_for(choices, conflict);
    if (!choice)
      out.conflicts.push_back(std::move(conflict));
    else if (*choice == Take::theirs)
      use_theirs();
  };
  if (mine.row && theirs.row) {
    out.cells = mine.row->cells;
    const auto ancestor = common_ancestor(table, mine, theirs);
    for (std::size_t i = 0; i < table.columns.size(); ++i) {
      const Cell &a = mine.row->cells[i], &b = theirs.row->cells[i];
      if (a == b) continue;
      if (table.columns[i].raw) {
        decide({.column = table.columns[i].name,
                .mine = words_of(a),
                .theirs = words_of(b),
                .reading = true},
               [&] { theirs_beside = true; });
        continue;
      }
      if (ancestor && b == (*ancestor)[i]) continue;
      if (ancestor && a == (*ancestor)[i]) {
        (*out.cells)[i] = b;
        continue;
      }
      decide({.column = table.columns[i].name, .mine = words_of(a), .theirs = words_of(b)},
             [&] { (*out.cells)[i] = b; });
    }
  } else if (mine.row || theirs.row) {
    if (mine.row) out.cells = mine.row->cells;
    decide({.mine = mine.row ? "changed" : "removed", .theirs = theirs.row ? "changed" : "removed"},
           [&] {
             out.cells.reset();
             if (theirs.row) out.cells = theirs.row->cells;
           });
  }
  if (theirs_beside && out.conflicts.empty()) {
    out.beside = as_another_row(table, theirs.row->cells);
    set_void(table, *out.cells, out.changed_utc, "the other copy's reading was chosen");
  }
  out.stamp = joint_stamp(table, mine.stamp(), theirs.stamp(), out.cells);
  return out;
}

// A reading that only one side still has.
Outcome kept_reading(const Table& table, const Side& mine, const Side& theirs) {
  const Side& has = mine.row ? mine : theirs;
  Outcome out;
  out.cells = has.row->cells;
  out.changed_utc = std::max(mine.changed(), theirs.changed());
  set_void(table, *out.cells, out.changed_utc, "taken back in one copy");
  out.stamp = joint_stamp(table, mine.stamp(), theirs.stamp(), out.cells);
  out.reading_kept = true;
  return out;
}

Outcome state_of(const Side& side) {
  Outcome out;
  if (side.row) out.cells = side.row->cells;
  out.stamp = side.stamp();
  out.changed_utc = side.changed();
  return out;
}

Outcome outcome_of(const Table& table, const Side& mine, const Side& theirs,
                   const Choices& choices) {
  if (!theirs.known()) return state_of(mine);
  if (!mine.known()) return state_of(theirs);
  // Whatever the stamps of a received file say, no reading is changed by them, and none goes.
  if (table.keep_for_ever && mine.row.has_value() != theirs.row.has_value()) {
    const Side &has = mine.row ? mine : theirs, &gone = mine.row ? theirs : mine;
    // A merge has seen to it before.
    return has.superseded.contains(gone.stamp()) ? state_of(has)
                                                 : kept_reading(table, mine, theirs);
  }
  if (mine.row && theirs.row && !same_reading(table, mine.row->cells, theirs.row->cells) &&
      !mine.superseded.contains(theirs.stamp()))
    return both_changed(table, mine, theirs, choices);
  if (mine.stamp() == theirs.stamp() || mine.superseded.contains(theirs.stamp()))
    return state_of(mine);
  if (theirs.superseded.contains(mine.stamp())) return state_of(theirs);
  return both_changed(table, mine, theirs, choices);
}

struct Plan {
  const Table* table;
  Sides mine, theirs;
  std::map<std::string, Outcome> outcomes;  // by row id, in the order of ids
};

std::vector<Plan> plan_merge(Store& mine, Store& theirs, const Choices& choices, bool part) {
  std::vector<Plan> plans;
  for (const Table* table : all_tables()) {
    if (part && table->single) continue;
    Plan plan{table, read_side(mine, *table), read_side(theirs, *table), {}};
    const Side nothing;
    for (const Sides* sides : {&plan.mine, &plan.theirs})
      for (const auto& [id, side] : *sides) {
        if (plan.outcomes.contains(id)) continue;
        const auto a = plan.mine.find(id), b = plan.theirs.find(id);
        plan.outcomes[id] = outcome_of(*table, a == plan.mine.end() ? nothing : a->second,
                                       b == plan.theirs.end() ? nothing : b->second, choices);
      }
    plans.push_back(std::move(plan));
  }
  return plans;
}

// A removed row that rows of the result belong to comes back, and then what it belongs to.
int bring_back_needed(std::vector<Plan>& plans) {
  int kept = 0;
  for (bool again = true; again;) {
    again = false;
    for (const Plan& plan : plans)
      for (std::size_t i = 0; i < plan.table->columns.size(); ++i) {
        const Column& column = plan.table->columns[i];
        const auto target = std::ranges::find_if(
            plans, [&](const Plan& p) { return p.table->name == column.refers_to; });
        if (column.refers_to.empty() || target == plans.end()) continue;
        for (const auto& [id, outcome] : plan.outcomes) {
          if (!outcome.cells) continue;
          const auto found = target->outcomes.find(words_of((*outcome.cells)[i]));
          if (found == target->outcomes.end() || found->second.cells ||
              !found->second.conflicts.empty())
            continue;
          const Side& a = target->mine[found->first];
          const Side& b = target->theirs[found->first];
          if (!a.row && !b.row) continue;
          Outcome back = state_of(a.row ? a : b);
          back.stamp = joint_stamp(*target->table, a.stamp(), b.stamp(), back.cells);
          found->second = std::move(back);
          ++kept;
          again = true;
        }
      }
  }
  return kept;
}

void remember(Database& db, const Table& table, const std::string& id, const std::string& stamp,
              const Cell& image) {
  const Cells values = {table.name, id, stamp, image};
  db.again(
        "INSERT INTO adret_superseded VALUES (?1, ?2, ?3, ?4) ON CONFLICT DO UPDATE SET "
        "image=coalesce(image, excluded.image)",
        values)
      .step();
}

void apply(Store& store, const Table& table, const std::string& id, const Side& mine,
           const Side& theirs, const Outcome& outcome, MergeReport& report) {
  Database& db = store.db;
  for (const auto& [stamp, image] : theirs.superseded) remember(db, table, id, stamp, image);
  for (const Side* side : {&mine, &theirs})
    if (side->known() && side->stamp() != outcome.stamp)
      remember(db, table, id, side->stamp(),
               side->row ? Cell(image_of(table, side->row->cells)) : Cell());
  if (mine.known() && mine.stamp() == outcome.stamp) return;
  note_change(store, table, mine.row ? mine.row->fid : 0, id, mine.row);
  const Cells key = {table.name, id};
  db.again("DELETE FROM adret_removed WHERE table_name=? AND row_id=?", key).step();
  if (outcome.reading_kept && !mine.row)
    report.readings_kept.push_back(table.name + " \"" + row_name(table, *outcome.cells) + "\"");
  if (outcome.cells) {
    if (!mine.row)
      ++report.added;
    else if (mine.row->cells != *outcome.cells)
      ++report.changed;
    insert_row(db, table, mine.row ? mine.row->fid : 0, outcome.stamp, outcome.changed_utc,
               *outcome.cells);
  } else {
    if (mine.row) {
      ++report.removed;
      report.removed_rows.push_back(table.name + " \"" + row_name(table, mine.row->cells) + "\"");
      const Cells fid = {mine.row->fid};
      db.again("DELETE FROM " + sql_name(table.name) + " WHERE fid=?", fid).step();
    }
    const Cells gone = {table.name, id, outcome.stamp, outcome.changed_utc};
    db.again("INSERT INTO adret_removed VALUES (?, ?, ?, ?)", gone).step();
  }
  if (outcome.beside && !find_row(store, table, words_of((*outcome.beside)[0]))) {
    put_row(store, table, *outcome.beside);
    ++report.added;
  }
  store.touched = true;
}

MergeReport merge_stores(Store& mine, Store& theirs, const Choices& choices, bool part) {
  if (mine.access != Access::write) give_up(Code::failed, "error.file_read_only", mine.db.path());
  MergeReport report;
  in_change(mine, "merge", [&] {
    std::vector<Plan> plans = plan_merge(mine, theirs, choices, part);
    report.kept = bring_back_needed(plans);
    for (Plan& plan : plans)
      for (const auto& [id, outcome] : plan.outcomes) {
        if (outcome.conflicts.empty())
          apply(mine, *plan.table, id, plan.mine[id], plan.theirs[id], outcome, report);
        report.conflicts.insert(report.conflicts.end(), outcome.conflicts.begin(),
                                outcome.conflicts.end());
      }
    report.photo_bytes =
        copy_photo_bytes(theirs.photo_source ? *theirs.photo_source : theirs.db, mine.db);
  });
  return report;
}

}  // namespace

horizon::Result<MergeReport> merge(FieldBook& mine, const FieldBook& theirs,
                                   const Choices& choices) {
  return guarded([&] {
    if (value_or_throw(mine.site()).id != value_or_throw(theirs.site()).id)
      give_up(Code::bad_input, "error.two_sites", theirs.path());
    return merge_stores(mine.store(), theirs.store(), choices, false);
  });
}

horizon::Result<MergeReport> import_site(FieldBook& mine, const FieldBook& other,
                                         const Choices& choices) {
  return guarded([&] {
    const bool same = value_or_throw(mine.site()).id == value_or_throw(other.site()).id;
    return merge_stores(mine.store(), other.store(), choices, !same);
  });
}

}  // namespace survey
