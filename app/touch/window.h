// app/touch/window.h: the app on a screen: SDL events in, pixels out.
// Units: pixels and dp; `scale` pixels a dp
// A frame is drawn only when something changed; between, the loop sleeps until an event.
#pragma once

#include <SDL.h>

#include <string>

#include "app/drawing/screen_canvas.h"
#include "app/touch/touch_app.h"
#include "app/touch/ui/inspect.h"

namespace app {

struct WindowOptions {
  int width = 1280, height = 800;  // dp
  float scale = 0;                 // 0 = by the screen's density
  bool resizable = true;
  bool inspect = false;  // note words and areas for checks
  Insets safe;
};

class Window {
 public:
  Window(TouchApp& app, const WindowOptions& options);
  ~Window();
  Window(const Window&) = delete;

  std::string problem() const { return problem_; }  // empty = there is a window
  // Handles what has happened and draws if need be. Sleeps at most so long. False: it was closed.
  bool step(double sleep_s);
  void run();
  void resize(int width, int height);

  long frames() const { return frames_; }
  double last_frame_ms() const { return last_frame_ms_; }
  const Bitmap& pixels() const { return canvas_.bitmap(); }
  const InspectedCanvas& inspected() const { return inspected_; }
  float scale() const { return scale_; }
  Point size() const { return {width_, height_}; }
  bool draw_if_wanted();

 private:
  void handle(const SDL_Event& event);
  void handle_key(const SDL_KeyboardEvent& key);
  bool wait(SDL_Event& event, int ms);
  void measure();
  void draw();

  TouchApp& app_;
  WindowOptions options_;
  std::string problem_;
  SDL_Window* window_ = nullptr;
  SDL_Renderer* renderer_ = nullptr;
  SDL_Texture* texture_ = nullptr;
  int texture_w_ = 0, texture_h_ = 0;
  ScreenCanvas canvas_;
  InspectedCanvas inspected_;
  float scale_ = 1, width_ = 0, height_ = 0;
  bool polled_ = false;  // the system cannot wait for events
  bool open_ = true, exposed_ = true, writing_ = false;
  long frames_ = 0;
  double last_frame_ms_ = 0;
  Uint32 wake_event_ = 0;
};

bool write_png(const std::string& path, const Bitmap& bitmap);

}  // namespace app
