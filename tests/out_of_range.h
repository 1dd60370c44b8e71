// tests/out_of_range.h: what a site file holds that the one table of ranges (survey/book/ranges.h) refuses.
#pragma once

#include <string>
#include <vector>

#include "survey/book/ranges.h"
#include "survey/book/sql.h"

inline std::vector<std::string> out_of_range(const std::string& path) {
  std::vector<std::string> found, tables;
  const survey::Database db(path, "mode=ro");
  auto names = db.prepare("SELECT name FROM sqlite_master WHERE type = 'table'");
  while (names.step()) tables.push_back(names.text(0));
  for (const std::string& table : tables) {
    auto columns = db.prepare("SELECT name FROM pragma_table_info('" + table + "')");
    while (columns.step()) {
      const std::string column = columns.text(0);
      const auto range = survey::range_of(table, column);
      if (!range) continue;
      auto rows = db.prepare("SELECT " + column + " FROM " + table + " WHERE " + column +
                             " IS NOT NULL AND typeof(" + column + ") != 'text' AND NOT (" +
                             column + " >= " + std::to_string(range->min) + " AND " + column +
                             " <= " + std::to_string(range->max) + ")");
      while (rows.step()) found.push_back(table + "." + column + " = " + rows.text(0));
    }
  }
  return found;
}
