#include "survey/exchange/programme_sql.h"

namespace survey {
namespace {

class File : public ProgrammeSql {
 public:
  File(const std::string& path, bool read_only) : db_(path, read_only ? "mode=ro" : "mode=rw") {
    sqlite3_busy_timeout(db_.handle(), 60'000);  // others add their sites meanwhile
    db_.run("PRAGMA foreign_keys=ON");
  }
  void run(const std::string& sql) override { db_.run(sql); }
  std::vector<Cells> rows(const std::string& sql, const Cells& values) override {
    Statement& statement = db_.again(sql, values);
    std::vector<Cells> out;
    while (statement.step()) {
      Cells& row = out.emplace_back();
      for (int i = 0; i < statement.columns(); ++i) row.push_back(statement.cell(i));
    }
    statement.reset();
    return out;
  }
  bool postgres() const override { return false; }
  const std::string& where() const override { return db_.path(); }

 private:
  Database db_;
};

}  // namespace

std::unique_ptr<ProgrammeSql> programme_file(const std::string& path, bool read_only) {
  return std::make_unique<File>(path, read_only);
}

bool is_server_address(const std::string& where) {
  return where.starts_with("postgresql://") || where.starts_with("postgres://");
}

}  // namespace survey
