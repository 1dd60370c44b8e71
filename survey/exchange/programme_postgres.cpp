// survey/exchange/programme_postgres.cpp: a programme on a PostgreSQL server, by libpq.
#include <libpq-fe.h>

#include <cstdlib>

#include "survey/book/text.h"
#include "survey/exchange/programme_sql.h"

namespace survey {
namespace {

using horizon::Code;

struct Clear {
  void operator()(PGresult* result) const { PQclear(result); }
};
using Answer = std::unique_ptr<PGresult, Clear>;

// Of PostgreSQL's catalogue, pg_type.dat.
enum : Oid {
  kBool = 16,
  kBytea = 17,
  kInt8 = 20,
  kInt2 = 21,
  kInt4 = 23,
  kFloat4 = 700,
  kFloat8 = 701
};

std::string hex_of(const std::string& bytes) {
  static constexpr char kDigits[] = "0123456789abcdef";
  std::string out = "\\x";
  out.reserve(2 + 2 * bytes.size());
  for (const unsigned char c : bytes) {
    out += kDigits[c >> 4];
    out += kDigits[c & 15];
  }
  return out;
}

// As text that the server reads by the type it expects; nothing for NULL.
std::optional<std::string> sent(const Cell& cell) {
  if (const auto* whole = std::get_if<std::int64_t>(&cell)) return std::to_string(*whole);
  if (const auto* real = std::get_if<double>(&cell)) {
    char text[40];
    std::snprintf(text, sizeof text, "%.17g", *real);
    return text;
  }
  if (const auto* text = std::get_if<std::string>(&cell)) return *text;
  if (const auto* blob = std::get_if<Blob>(&cell)) return hex_of(blob->bytes);
  return std::nullopt;
}

Cell received(const PGresult* result, int row, int column) {
  if (PQgetisnull(result, row, column)) return {};
  const char* text = PQgetvalue(result, row, column);
  switch (PQftype(result, column)) {
    case kBool:
      return std::int64_t{*text == 't'};
    case kInt2:
    case kInt4:
    case kInt8:
      return std::int64_t{std::strtoll(text, nullptr, 10)};
    case kFloat4:
    case kFloat8:
      return std::strtod(text, nullptr);
    case kBytea: {
      std::size_t size = 0;
      unsigned char* bytes = PQunescapeBytea(reinterpret_cast<const unsigned char*>(text), &size);
      if (!bytes) throw std::bad_alloc();
      Blob blob{std::string(reinterpret_cast<const char*>(bytes), size)};
      PQfreemem(bytes);
      return blob;
    }
    default:
      return std::string(text, static_cast<std::size_t>(PQgetlength(result, row, column)));
  }
}

class Server : public ProgrammeSql {
 public:
  explicit Server(const std::string& address) : connection_(PQconnectdb(address.c_str())) {
    where_ = "postgresql://" + said(PQhost(connection_)) + "/" + said(PQdb(connection_));
    if (PQstatus(connection_) != CONNECTION_OK) {
      const std::string words(trimmed(PQerrorMessage(connection_)));
      PQfinish(connection_);
      give_up(Code::failed, {"error.programme_server", {words}}, where_);
    }
    PQsetNoticeProcessor(
        connection_, [](void*, const char*) {}, nullptr);
    PQsetClientEncoding(connection_, "UTF8");
  }
  ~Server() override { PQfinish(connection_); }
  Server(const Server&) = delete;
  Server& operator=(const Server&) = delete;

  void run(const std::string& sql) override { well(Answer(PQexec(connection_, sql.c_str()))); }

  void each(const std::string& sql, const Cells& values,
            const std::function<void(const Cells&)>& take) override {
    std::string asked = sql;
    for (char& c : asked)
      if (c == '?') c = '$';
    std::vector<std::optional<std::string>> texts;
    std::vector<const char*> places;
    for (const Cell& cell : values) texts.push_back(sent(cell));
    for (const auto& text : texts) places.push_back(text ? text->c_str() : nullptr);
    const Answer answer(PQexecParams(connection_, asked.c_str(), static_cast<int>(places.size()),
                                     nullptr, places.data(), nullptr, nullptr, 0));
    well(answer);
    Cells cells(static_cast<std::size_t>(PQnfields(answer.get())));
    for (int row = 0; row < PQntuples(answer.get()); ++row) {
      for (std::size_t i = 0; i < cells.size(); ++i)
        cells[i] = received(answer.get(), row, static_cast<int>(i));
      take(cells);
    }
  }
  bool postgres() const override { return true; }
  const std::string& where() const override { return where_; }

 private:
  static std::string said(const char* text) { return text ? text : ""; }
  void well(const Answer& answer) const {
    const auto status = PQresultStatus(answer.get());
    if (status == PGRES_COMMAND_OK || status == PGRES_TUPLES_OK) return;
    const char* state = PQresultErrorField(answer.get(), PG_DIAG_SQLSTATE);
    const std::string words(
        trimmed(said(PQresultErrorField(answer.get(), PG_DIAG_MESSAGE_PRIMARY))));
    if (PQstatus(connection_) != CONNECTION_OK)
      give_up(Code::failed, "error.programme_server_gone", where_);
    if (said(state) == "42501")  // insufficient_privilege
      give_up(Code::failed, {"error.programme_not_allowed", {words}}, where_);
    give_up(Code::failed, {"error.programme_server", {words}}, where_);
  }

  PGconn* connection_;
  std::string where_;
};

}  // namespace

std::unique_ptr<ProgrammeSql> programme_server(const std::string& address) {
  return std::make_unique<Server>(address);
}

}  // namespace survey
