// survey/exchange/programme_sql.h: the two databases of a programme behind one way of asking. For survey's own files.
// SQL:    what both understand; values are ?1, ?2, ... in the order of the cells
// Errors: thrown as `Failure` (survey/book/sql.h)
#pragma once

#include <functional>
#include <memory>
#include <string>
#include <vector>

#include "survey/book/sql.h"

namespace survey {

class ProgrammeSql {
 public:
  virtual ~ProgrammeSql() = default;
  virtual void run(const std::string& sql) = 0;
  // Each row in turn, in cells that are used again for the next.
  virtual void each(const std::string& sql, const Cells& values,
                    const std::function<void(const Cells&)>& take) = 0;
  virtual bool postgres() const = 0;
  virtual const std::string& where() const = 0;  // for people; without a password

  std::vector<Cells> rows(const std::string& sql, const Cells& values);
  std::int64_t number(const std::string& sql, const Cells& values = {});  // 0 without a row
};

// Rolls back unless `commit` was called.
class ProgrammeTransaction {
 public:
  explicit ProgrammeTransaction(ProgrammeSql& sql) : sql_(sql) {
    sql_.run(sql_.postgres() ? "BEGIN" : "BEGIN IMMEDIATE");
  }
  ~ProgrammeTransaction();
  void commit() {
    sql_.run("COMMIT");
    done_ = true;
  }

 private:
  ProgrammeSql& sql_;
  bool done_ = false;
};

// A file that is there already.
std::unique_ptr<ProgrammeSql> programme_file(const std::string& path, bool read_only);
std::unique_ptr<ProgrammeSql> programme_server(const std::string& address);
bool is_server_address(const std::string& where);

// The tables where there are none yet; remarks: what the server did not let us make.
void make_programme_file(const std::string& path);
void make_programme_server(ProgrammeSql& sql, std::vector<horizon::Error>& remarks);
// Refuses what is no programme or is newer than this program.
void check_is_programme(ProgrammeSql& sql);

}  // namespace survey
