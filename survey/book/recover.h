// survey/book/recover.h: what can still be read of a damaged site file, in a new file.
// The damaged file is only read. Rows come first by SQLite, as far as it gets, then from every
// page that still holds rows, whatever the pages above say; each row must pass the same checks as
// one that is typed, each photograph its hash.
// Errors: no row left to save, or the new file cannot be written
// Source: SQLite database file format, sections 1.3, 1.5, 1.6, 2.1 (header, b-tree pages, records)
#pragma once

#include <map>
#include <string>
#include <vector>

#include "survey/book/store.h"

namespace survey {

struct Recovery {
  std::map<std::string, int> rows;  // by table
  int photo_bytes = 0;
  int unreadable = 0;                 // rows that were found but do not hold together
  std::vector<horizon::Error> notes;  // what to look at
};
horizon::Result<Recovery> recover(const std::string& damaged, const std::string& new_path);

}  // namespace survey
