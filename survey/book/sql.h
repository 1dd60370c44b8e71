// survey/book/sql.h: SQLite for survey's own files: statements that free themselves, failures as words.
// Errors: inside survey's storage a failure is thrown as `Failure`; `guarded` turns it into the
//         value that callers see. Thirty calls in a row may each fail for the same three reasons
//         (disk, lock, damage), and no place between has anything to add.
#pragma once

#include <sqlite3.h>

#include <cstdint>
#include <exception>
#include <memory>
#include <string>
#include <string_view>
#include <unordered_map>
#include <utility>
#include <variant>
#include <vector>

#include "horizon/result.h"

namespace survey {

struct Failure {
  horizon::Error error;
};
[[noreturn]] void give_up(horizon::Code code, horizon::Sentence why, std::string where = {});

horizon::Error error_of(const std::exception& error);  // survey/book/store.h

template <class T>
T value_or_throw(horizon::Result<T> result) {
  if (!result) throw Failure{std::move(result.error())};
  if constexpr (!std::is_void_v<T>) return std::move(*result);
}
template <class Work>
auto guarded(Work&& work) -> horizon::Result<decltype(work())> {
  try {
    if constexpr (std::is_void_v<decltype(work())>) {
      work();
      return {};
    } else {
      return work();
    }
  } catch (Failure& failure) {
    return tl::unexpected<horizon::Error>(std::move(failure.error));
  } catch (const std::exception& error) {
    return tl::unexpected<horizon::Error>(error_of(error));
  }
}

struct Blob {
  std::string bytes;
  friend bool operator==(const Blob&, const Blob&) = default;
};
// NULL, INTEGER, REAL, TEXT, BLOB.
using Cell = std::variant<std::monostate, std::int64_t, double, std::string, Blob>;
using Cells = std::vector<Cell>;

class Statement {
 public:
  explicit Statement(sqlite3_stmt* statement) : statement_(statement) {}
  Statement& bind(int index, const Cell& cell);  // from 1; the cell must outlive the stepping
  bool step();                                   // true: a row is there
  Cell cell(int column) const;
  std::string text(int column) const;       // empty for NULL
  std::string_view view(int column) const;  // of a text, until the next step; empty for all else
  std::int64_t integer(int column) const { return sqlite3_column_int64(statement_.get(), column); }
  int columns() const { return sqlite3_column_count(statement_.get()); }
  void reset();

 private:
  struct Finalize {
    void operator()(sqlite3_stmt* statement) const { sqlite3_finalize(statement); }
  };
  std::unique_ptr<sqlite3_stmt, Finalize> statement_;
};

class Database {
 public:
  // options: of an SQLite URI, "mode=ro&immutable=1".
  Database(const std::string& path, const char* options);
  // An empty one in a temporary place of its own, gone when this closes; it goes by the path given.
  static Database temporary(const std::string& path) { return Database(path); }
  Database(Database&& other) noexcept
      : db_(std::exchange(other.db_, nullptr)),
        path_(std::move(other.path_)),
        kept_(std::move(other.kept_)) {}
  ~Database();
  Database& operator=(const Database&) = delete;
  void goes_by(const std::string& path) { path_ = path; }  // in what people read

  void run(const std::string& sql);  // several statements, no result
  Statement prepare(const std::string& sql) const;
  // A kept statement, reset and ready: for what runs again and again.
  Statement& again(const std::string& sql);
  Statement& again(const std::string& sql, const Cells& values);
  std::int64_t number(const std::string& sql);  // first column of the first row; 0 without one
  std::string word(const std::string& sql);
  std::int64_t last_row() const { return sqlite3_last_insert_rowid(db_); }
  void close();  // throws if it cannot
  sqlite3* handle() const { return db_; }
  const std::string& path() const { return path_; }

 private:
  explicit Database(const std::string& path);
  void open(const std::string& uri);
  sqlite3* db_ = nullptr;
  std::string path_;
  std::unordered_map<std::string, Statement> kept_;
};

// Rolls back unless `commit` was called. Within another one it is a part of that.
class Transaction {
 public:
  explicit Transaction(Database& db);
  ~Transaction();
  void commit();

 private:
  Database& db_;
  bool outermost_, done_ = false;
};

std::string sql_name(std::string_view name);  // an SQL identifier

// 16 bytes of the system's generator as a version 4 UUID; n bytes as hex.
std::string random_uuid();
std::string random_hex(int bytes);
std::string sha256_hex(std::string_view bytes);
bool is_uuid(std::string_view text);
double now_utc_s();

}  // namespace survey
