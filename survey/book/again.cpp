#include "survey/book/again.h"

#include "survey/book/store_internal.h"

namespace survey {

namespace {

// Of an import's making; what is left out is given or decided in the book.
std::string content_hash(const Table& table, Cells cells) {
  for (std::size_t i = 0; i < cells.size(); ++i) {
    const std::string& name = table.columns[i].name;
    if (name == "id" || name == "photo_id" || name == "visit_id" || name.starts_with("voided") ||
        name == "void_reason" || name.ends_with("_utc_offset_h") || name == "main" ||
        name == "left_out")
      cells[i] = Cell();
    else if (const auto* whole = std::get_if<std::int64_t>(&cells[i]);
             whole && table.columns[i].holds == Holds::real)
      cells[i] = static_cast<double>(*whole);
  }
  return sha256_hex(table.name + "\n" + image_of(table, cells));
}

// RFC 9562, version 8: the bits are ours to choose.
std::string id_of(const std::string& hash, int n) {
  std::string hex = sha256_hex(hash + "#" + std::to_string(n)).substr(0, 32);
  hex[12] = '8';
  const int digit = hex[16] <= '9' ? hex[16] - '0' : hex[16] - 'a' + 10;
  hex[16] = "89ab"[digit & 3];
  for (const int at : {8, 13, 18, 23}) hex.insert(at, "-");
  return hex;
}

}  // namespace

std::string Again::known_or_id(const Table& table, const Cells& cells) {
  const auto [found, is_new] = tables_.try_emplace(&table);
  Known& known = found->second;
  if (is_new)
    for (const StoredRow& row : all_rows(book_.store(), table))
      ++known.rows[content_hash(table, row.cells)];
  const std::string hash = content_hash(table, cells);
  const int n = ++known.seen[hash];
  const std::string id = id_of(hash, n);
  if (n <= known.rows[hash] || find_row(book_.store(), table, id)) return {};
  return id;
}

}  // namespace survey
