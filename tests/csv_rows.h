// tests/csv_rows.h: the rows of a table of check values under tests/data.
// Plain commas, no quotes but in the comment line; the first row names the columns.
#pragma once

#include <doctest/doctest.h>

#include <cstdlib>
#include <fstream>
#include <map>
#include <string>
#include <vector>

struct CsvRow {
  std::map<std::string, std::string> text;
  double operator[](const std::string& column) const {
    REQUIRE_MESSAGE(text.contains(column), "no column " << column);
    return std::strtod(text.at(column).c_str(), nullptr);
  }
};

inline std::vector<CsvRow> csv_rows(const std::string& name) {
  std::ifstream file(std::string(ADRET_TEST_DATA "/") + name);
  REQUIRE_MESSAGE(file.good(), "cannot read tests/data/" << name);
  std::vector<CsvRow> rows;
  std::vector<std::string> columns;
  for (std::string line; std::getline(file, line);) {
    if (line.empty() || line[0] == '#' || line[0] == '"') continue;
    std::vector<std::string> fields(1);
    for (const char c : line) {
      if (c == ',')
        fields.emplace_back();
      else if (c != '\r')
        fields.back() += c;
    }
    if (columns.empty()) {
      columns = fields;
      continue;
    }
    CsvRow row;
    for (size_t i = 0; i < columns.size() && i < fields.size(); ++i)
      row.text[columns[i]] = fields[i];
    rows.push_back(row);
  }
  REQUIRE(!rows.empty());
  return rows;
}
