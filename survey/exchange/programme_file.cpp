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
  void each(const std::string& sql, const Cells& values,
            const std::function<void(const Cells&)>& take) override {
    Statement& statement = db_.again(sql, values);
    Cells row(static_cast<std::size_t>(statement.columns()));
    while (statement.step()) {
      for (std::size_t i = 0; i < row.size(); ++i) row[i] = statement.cell(static_cast<int>(i));
      take(row);
    }
    statement.reset();
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
