// tests/web/probe.cpp: a small program behind the app's own page, over the app's own storage: for
// the tests of the page and for the one that kills the browser. It writes numbered marks into an
// SQLite file below /adret, as the field book does, and says which of them are durable. A touch
// makes a mark; the picture is one colour that follows the touches; typed text is kept.
#include <emscripten.h>
#include <sqlite3.h>

#include <cstdio>
#include <string>
#include <vector>

#include "platform/devices.h"

namespace {
sqlite3* database = nullptr;
platform::Devices devices;
std::string text;
std::vector<unsigned char> pixels;
int painted[5] = {};
int width = 0, height = 0, touches = 0, backs = 0;
bool wants_frame = true, writing = false;
float caret[4] = {40, 40, 2, 20};

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
  return run("CREATE TABLE IF NOT EXISTS mark (number INTEGER PRIMARY KEY, note TEXT)") ==
         SQLITE_OK;
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

// ---- what the page asks of a program; writing begins with a touch in the upper half
EMSCRIPTEN_KEEPALIVE void adret_start() { probe_open(); }
EMSCRIPTEN_KEEPALIVE void adret_resize(int w, int h, float, float, float, float, float) {
  width = w;
  height = h;
  wants_frame = true;
}
EMSCRIPTEN_KEEPALIVE double adret_frame() {
  painted[0] = 0;
  if (!wants_frame) return 60;
  wants_frame = false;
  pixels.assign(std::size_t(width) * height * 4, 255);
  for (std::size_t i = 0; i < pixels.size(); i += 4) pixels[i] = (unsigned char)(touches * 16);
  painted[0] = 1;
  return 60;
}
EMSCRIPTEN_KEEPALIVE int adret_painted() { return painted[0]; }
EMSCRIPTEN_KEEPALIVE const int* adret_painted_list() {
  static int list[5];
  list[0] = list[1] = 0;
  list[2] = width;
  list[3] = height;
  list[4] = int(reinterpret_cast<std::uintptr_t>(pixels.data()));
  return list;
}
EMSCRIPTEN_KEEPALIVE void adret_touch(int kind, int, float, float y) {
  if (kind != 2) return;
  ++touches;
  writing = y < 200;
  if (!writing) probe_mark();
  wants_frame = true;
}
EMSCRIPTEN_KEEPALIVE void adret_wheel(float, float, float) {}
EMSCRIPTEN_KEEPALIVE void adret_key(int key, int) {
  if (key == 8 && !text.empty()) text.pop_back();
  if (key == 14) writing = false;
}
EMSCRIPTEN_KEEPALIVE void adret_typed(const char* utf8) { text += utf8; }
EMSCRIPTEN_KEEPALIVE void adret_mark_key() { probe_mark(); }
EMSCRIPTEN_KEEPALIVE int adret_back() { return ++backs < 3; }
EMSCRIPTEN_KEEPALIVE void adret_pause() {}
EMSCRIPTEN_KEEPALIVE int adret_writing() { return writing; }
EMSCRIPTEN_KEEPALIVE const char* adret_writing_field() { return "note"; }
EMSCRIPTEN_KEEPALIVE const float* adret_caret() { return caret; }
EMSCRIPTEN_KEEPALIVE const char* probe_text() { return text.c_str(); }
EMSCRIPTEN_KEEPALIVE int probe_touches() { return touches; }

// The newest bearing, elevation and roll, in a thousandth of a degree; -1 without one.
EMSCRIPTEN_KEEPALIVE void probe_aim() { devices.attitude->start(); }
EMSCRIPTEN_KEEPALIVE int probe_aimed(int what) {
  static platform::Pose pose;
  static bool any = false;
  if (const auto newest = devices.attitude->poll()) {
    pose = *newest;
    any = true;
  }
  if (!any) return -1;
  return int(1000 * (what == 0   ? pose.azimuth_deg
                     : what == 1 ? pose.elevation_deg
                                 : pose.roll_deg));
}
EMSCRIPTEN_KEEPALIVE void probe_locate() { devices.position->start(); }
// Latitude in a millionth of a degree; -1 without a fix.
EMSCRIPTEN_KEEPALIVE int probe_located() {
  static int latitude = -1;
  if (const auto fix = devices.position->poll())
    latitude = int(1e6 * fix->place.latitude_deg + 0.5);
  return latitude;
}
EMSCRIPTEN_KEEPALIVE void probe_film() { devices.camera->start(); }
EMSCRIPTEN_KEEPALIVE int probe_filmed() {
  const auto picture = devices.camera->poll();
  return picture ? int(picture->rgba.size()) : 0;
}
EMSCRIPTEN_KEEPALIVE int probe_state(int device) {
  return int((device == 0   ? devices.position->status()
              : device == 1 ? devices.attitude->status()
                            : devices.camera->status())
                 .state);
}

}  // extern "C"

int main() {
  devices = platform::system_devices();
  emscripten_exit_with_live_runtime();
}
