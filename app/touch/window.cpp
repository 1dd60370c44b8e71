#include "app/touch/window.h"

#include <algorithm>
#include <chrono>
#include <cmath>

namespace app {
namespace {

double seconds() {
  return std::chrono::duration<double>(std::chrono::steady_clock::now().time_since_epoch()).count();
}

}  // namespace

Window::Window(TouchApp& app, const WindowOptions& options) : app_(app), options_(options) {
  SDL_SetHint(SDL_HINT_TOUCH_MOUSE_EVENTS, "0");
  SDL_SetHint(SDL_HINT_MOUSE_TOUCH_EVENTS, "0");
  SDL_SetHint(SDL_HINT_VIDEO_ALLOW_SCREENSAVER, "1");
  SDL_SetHint(SDL_HINT_IME_SHOW_UI, "1");
  SDL_SetMainReady();
  if (SDL_Init(SDL_INIT_VIDEO) != 0) {
    problem_ = std::string("No screen could be opened: ") + SDL_GetError();
    return;
  }
  const std::string driver = SDL_GetCurrentVideoDriver();
  const bool plain = driver == "x11";
  if (plain) {  // the pixels are ready: a graphics library to copy them would take 90 MB more
    SDL_SetHint(SDL_HINT_RENDER_DRIVER, "software");
    SDL_SetHint(SDL_HINT_FRAMEBUFFER_ACCELERATION, "0");
  }
  const float scale = options.scale > 0 ? options.scale : 1;
  Uint32 flags = SDL_WINDOW_ALLOW_HIGHDPI;
  if (options.resizable) flags |= SDL_WINDOW_RESIZABLE;
  window_ = SDL_CreateWindow("Adret", SDL_WINDOWPOS_CENTERED, SDL_WINDOWPOS_CENTERED,
                             int(std::lround(float(options.width) * scale)),
                             int(std::lround(float(options.height) * scale)), flags);
  if (window_ && !plain) renderer_ = SDL_CreateRenderer(window_, -1, SDL_RENDERER_PRESENTVSYNC);
  if (window_ && !renderer_) renderer_ = SDL_CreateRenderer(window_, -1, SDL_RENDERER_SOFTWARE);
  if (!renderer_) {
    problem_ = std::string("No window could be opened: ") + SDL_GetError();
    return;
  }
  SDL_StopTextInput();
  polled_ = driver == "KMSDRM" || driver == "offscreen" || driver == "dummy";
  wake_event_ = SDL_RegisterEvents(1);
  app_.on_wake([type = wake_event_] {
    SDL_Event event{};
    event.type = type;
    SDL_PushEvent(&event);
  });
  measure();
}

Window::~Window() {
  app_.on_wake({});
  if (texture_) SDL_DestroyTexture(texture_);
  if (renderer_) SDL_DestroyRenderer(renderer_);
  if (window_) SDL_DestroyWindow(window_);
  SDL_Quit();
}

void Window::measure() {
  int pixels_w = 0, pixels_h = 0, window_w = 1, window_h = 1;
  SDL_GetRendererOutputSize(renderer_, &pixels_w, &pixels_h);
  SDL_GetWindowSize(window_, &window_w, &window_h);
  scale_ = options_.scale;
  if (scale_ <= 0) {
    scale_ = std::max(1.f, float(pixels_w) / float(std::max(1, window_w)));
    float dpi = 0;
    if (scale_ <= 1 &&
        SDL_GetDisplayDPI(SDL_GetWindowDisplayIndex(window_), &dpi, nullptr, nullptr) == 0 &&
        dpi > 150 && dpi < 1000)
      scale_ = std::round(dpi / 160 * 4) / 4;  // a dense screen that the system does not scale
  }
  width_ = float(pixels_w) / scale_;
  height_ = float(pixels_h) / scale_;
  exposed_ = true;
}

void Window::resize(int width, int height) {
  SDL_SetWindowSize(window_, int(std::lround(float(width) * scale_)),
                    int(std::lround(float(height) * scale_)));
  measure();
}

void Window::handle_key(const SDL_KeyboardEvent& key) {
  const bool shift = key.keysym.mod & KMOD_SHIFT, control = key.keysym.mod & (KMOD_CTRL | KMOD_GUI);
  Ui& ui = app_.ui();
  const auto edit = [&](EditKey k) { ui.key(k, shift); };
  switch (key.keysym.sym) {
    case SDLK_LEFT:
      return edit(control ? EditKey::word_left : EditKey::left);
    case SDLK_RIGHT:
      return edit(control ? EditKey::word_right : EditKey::right);
    case SDLK_UP:
      return edit(EditKey::up);
    case SDLK_DOWN:
      return edit(EditKey::down);
    case SDLK_HOME:
      return edit(EditKey::home);
    case SDLK_END:
      return edit(EditKey::end);
    case SDLK_TAB:
      return edit(EditKey::tab);
    case SDLK_BACKSPACE:
      return edit(EditKey::backspace);
    case SDLK_DELETE:
      return edit(EditKey::remove);
    case SDLK_RETURN:
    case SDLK_KP_ENTER:
      return edit(EditKey::enter);
    case SDLK_AC_BACK:
    case SDLK_ESCAPE:
      if (ui.editing())
        edit(EditKey::escape);
      else
        app_.back();
      return;
    case SDLK_VOLUMEUP:
    case SDLK_VOLUMEDOWN:
      if (!key.repeat) app_.mark_key();
      return;
    case SDLK_SPACE:
      if (!ui.editing() && !key.repeat) app_.mark_key();
      return;
    default:
      break;
  }
  // No text comes from the system while nothing is written; keypads take figures all the same.
  if (!control && !ui.editing()) {
    const SDL_Keycode k = key.keysym.sym;
    if (k >= SDLK_0 && k <= SDLK_9) return ui.typed(std::string(1, char('0' + (k - SDLK_0))));
    if (k == SDLK_KP_0) return ui.typed("0");
    if (k >= SDLK_KP_1 && k <= SDLK_KP_9)
      return ui.typed(std::string(1, char('1' + (k - SDLK_KP_1))));
    if (k == SDLK_MINUS || k == SDLK_KP_MINUS) return ui.typed("-");
    if (k == SDLK_PERIOD || k == SDLK_COMMA || k == SDLK_KP_PERIOD || k == SDLK_KP_COMMA)
      return ui.typed(".");
    return;
  }
  if (!control) return;
  switch (key.keysym.sym) {
    case SDLK_a:
      return edit(EditKey::select_all);
    case SDLK_z:
      return edit(shift ? EditKey::redo : EditKey::undo);
    case SDLK_y:
      return edit(EditKey::redo);
    case SDLK_v:
      if (char* text = SDL_GetClipboardText()) {
        ui.typed(text);
        SDL_free(text);
      }
      return;
    default:
      return;
  }
}

void Window::handle(const SDL_Event& e) {
  Ui& ui = app_.ui();
  const double now = app_.now_s();
  const auto mouse = [&](Touch::Kind kind, int x, int y) {
    int window_w = 1, window_h = 1;
    SDL_GetWindowSize(window_, &window_w, &window_h);
    ui.touch({kind,
              -1,
              {float(x) * width_ / float(window_w), float(y) * height_ / float(window_h)},
              now});
  };
  switch (e.type) {
    case SDL_QUIT:
      open_ = false;
      break;
    case SDL_FINGERDOWN:
    case SDL_FINGERMOTION:
    case SDL_FINGERUP: {
      const auto kind = e.type == SDL_FINGERDOWN ? Touch::Kind::down
                        : e.type == SDL_FINGERUP ? Touch::Kind::up
                                                 : Touch::Kind::move;
      ui.touch({kind, e.tfinger.fingerId, {e.tfinger.x * width_, e.tfinger.y * height_}, now});
      break;
    }
    case SDL_MOUSEBUTTONDOWN:
      if (e.button.button == SDL_BUTTON_LEFT) mouse(Touch::Kind::down, e.button.x, e.button.y);
      break;
    case SDL_MOUSEMOTION:
      if (e.motion.state & SDL_BUTTON_LMASK) mouse(Touch::Kind::move, e.motion.x, e.motion.y);
      break;
    case SDL_MOUSEBUTTONUP:
      if (e.button.button == SDL_BUTTON_LEFT) mouse(Touch::Kind::up, e.button.x, e.button.y);
      break;
    case SDL_MOUSEWHEEL: {
      int x = 0, y = 0;
      SDL_GetMouseState(&x, &y);
      ui.wheel({float(x), float(y)}, e.wheel.preciseY * 60);
      break;
    }
    case SDL_KEYDOWN:
      handle_key(e.key);
      break;
    case SDL_TEXTINPUT:
      if (ui.editing()) ui.typed(e.text.text);
      break;
    case SDL_TEXTEDITING:
      ui.composing(e.edit.text);
      break;
    case SDL_DROPFILE:
      app_.dropped_file(e.drop.file);
      SDL_free(e.drop.file);
      break;
    case SDL_WINDOWEVENT:
      if (e.window.event == SDL_WINDOWEVENT_SIZE_CHANGED ||
          e.window.event == SDL_WINDOWEVENT_DISPLAY_CHANGED)
        measure();
      if (e.window.event == SDL_WINDOWEVENT_EXPOSED || e.window.event == SDL_WINDOWEVENT_RESTORED)
        exposed_ = true;
      break;
    case SDL_APP_WILLENTERBACKGROUND:
      app_.pause();
      break;
    default:
      break;
  }
}

void Window::draw() {
  const double begun = seconds();
  if (exposed_) canvas_.redraw_all();
  exposed_ = false;
  FrameInput frame;
  frame.width = width_;
  frame.height = height_;
  frame.safe = options_.safe;
  const int pixels_w = int(std::lround(width_ * scale_)),
            pixels_h = int(std::lround(height_ * scale_));
  canvas_.begin(pixels_w, pixels_h, scale_, app_.background());
  if (options_.inspect) {
    inspected_.begin(canvas_, {0, 0, width_, height_});
    app_.draw(inspected_, frame);
  } else {
    app_.draw(canvas_, frame);
  }
  const auto damage = canvas_.finish();
  ++frames_;
  if (!damage.empty()) {
    if (!texture_ || texture_w_ != pixels_w || texture_h_ != pixels_h) {
      if (texture_) SDL_DestroyTexture(texture_);
      texture_ = SDL_CreateTexture(renderer_, SDL_PIXELFORMAT_ARGB8888, SDL_TEXTUREACCESS_STREAMING,
                                   pixels_w, pixels_h);
      texture_w_ = pixels_w;
      texture_h_ = pixels_h;
    }
    const Bitmap& bitmap = canvas_.bitmap();
    for (const PixelRect& r : damage) {
      const SDL_Rect rect{r.x0, r.y0, r.x1 - r.x0, r.y1 - r.y0};
      SDL_UpdateTexture(texture_, &rect, &bitmap.pixels[std::size_t(r.y0) * bitmap.width + r.x0],
                        bitmap.width * 4);
    }
    SDL_RenderCopy(renderer_, texture_, nullptr, nullptr);
    SDL_RenderPresent(renderer_);
  }
  last_frame_ms_ = (seconds() - begun) * 1000;
  // The system's keyboard comes and goes with the field being written in.
  const bool writing = app_.ui().editing();
  if (writing != writing_) {
    writing_ = writing;
    writing ? SDL_StartTextInput() : SDL_StopTextInput();
  }
  if (const auto caret = app_.ui().caret()) {
    const SDL_Rect rect{int(caret->x * scale_), int(caret->y * scale_), 2, int(caret->h * scale_)};
    SDL_SetTextInputRect(&rect);
  }
}

bool Window::draw_if_wanted() {
  app_.poll();
  if (!exposed_ && !app_.wants_frame()) return false;
  draw();
  return true;
}

// Where SDL cannot wait it looks a thousand times a second, which takes 3 % of a core: look less often.
bool Window::wait(SDL_Event& event, int ms) {
  constexpr int kLook_ms = 10;
  if (!polled_) return SDL_WaitEventTimeout(&event, ms);
  for (; !SDL_PollEvent(&event); ms -= kLook_ms) {
    if (ms <= 0) return false;
    SDL_Delay(Uint32(std::min(ms, kLook_ms)));
  }
  return true;
}

bool Window::step(double sleep_s) {
  SDL_Event event;
  const int wait_ms = exposed_ || app_.wants_frame() ? 0 : int(std::max(0.0, sleep_s) * 1000);
  bool got = wait_ms > 0 ? wait(event, wait_ms) : SDL_PollEvent(&event);
  while (got) {
    handle(event);
    if (app_.ui().has_tap()) draw_if_wanted();  // one touch, one answer, before the next
    got = SDL_PollEvent(&event);
  }
  draw_if_wanted();
  return open_;
}

void Window::run() {
  while (open_) {
    const double begun = seconds();
    const long before = frames_;
    step(app_.sleep_s());
    const double rest = 1.0 / 60 - (seconds() - begun);
    if (frames_ != before && rest > 0)
      SDL_Delay(Uint32(rest * 1000));  // where nothing waits for the screen
  }
}

}  // namespace app
