// app/touch/browser.cpp: the app in a browser: what platform/web/page/shell.js calls.
// Units: CSS pixels in (one dp), device pixels out; `density` device pixels a dp
// Why:   the page draws only what was repainted and answers a touch inside its handler, which SDL's
//        event queue would leave; keyboards, cameras and share sheets insist on that
#include <emscripten.h>

#include <cmath>
#include <cstdlib>
#include <memory>
#include <nlohmann/json.hpp>
#include <string>
#include <vector>

#include "app/drawing/screen_canvas.h"
#include "app/touch/touch_app.h"
#include "app/touch/ui/areas.h"
#include "app/touch/ui/inspect.h"
#include "platform/devices.h"

namespace {

struct Page {
  app::TouchApp app{platform::system_devices()};
  app::ScreenCanvas canvas;
  app::FrameInput frame;
  int width_px = 0, height_px = 0;
  float density = 1;
  std::vector<std::uint8_t> rgba;  // of what was repainted, piece after piece
  std::vector<int> painted;        // x, y, width, height, address of each piece
  float caret[4] = {};
  app::InspectedCanvas inspected;
  bool watched = false;
  std::string seen, areas;
};
Page* page = nullptr;

// 0xAARRGGBB to the bytes R, G, B, A.
void copy_out(const std::vector<app::PixelRect>& damage) {
  const app::Bitmap& bitmap = page->canvas.bitmap();
  std::size_t size = 0;
  for (const auto& r : damage) size += std::size_t(r.x1 - r.x0) * (r.y1 - r.y0) * 4;
  page->rgba.resize(size);
  page->painted.clear();
  std::uint8_t* out = page->rgba.data();
  for (const auto& r : damage) {
    page->painted.insert(page->painted.end(), {r.x0, r.y0, r.x1 - r.x0, r.y1 - r.y0,
                                               int(reinterpret_cast<std::uintptr_t>(out))});
    for (int y = r.y0; y < r.y1; ++y)
      for (int x = r.x0; x < r.x1; ++x) {
        const std::uint32_t p = bitmap.pixels[std::size_t(y) * bitmap.width + x];
        *out++ = std::uint8_t(p >> 16);
        *out++ = std::uint8_t(p >> 8);
        *out++ = std::uint8_t(p);
        *out++ = 255;
      }
  }
}

}  // namespace

extern "C" {

EMSCRIPTEN_KEEPALIVE void adret_start() {
  page = new Page;  // lives as long as the page
  page->app.on_wake([] { MAIN_THREAD_ASYNC_EM_ASM({ adretKick(); }); });
}

EMSCRIPTEN_KEEPALIVE void adret_resize(int width_px, int height_px, float density, float left,
                                       float top, float right, float bottom) {
  page->width_px = width_px;
  page->height_px = height_px;
  page->density = density;
  page->frame.width = float(width_px) / density;
  page->frame.height = float(height_px) / density;
  page->frame.safe = {left, top, right, bottom};
  page->canvas.redraw_all();
  page->app.ui().request_frame();
}

// Draws if something changed. Returns how long nothing is expected, in seconds; 0 = draw again.
EMSCRIPTEN_KEEPALIVE double adret_frame() {
  page->app.poll();
  page->painted.clear();
  if (page->app.wants_frame()) {
    page->canvas.begin(page->width_px, page->height_px, page->density, page->app.background());
    if (page->watched) {
      page->inspected.begin(page->canvas, {0, 0, page->frame.width, page->frame.height});
      page->app.draw(page->inspected, page->frame);
    } else {
      page->app.draw(page->canvas, page->frame);
    }
    copy_out(page->canvas.finish());
  }
  return page->app.wants_frame() ? 0 : page->app.sleep_s();
}

EMSCRIPTEN_KEEPALIVE int adret_painted() { return int(page->painted.size() / 5); }
EMSCRIPTEN_KEEPALIVE const int* adret_painted_list() { return page->painted.data(); }

EMSCRIPTEN_KEEPALIVE void adret_touch(int kind, int finger, float x, float y) {
  page->app.ui().touch({app::Touch::Kind(kind), finger, {x, y}, page->app.now_s()});
}
EMSCRIPTEN_KEEPALIVE void adret_wheel(float x, float y, float dy) {
  page->app.ui().wheel({x, y}, dy);
}
EMSCRIPTEN_KEEPALIVE void adret_key(int key, int shift) {
  page->app.ui().key(app::EditKey(key), shift != 0);
}
EMSCRIPTEN_KEEPALIVE void adret_typed(const char* utf8) { page->app.ui().typed(utf8); }
EMSCRIPTEN_KEEPALIVE void adret_mark_key() { page->app.mark_key(); }
EMSCRIPTEN_KEEPALIVE int adret_back() {
  if (page->app.ui().editing()) {
    page->app.ui().key(app::EditKey::escape, false);
    return 1;
  }
  return page->app.back();
}
EMSCRIPTEN_KEEPALIVE void adret_pause() { page->app.pause(); }

EMSCRIPTEN_KEEPALIVE int adret_writing() { return page->app.ui().editing(); }
EMSCRIPTEN_KEEPALIVE const char* adret_writing_field() { return page->app.ui().focused().c_str(); }
// x, y, width, height of the caret in CSS pixels.
EMSCRIPTEN_KEEPALIVE const float* adret_caret() {
  if (const auto caret = page->app.ui().caret()) {
    page->caret[0] = caret->x;
    page->caret[1] = caret->y;
    page->caret[2] = caret->w;
    page->caret[3] = caret->h;
  }
  return page->caret;
}

// The screen as a tree, see app/touch/ui/areas.h; and a touch on one of its areas.
EMSCRIPTEN_KEEPALIVE const char* adret_areas() {
  page->areas =
      app::areas_json(page->app.ui(), app::name_of(page->app.screen()), page->app.live_words());
  return page->areas.c_str();
}
EMSCRIPTEN_KEEPALIVE void adret_activate(const char* name) { page->app.ui().activate(name); }

// For those who cannot see the picture, as tests: what can be touched and what is written, as JSON.
// The first call begins to note the words; they are there after the next frame.
EMSCRIPTEN_KEEPALIVE const char* adret_seen() {
  auto& app = page->app;
  if (!page->watched) {
    page->watched = true;
    page->canvas.redraw_all();
    app.ui().request_frame();
  }
  const auto box = [](const app::Rect& r) { return nlohmann::json::array({r.x, r.y, r.w, r.h}); };
  nlohmann::json out = {{"screen", app::name_of(app.screen())},
                        {"busy", app.busy() || app.wants_frame()},
                        {"kept_marks", app.session().has_site() ? app.session().kept_marks() : 0},
                        {"touch", nlohmann::json::array()},
                        {"words", nlohmann::json::array()}};
  if (const auto aim = app.session().aim(); app.session().aiming() && aim)
    out["aim"] = {aim->azimuth_deg, aim->elevation_deg};
  const auto& hits = app.ui().hits();
  for (std::size_t i = app.ui().modal_from(); i < hits.size(); ++i)
    out["touch"].push_back({{"label", hits[i].label},
                            {"scroll", hits[i].act == app::HitAct::scroll},
                            {"enabled", hits[i].enabled},
                            {"box", box(hits[i].rect)},
                            {"visible", box(hits[i].visible)}});
  for (const auto& words : page->inspected.words()) out["words"].push_back(words.text);
  page->seen = out.dump(-1, ' ', false, nlohmann::json::error_handler_t::replace);
  return page->seen.c_str();
}

}  // extern "C"

int main() {
  setenv("PROJ_DATA", "/proj",
         1);  // where --preload-file puts proj.db, see platform/web/page.cmake
  emscripten_exit_with_live_runtime();
}
