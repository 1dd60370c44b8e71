// tests/web/probe.cpp: a small program over the same storage as the app, for the test that kills the
// browser: it writes numbered marks into an SQLite file below /adret, as the field book does, and
// says which of them are durable.
#include <emscripten.h>
#include <sqlite3.h>

#include <cstdio>
#include <filesystem>

#include "platform/devices.h"

namespace {
sqlite3* database = nullptr;
platform::Devices devices;

int run(const char* sql) {
  char* problem = nullptr;
  const int code = sqlite3_exec(database, sql, nullptr, nullptr, &problem);
  if (code != SQLITE_OK) std::fprintf(stderr, "%s: %s\n", sql, problem);
  sqlite3_free(problem);
  return code;
}

int number(const char* sql) {
  sqlite3_stmt* statement = nullptr;
  int result = -1;
  if (sqlite3_prepare_v2(database, sql, -1, &statement, nullptr) == SQLITE_OK &&
      sqlite3_step(statement) == SQLITE_ROW)
    result = sqlite3_column_int(statement, 0);
  sqlite3_finalize(statement);
  return result;
}
}  // namespace

extern "C" {

EMSCRIPTEN_KEEPALIVE int probe_open() {
  const std::string path = devices.files->sites_folder() + "/probe.gpkg";
  if (sqlite3_open(path.c_str(), &database) != SQLITE_OK) return 0;
  run("PRAGMA journal_mode=WAL");
  run("PRAGMA synchronous=FULL");
  return run("CREATE TABLE IF NOT EXISTS mark (number INTEGER PRIMARY KEY, note TEXT)") == SQLITE_OK;
}
// The number of the new mark.
EMSCRIPTEN_KEEPALIVE int probe_mark() {
  run("INSERT INTO mark (note) VALUES (hex(randomblob(200)))");
  return int(sqlite3_last_insert_rowid(database));
}
EMSCRIPTEN_KEEPALIVE int probe_durable() { return devices.files->durable(); }
EMSCRIPTEN_KEEPALIVE int probe_count() { return number("SELECT count(*) FROM mark"); }
EMSCRIPTEN_KEEPALIVE int probe_highest() { return number("SELECT max(number) FROM mark"); }
EMSCRIPTEN_KEEPALIVE int probe_sound() {
  return number("SELECT integrity_check = 'ok' FROM pragma_integrity_check");
}
// -1 while the worker has not finished: threads and their way back are tried with it.
EMSCRIPTEN_KEEPALIVE void probe_work() {
  devices.worker->post(0, [] {
    volatile double sum = 0;
    for (int i = 1; i < 30'000'000; ++i) sum = sum + 1.0 / i;
    return [] { EM_ASM({ Module.worked = 1; }); };
  });
}
EMSCRIPTEN_KEEPALIVE int probe_collect() { return devices.worker->collect(); }

}  // extern "C"

int main() {
  devices = platform::system_devices();
  emscripten_exit_with_live_runtime();
}
