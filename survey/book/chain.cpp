// The chain of readings. Each link holds the hash of what was read (the raw columns of the row) and
// the hash of that and the link before it: a reading that was changed, put in between or taken out past
// the program does not agree with its link. Whoever writes the whole chain anew is seen only
// beside another copy: then the two readings differ, which a merge shows.
#include <unordered_map>
#include <unordered_set>

#include "survey/book/store_internal.h"

namespace survey {

namespace {

std::string reading_hash(const Table& table, const Cells& cells) {
  std::string text = table.name;
  for (std::size_t i = 0; i < table.columns.size(); ++i) {
    if (i > 0 && !table.columns[i].raw) continue;
    const std::string words = words_of(cells[i]);  // a column that came later is empty in old rows
    if (!words.empty()) text += "\n" + table.columns[i].name + "=" + words;
  }
  return sha256_hex(text);
}

std::string link_hash(const std::string& before, const std::string& table, const std::string& id,
                      const std::string& reading) {
  return sha256_hex(before + "\n" + table + "\n" + id + "\n" + reading);
}

}  // namespace

std::string name_of_row(const Table& table, const Cells& cells) {
  for (const char* column : {"name", "label", "file_name", "people", "what"}) {
    const int at = table.index_of(column);
    if (at >= 0 && !words_of(cells[at]).empty())
      return table.name + " \"" + words_of(cells[at]).substr(0, 60) + "\"";
  }
  return table.name + " " + words_of(cells[0]);
}

void add_to_chain(Database& db, const Table& table, const Cells& cells) {
  const std::string reading = reading_hash(table, cells), id = words_of(cells[0]);
  const Cells key = {table.name, id};
  Statement& known = db.again(
      "SELECT reading_sha256 FROM adret_chain WHERE table_name=? AND row_id=? ORDER BY seq DESC",
      key);
  const bool same = known.step() && known.text(0) == reading;
  known.reset();
  if (same) return;
  Statement& last = db.again("SELECT seq, chain_sha256 FROM adret_chain ORDER BY seq DESC LIMIT 1");
  const bool any = last.step();
  const std::int64_t seq = any ? last.integer(0) + 1 : 1;
  const std::string before = any ? last.text(1) : "";
  last.reset();
  const Cells link = {seq, table.name, id, reading, link_hash(before, table.name, id, reading)};
  db.again("INSERT INTO adret_chain VALUES (?, ?, ?, ?, ?)", link).step();
}

std::vector<horizon::Error> broken_chain(Store& store, const RowsOfTables& all) {
  using horizon::Code;
  std::vector<horizon::Error> broken;
  std::unordered_map<std::string, std::string> last;  // "table/id" -> reading
  std::string before;
  Statement links = store.db.prepare(
      "SELECT table_name, row_id, reading_sha256, chain_sha256 FROM adret_chain ORDER BY seq");
  while (links.step()) {
    const std::string table = links.text(0), id = links.text(1), reading = links.text(2);
    if (links.text(3) != link_hash(before, table, id, reading))
      broken.push_back({Code::bad_input, "error.chain_changed", table + " " + id});
    before = links.text(3);
    last[table + "/" + id] = reading;
  }
  std::unordered_set<std::string> gone;
  Statement removed = store.db.prepare("SELECT table_name, row_id FROM adret_removed");
  while (removed.step()) gone.insert(removed.text(0) + "/" + removed.text(1));
  for (const auto& [table, rows] : all) {
    if (!table->keep_for_ever) continue;
    int number = 0;
    for (const StoredRow& row : rows) {
      ++number;
      const auto link = last.find(table->name + "/" + words_of(row.cells[0]));
      const auto tell = [&](const char* key) {
        broken.push_back({Code::bad_input, key,
                          name_of_row(*table, row.cells) + ", number " + std::to_string(number)});
      };
      if (link == last.end())
        tell("error.reading_put_in");
      else if (link->second != reading_hash(*table, row.cells))
        tell("error.reading_changed");
      if (link != last.end()) last.erase(link);
    }
  }
  for (const auto& [key, reading] : last)
    if (!gone.contains(key)) broken.push_back({Code::bad_input, "error.reading_taken_out", key});
  return broken;
}

}  // namespace survey
