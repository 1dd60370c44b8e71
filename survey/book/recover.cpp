#include "survey/book/recover.h"

#include <filesystem>
#include <unordered_map>
#include <unordered_set>

#include "survey/book/durable.h"
#include "survey/book/page_scan.h"
#include "survey/book/row_cells.h"
#include "survey/book/store_internal.h"

namespace survey {

namespace fs = std::filesystem;
using horizon::Code;

namespace {

struct Found {
  std::vector<std::pair<const Table*, StoredRow>> rows;
  std::unordered_map<std::string, std::size_t> by_id;  // "table/id" -> index
  std::unordered_set<std::string> removed;             // "table/id"
  int unreadable = 0;

  // by_tree: reached from its table; what only a page scan finds may be an older state.
  void add(const Table& table, StoredRow row, bool by_tree) {
    try {
      check_cells(table, row.cells);
    } catch (const Failure&) {
      ++unreadable;
      return;
    }
    const std::string key = table.name + "/" + std::get<std::string>(row.cells[0]);
    const auto known = by_id.find(key);
    if (known == by_id.end()) {
      if (!by_tree && removed.contains(key)) return;
      by_id[key] = rows.size();
      rows.emplace_back(&table, std::move(row));
    } else if (!by_tree && row.changed_utc > rows[known->second].second.changed_utc) {
      rows[known->second].second = std::move(row);
    }
  }
};

void read_by_tree(Database& db, Found& found) {
  auto attempt = [](const auto& work) {
    try {
      work();
    } catch (const Failure&) {
      // As far as it got; the page scan looks for the rest.
    }
  };
  for (const Table* table : all_tables()) {
    attempt([&] {
      Statement rows =
          db.prepare("SELECT " + select_list(*table) + " FROM " + sql_name(table->name));
      while (rows.step()) found.add(*table, stored_row(*table, rows), true);
    });
  }
  attempt([&] {
    Statement gone = db.prepare("SELECT table_name, row_id FROM adret_removed");
    while (gone.step()) found.removed.insert(gone.text(0) + "/" + gone.text(1));
  });
}

void add_scanned(const Cells& cells, Found& found) {
  for (std::size_t i = 0; i + 1 < cells.size(); ++i) {
    const auto* stamp = std::get_if<std::string>(&cells[i]);
    const auto colon = stamp ? stamp->find(':') : std::string::npos;
    if (colon == std::string::npos || stamp->size() != colon + 17) continue;
    const Table* table = table_named(stamp->substr(0, colon));
    if (!table || i != table->columns.size() + 1) continue;
    StoredRow row{0, *stamp, words_of(cells[i + 1]), {}};
    row.cells.assign(cells.begin() + 1, cells.begin() + static_cast<std::ptrdiff_t>(i));
    found.add(*table, std::move(row), false);
    return;
  }
}

void copy_beside(const std::string& from, const std::string& to) {
  std::error_code error;
  fs::copy_file(from, to, fs::copy_options::overwrite_existing, error);
  if (error) give_up(Code::failed, {"error.file_not_copied_for_recovery", {error.message()}}, to);
}

void save(const Found& found, const std::string& source, const std::string& new_path,
          Recovery& recovery) {
  Site site;
  site.name = "recovered";
  for (const auto& [table, row] : found.rows)
    if (table->name == "site") site = row_of<Site>(row.cells);
  FieldBook book = value_or_throw(FieldBook::create(new_path, site));
  Database& db = book.store().db;
  Transaction transaction(db);
  db.run("DELETE FROM site; DELETE FROM adret_superseded");
  bool has_site = false;
  for (const auto& [table, row] : found.rows) {
    if (table->single && recovery.rows.contains(table->name)) continue;
    insert_row(db, *table, 0, row.stamp, row.changed_utc, row.cells);
    ++recovery.rows[table->name];
    has_site = has_site || table->name == "site";
  }
  if (!has_site) {
    site.id = new_id();
    Cells cells = cells_of(site);
    insert_row(db, table_of<Site>(), 0, new_stamp(table_of<Site>()),
               horizon::format_utc(now_utc_s(), 3), cells);
    recovery.notes.push_back({Code::bad_input, "error.site_row_lost", "site"});
  }
  std::unordered_set<std::string> wanted;
  for (const auto& [table, row] : found.rows)
    if (table->name == "photo") wanted.insert(words_of(row.cells[table->index_of("sha256")]));
  scan_pages(source, [&](Cells& cells) {
    if (cells.size() != 3) return;
    const auto* hash = std::get_if<std::string>(&cells[1]);
    const auto* bytes = std::get_if<Blob>(&cells[2]);
    if (!hash || !bytes || !wanted.contains(*hash) || sha256_hex(bytes->bytes) != *hash) return;
    keep_bytes(db, *hash, bytes->bytes);
    wanted.erase(*hash);
    ++recovery.photo_bytes;
  });
  if (!wanted.empty())
    recovery.notes.push_back(
        {Code::bad_input, {"error.photos_lost_bytes", {wanted.size()}}, "photo"});
  transaction.commit();
  book.store().touched = true;
  value_or_throw(book.close());
}

}  // namespace

horizon::Result<Recovery> recover(const std::string& damaged, const std::string& new_path) {
  std::error_code error;
  if (fs::exists(new_path, error))
    return horizon::fail(Code::bad_input, "error.file_exists", new_path);
  if (!fs::is_regular_file(damaged, error))
    return horizon::fail(Code::not_found, "error.no_such_file", damaged);
  return guarded([&] {
    // All in a hidden folder, gone at the end.
    const auto place = value_or_throw(Unfinished::folder(new_path));
    const std::string source = place.path() + "/source";
    copy_beside(damaged, source);
    if (fs::exists(damaged + "-wal", error)) copy_beside(damaged + "-wal", source + "-wal");
    if (fs::exists(damaged + "-journal", error))
      copy_beside(damaged + "-journal", source + "-journal");
    try {
      check_journal(source);
    } catch (const Failure&) {
      fs::remove(source + "-journal", error);
    }
    Found found;
    try {
      Database db(source, "mode=rw");
      read_by_tree(db, found);
      db.run("PRAGMA wal_checkpoint(TRUNCATE)");
    } catch (const Failure&) {
      // Not even the header is sound: the page scan needs none.
    }
    scan_pages(source, [&](Cells& cells) { add_scanned(cells, found); });
    if (found.rows.empty()) give_up(Code::bad_input, "error.nothing_left_to_recover", damaged);
    Recovery recovery;
    recovery.unreadable = found.unreadable;
    save(found, source, place.path() + "/new.gpkg", recovery);
    value_or_throw(move_file(place.path() + "/new.gpkg", new_path, Existing::keep));
    return recovery;
  });
}

}  // namespace survey
