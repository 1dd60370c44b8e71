#include "survey/exchange/programme_copy.h"

#include <zlib.h>

#include <algorithm>

#include "survey/book/store_internal.h"

namespace survey {

using horizon::Code;

namespace {

constexpr std::size_t kMostUnpacked = 64'000'000;

}  // namespace

horizon::Result<std::string> content_sha256(const FieldBook& book) {
  return guarded([&] {
    std::vector<std::string> rows;
    for (const Table* table : all_tables()) {
      if (table->name == "person") continue;
      const int for_whom = table->name == "site" ? table->index_of("for_whom") : -1;
      for (StoredRow& row : all_rows(book.store(), *table)) {
        if (for_whom >= 0) row.cells[static_cast<std::size_t>(for_whom)] = std::string();
        rows.push_back(row.stamp + " " + image_of(*table, row.cells));
      }
    }
    Statement removed =
        book.store().db.prepare("SELECT stamp FROM adret_removed WHERE table_name<>'person'");
    while (removed.step()) rows.push_back(removed.text(0));
    std::ranges::sort(rows);
    std::string all;
    for (const std::string& row : rows) all += sha256_hex(row);
    return sha256_hex(all);
  });
}

std::string stamp_of_row(const FieldBook& book, const std::string& key) {
  const std::size_t slash = key.find('/');
  const Table* const table = table_named(key.substr(0, slash));
  if (slash == std::string::npos || !table) return {};
  const auto row =
      find_row(book.store(), *table, key.substr(slash + 1, key.rfind('/') - slash - 1));
  return row ? row->stamp : std::string();
}

horizon::Result<std::string> packed(std::string_view bytes) {
  uLongf size = compressBound(bytes.size());
  std::string out(size, '\0');
  if (compress2(reinterpret_cast<Bytef*>(out.data()), &size,
                reinterpret_cast<const Bytef*>(bytes.data()), bytes.size(), 6) != Z_OK)
    return horizon::fail(Code::failed, "error.no_memory");
  out.resize(size);
  return std::to_string(bytes.size()) + ":" + out;
}

horizon::Result<std::string> unpacked(std::string_view bytes) {
  const std::size_t colon = bytes.substr(0, 12).find(':');
  std::size_t expected = 0;
  if (colon != std::string_view::npos)
    for (const char c : bytes.substr(0, colon)) {
      if (c < '0' || c > '9') return horizon::fail(Code::bad_input, "error.programme_copy_damaged");
      expected = expected * 10 + static_cast<std::size_t>(c - '0');
    }
  if (colon == std::string_view::npos || expected > kMostUnpacked)
    return horizon::fail(Code::bad_input, "error.programme_copy_damaged");
  bytes.remove_prefix(colon + 1);
  std::string out(expected, '\0');
  uLongf size = expected;
  if (uncompress(reinterpret_cast<Bytef*>(out.data()), &size,
                 reinterpret_cast<const Bytef*>(bytes.data()), bytes.size()) != Z_OK ||
      size != expected)
    return horizon::fail(Code::bad_input, "error.programme_copy_damaged");
  return out;
}

horizon::Result<void> write_kept(const FieldBook& book, const std::string& path) {
  return book.export_to(path, {.photo_bytes = false, .names = false});
}

}  // namespace survey
