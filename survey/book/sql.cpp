#include "survey/book/sql.h"

#include <sha2.h>
#include <unistd.h>

#include <array>
#include <chrono>
#include <cstdio>
#include <new>
#include <stdexcept>

namespace survey {

using horizon::Code;

void give_up(Code code, horizon::Sentence why, std::string where) {
  throw Failure{horizon::Error{code, std::move(why), std::move(where)}};
}

horizon::Error error_of(const std::exception& error) {
  if (dynamic_cast<const std::bad_alloc*>(&error) || dynamic_cast<const std::length_error*>(&error))
    return {Code::failed, "error.no_memory"};
  return {Code::failed, {"error.not_worked_out", {error.what()}}};
}

namespace {

[[noreturn]] void throw_sqlite(sqlite3* db, int result, const std::string& path) {
  const int extended = db ? sqlite3_extended_errcode(db) : result;
  switch (result & 0xff) {
    case SQLITE_FULL:
      give_up(Code::failed, "error.disk_full", path);
    case SQLITE_BUSY:
    case SQLITE_LOCKED:
      give_up(Code::failed, "error.file_in_use", path);
    case SQLITE_READONLY:
      give_up(Code::failed, "error.file_not_writable", path);
    case SQLITE_CANTOPEN:
      give_up(Code::failed, "error.file_not_opened", path);
    case SQLITE_PERM:
    case SQLITE_AUTH:
      give_up(Code::failed, "error.not_permitted", path);
    case SQLITE_CORRUPT:
    case SQLITE_NOTADB:
      give_up(Code::bad_input, "error.file_damaged", path);
    case SQLITE_IOERR:
      give_up(Code::failed, {"error.disk_no_answer", {extended}}, path);
    case SQLITE_NOMEM:
      throw std::bad_alloc();
    case SQLITE_TOOBIG:
      give_up(Code::bad_input, "error.entry_too_large", path);
    default:
      give_up(Code::failed,
              {"error.storage_failed", {db ? sqlite3_errmsg(db) : sqlite3_errstr(result)}}, path);
  }
}

std::string uri_of(const std::string& path, const char* options) {
  // "./" keeps a relative name from being read as the authority of the URI.
  std::string uri = path.starts_with('/') ? "file:" : "file:./";
  for (const char c : path) {
    if (c == '%' || c == '?' || c == '#') {
      char hex[4];
      std::snprintf(hex, sizeof hex, "%%%02X", c);
      uri += hex;
    } else {
      uri += c;
    }
  }
  return uri + "?" + options;
}

}  // namespace

Statement& Statement::bind(int index, const Cell& cell) {
  sqlite3_stmt* s = statement_.get();
  int result = SQLITE_OK;
  if (const auto* whole = std::get_if<std::int64_t>(&cell))
    result = sqlite3_bind_int64(s, index, *whole);
  else if (const auto* real = std::get_if<double>(&cell))
    result = sqlite3_bind_double(s, index, *real);
  else if (const auto* text = std::get_if<std::string>(&cell))
    result = sqlite3_bind_text64(s, index, text->data(), text->size(), SQLITE_STATIC, SQLITE_UTF8);
  else if (const auto* blob = std::get_if<Blob>(&cell))
    result = sqlite3_bind_blob64(s, index, blob->bytes.data(), blob->bytes.size(), SQLITE_STATIC);
  else
    result = sqlite3_bind_null(s, index);
  if (result != SQLITE_OK) throw_sqlite(sqlite3_db_handle(s), result, {});
  return *this;
}

bool Statement::step() {
  const int result = sqlite3_step(statement_.get());
  if (result == SQLITE_ROW) return true;
  if (result == SQLITE_DONE) return false;
  sqlite3* db = sqlite3_db_handle(statement_.get());
  const char* path = sqlite3_db_filename(db, "main");
  try {
    throw_sqlite(db, result, path ? path : "");
  } catch (...) {
    sqlite3_reset(statement_.get());
    throw;
  }
}

void Statement::reset() {
  sqlite3_reset(statement_.get());
  sqlite3_clear_bindings(statement_.get());
}

Cell Statement::cell(int column) const {
  sqlite3_stmt* s = statement_.get();
  switch (sqlite3_column_type(s, column)) {
    case SQLITE_INTEGER:
      return std::int64_t{sqlite3_column_int64(s, column)};
    case SQLITE_FLOAT:
      return sqlite3_column_double(s, column);
    case SQLITE_TEXT:
      return text(column);
    case SQLITE_BLOB: {
      const auto* bytes = static_cast<const char*>(sqlite3_column_blob(s, column));
      return Blob{std::string(bytes ? bytes : "", sqlite3_column_bytes(s, column))};
    }
    default:
      return std::monostate{};
  }
}

std::string_view Statement::view(int column) const {
  sqlite3_stmt* s = statement_.get();
  if (sqlite3_column_type(s, column) != SQLITE_TEXT) return {};
  const auto* bytes = reinterpret_cast<const char*>(sqlite3_column_text(s, column));
  return bytes ? std::string_view(bytes, sqlite3_column_bytes(s, column)) : std::string_view();
}

std::string Statement::text(int column) const {
  const auto* bytes = reinterpret_cast<const char*>(sqlite3_column_text(statement_.get(), column));
  return bytes ? std::string(bytes, sqlite3_column_bytes(statement_.get(), column)) : std::string();
}

Database::Database(const std::string& path, const char* options) : path_(path) {
  if (path.find('\0') != std::string::npos) give_up(Code::bad_input, "error.zero_byte_in_name");
  open(uri_of(path, options));
}

Database::Database(const std::string& path) : path_(path) {
  open("");
  // Written out where more than a quarter of it is new: not for what a site can hold.
  run("PRAGMA cache_size=-262144");
}

void Database::open(const std::string& uri) {
  const int result = sqlite3_open_v2(
      uri.c_str(), &db_, SQLITE_OPEN_READWRITE | SQLITE_OPEN_CREATE | SQLITE_OPEN_URI, nullptr);
  if (result != SQLITE_OK) {
    sqlite3_close(std::exchange(db_, nullptr));
    throw_sqlite(nullptr, result, path_);
  }
  sqlite3_busy_timeout(db_, 2000);
  // A file from somebody else may hold views, triggers or column defaults that run functions:
  // nothing in a schema is trusted, and what a GeoPackage of ours needs is plain tables.
  sqlite3_db_config(db_, SQLITE_DBCONFIG_DEFENSIVE, 1, nullptr);
  sqlite3_db_config(db_, SQLITE_DBCONFIG_TRUSTED_SCHEMA, 0, nullptr);
  sqlite3_db_config(db_, SQLITE_DBCONFIG_ENABLE_TRIGGER, 0, nullptr);
  sqlite3_db_config(db_, SQLITE_DBCONFIG_ENABLE_VIEW, 0, nullptr);
  sqlite3_drop_modules(db_, nullptr);
  sqlite3_limit(db_, SQLITE_LIMIT_LENGTH, 64'000'000);
  sqlite3_limit(db_, SQLITE_LIMIT_SQL_LENGTH, 100'000);
  sqlite3_limit(db_, SQLITE_LIMIT_EXPR_DEPTH, 100);
  sqlite3_limit(db_, SQLITE_LIMIT_WORKER_THREADS, 0);
  // A hundred thousand rows are looked up in no order: 64 MB of pages, only as far as a file has them.
  sqlite3_exec(db_, "PRAGMA cell_size_check=ON; PRAGMA mmap_size=0; PRAGMA cache_size=-65536",
               nullptr, nullptr, nullptr);
}

Database::~Database() {
  kept_.clear();
  sqlite3_close_v2(db_);
}

void Database::close() {
  kept_.clear();
  const int result = sqlite3_close(db_);
  if (result != SQLITE_OK) throw_sqlite(db_, result, path_);
  db_ = nullptr;
}

void Database::run(const std::string& sql) {
  const int result = sqlite3_exec(db_, sql.c_str(), nullptr, nullptr, nullptr);
  if (result != SQLITE_OK) throw_sqlite(db_, result, path_);
}

Statement Database::prepare(const std::string& sql) const {
  sqlite3_stmt* statement = nullptr;
  const int result =
      sqlite3_prepare_v2(db_, sql.c_str(), static_cast<int>(sql.size()), &statement, nullptr);
  if (result != SQLITE_OK) throw_sqlite(db_, result, path_);
  return Statement(statement);
}

Statement& Database::again(const std::string& sql) {
  const auto found = kept_.find(sql);
  Statement& statement =
      found != kept_.end() ? found->second : kept_.emplace(sql, prepare(sql)).first->second;
  statement.reset();
  return statement;
}

Statement& Database::again(const std::string& sql, const Cells& values) {
  Statement& statement = again(sql);
  for (std::size_t i = 0; i < values.size(); ++i)
    statement.bind(static_cast<int>(i) + 1, values[i]);
  return statement;
}

std::int64_t Database::number(const std::string& sql) {
  Statement statement = prepare(sql);
  return statement.step() ? statement.integer(0) : 0;
}

std::string Database::word(const std::string& sql) {
  Statement statement = prepare(sql);
  return statement.step() ? statement.text(0) : std::string();
}

Transaction::Transaction(Database& db)
    : db_(db), outermost_(sqlite3_get_autocommit(db.handle()) != 0) {
  if (outermost_) db_.run("BEGIN IMMEDIATE");
}
Transaction::~Transaction() {
  // A full disk may have ended the transaction already.
  if (outermost_ && !done_ && !sqlite3_get_autocommit(db_.handle()))
    sqlite3_exec(db_.handle(), "ROLLBACK", nullptr, nullptr, nullptr);
}
void Transaction::commit() {
  if (outermost_) db_.run("COMMIT");
  done_ = true;
}

std::string sql_name(std::string_view name) {
  std::string result = "\"";
  for (const char c : name) {
    result += c;
    if (c == '"') result += '"';
  }
  return result + '"';
}

std::string random_hex(int bytes) {
  std::array<unsigned char, 32> random{};
  if (bytes > static_cast<int>(random.size()) || getentropy(random.data(), bytes) != 0)
    give_up(Code::failed, "error.no_random_numbers");
  std::string hex;
  char two[3];
  for (int i = 0; i < bytes; ++i) {
    std::snprintf(two, sizeof two, "%02x", random[i]);
    hex += two;
  }
  return hex;
}

std::string random_uuid() {
  std::string hex = random_hex(16);
  hex[12] = '4';  // version: random
  const int digit = hex[16] <= '9' ? hex[16] - '0' : hex[16] - 'a' + 10;
  hex[16] = "89ab"[digit & 3];  // the variant of RFC 4122
  for (const int at : {8, 13, 18, 23}) hex.insert(at, "-");
  return hex;
}

bool is_uuid(std::string_view text) {
  if (text.size() != 36) return false;
  for (std::size_t i = 0; i < text.size(); ++i) {
    const bool dash = i == 8 || i == 13 || i == 18 || i == 23;
    const char c = text[i];
    const bool hex = (c >= '0' && c <= '9') || (c >= 'a' && c <= 'f');
    if (dash ? c != '-' : !hex) return false;
  }
  return true;
}

std::string sha256_hex(std::string_view bytes) {
  char hex[SHA256_DIGEST_STRING_LENGTH];
  SHA256Data(reinterpret_cast<const std::uint8_t*>(bytes.data()), bytes.size(), hex);
  return hex;
}

double now_utc_s() {
  using namespace std::chrono;
  return duration<double>(system_clock::now().time_since_epoch()).count();
}

}  // namespace survey
