// tests/survey/alter_file.h: what somebody else may have done to a site file.
#pragma once

#include <doctest/doctest.h>
#include <sqlite3.h>

#include <string>

// Runs statements on the file as it is, past the program. False where the file forbids them.
inline bool alter_file(const std::string& path, const std::string& sql) {
  sqlite3* db = nullptr;
  REQUIRE(sqlite3_open(path.c_str(), &db) == SQLITE_OK);
  const int result = sqlite3_exec(db, sql.c_str(), nullptr, nullptr, nullptr);
  sqlite3_close(db);
  return result == SQLITE_OK;
}
