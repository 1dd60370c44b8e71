#include "app/touch/script/script.h"

#include <algorithm>
#include <cmath>
#include <cstdlib>
#include <sstream>

#include "app/words/words.h"

namespace app {
namespace {

horizon::Result<void> bad(std::string message) {
  return horizon::fail(horizon::Code::failed, {"error.script", {std::move(message)}});
}

std::vector<std::string> words_of(const std::string& line) {
  std::vector<std::string> words;
  std::string word;
  bool quoted = false, any = false;
  for (std::size_t i = 0; i < line.size(); ++i) {
    const char c = line[i];
    if (c == '\\' && quoted && i + 1 < line.size()) {
      word += line[++i] == 'n' ? '\n' : line[i];
    } else if (c == '"') {
      quoted = !quoted;
      any = true;
    } else if (!quoted && c == '#') {
      break;
    } else if (!quoted && (c == ' ' || c == '\t' || c == '\r')) {
      if (any || !word.empty()) words.push_back(word);
      word.clear();
      any = false;
    } else {
      word += c;
    }
  }
  if (any || !word.empty()) words.push_back(word);
  return words;
}

// What English words may be in the language of the screen: one English word may be several there.
std::vector<std::string> here(std::string_view english) {
  static const auto keys = [] {
    const InLanguage in("en");
    std::map<std::string, std::vector<std::string>, std::less<>> known;
    for (const std::string& key : word_keys("en")) known[tr(key)].push_back(key);
    return known;
  }();
  std::vector<std::string> all{std::string(english)};
  if (const auto known = keys.find(english); known != keys.end()) {
    for (const std::string& key : known->second) all.push_back(tr(key));
  } else if (const auto unit = english.rfind(", "); unit != english.npos) {
    for (const auto& name : here(english.substr(0, unit)))  // a number's field has its unit behind
      all.push_back(name + std::string(english.substr(unit)));
  }
  return all;
}

double number(const std::string& text) { return std::strtod(text.c_str(), nullptr); }

}  // namespace

void Script::pump() { window_.step(0); }

// The app's clock runs by this alone, a thirtieth of a second a frame.
void Script::frames(double seconds) {
  const int steps = std::max(1, int(std::lround(seconds * 30)));
  for (int i = 0; i < steps; ++i) {
    recording_.advance(seconds / steps);
    pump();
  }
}

void Script::finger(Uint32 type, Point at, int id) {
  SDL_Event event{};
  event.type = type;
  event.tfinger.touchId = 1;
  event.tfinger.fingerId = id;
  event.tfinger.x = at.x / window_.size().x;
  event.tfinger.y = at.y / window_.size().y;
  SDL_PushEvent(&event);
  pump();
}

const Hit* Script::find(std::string_view label, bool scrolls) const {
  const auto& hits = app_.ui().hits();
  for (const std::string& name : here(label))
    for (std::size_t i = hits.size(); i-- > app_.ui().modal_from();)
      if ((hits[i].act == HitAct::scroll) == scrolls && hits[i].label == name) return &hits[i];
  return nullptr;
}

const Hit* Script::bring_into_sight(const std::string& label) {
  for (int tries = 0; tries < 40; ++tries) {
    const Hit* hit = find(label);
    if (!hit) return nullptr;
    const float seen = hit->visible.w * hit->visible.h, whole = hit->rect.w * hit->rect.h;
    if (seen > whole * 0.6f) return hit;
    const Hit* scroll = nullptr;
    for (const Hit& each : app_.ui().hits())
      if (each.act == HitAct::scroll && each.rect.x <= hit->rect.x + 1 &&
          each.rect.right() >= hit->rect.right() - 1)
        scroll = &each;
    if (!scroll) return nullptr;
    const Rect view = scroll->visible;
    const float middle = view.y + view.h / 2, wanted = hit->rect.y + hit->rect.h / 2 - middle;
    const float by = std::clamp(-wanted, -view.h * 0.8f, view.h * 0.8f);
    Point at{view.x + view.w / 2, middle - by / 2};
    finger(SDL_FINGERDOWN, at);
    for (int i = 1; i <= 6; ++i) {
      recording_.advance(0.02);
      finger(SDL_FINGERMOTION, {at.x, at.y + by * float(i) / 6 + (by > 0 ? 10.f : -10.f)});
    }
    for (int i = 0; i < 9; ++i) {  // rests before it lifts, so that nothing glides on
      recording_.advance(0.05);
      finger(SDL_FINGERMOTION, {at.x, at.y + by + (by > 0 ? 10.f : -10.f)});
    }
    finger(SDL_FINGERUP, {at.x, at.y + by + (by > 0 ? 10.f : -10.f)});
    ++touches_;
    ++scrolls_;
    frames(0.1);
  }
  return nullptr;
}

horizon::Result<void> Script::touch(const Words& words) {
  const Hit* hit = bring_into_sight(words[1]);
  if (!hit) {
    std::string there;
    for (const Hit& each : app_.ui().hits())
      if (each.act != HitAct::scroll) there += " | " + each.label;
    return bad("nothing to touch is named \"" + words[1] + "\"; there is" + there);
  }
  if (!hit->enabled) return bad("\"" + words[1] + "\" cannot be touched now");
  const bool placed = words.size() >= 5 && words[2] == "at";
  const float px = placed ? float(number(words[3])) : 0.5f;
  const float py = placed ? float(number(words[4])) : 0.5f;
  const Rect r = hit->visible;
  const Point at{r.x + r.w * px, r.y + r.h * py};
  finger(SDL_FINGERDOWN, at);
  recording_.advance(0.05);
  finger(SDL_FINGERUP, at);
  ++touches_;
  frames(0.1);
  return {};
}

horizon::Result<void> Script::hold(const Words& words) {
  const Hit* hit = bring_into_sight(words[1]);
  if (!hit || words.size() < 3) return bad("nothing to hold is named \"" + words[1] + "\"");
  const Rect r = hit->visible;
  const Point at{r.x + r.w / 2, r.y + r.h / 2};
  const double seconds = number(words[2]);
  finger(SDL_FINGERDOWN, at);
  ++touches_;
  const int steps = std::max(1, int(seconds * 30));
  for (int i = 0; i <= steps; ++i) {
    if (words.size() >= 8 && words[3] == "sweep") {
      const double t = double(i) / steps;
      std::ostringstream aim;
      aim.imbue(std::locale::classic());
      aim << "aim " << number(words[4]) + t * (number(words[6]) - number(words[4])) << ' '
          << number(words[5]) + t * (number(words[7]) - number(words[5]));
      if (auto done = recording_.apply(aim.str()); !done) return done;
    }
    frames(1.0 / 30);
  }
  finger(SDL_FINGERUP, at);
  frames(0.1);
  return {};
}

horizon::Result<void> Script::expect(const std::string& text, bool wanted) {
  pump();
  if (window_.inspected().shows(text) == wanted) return {};
  std::string shown;
  for (const auto& w : window_.inspected().words()) shown += " | " + w.text;
  return bad((wanted ? "not on the screen: \"" : "on the screen: \"") + text + "\"; there is" +
             shown);
}

horizon::Result<void> Script::settle() {
  for (int i = 0; i < 600; ++i) {
    frames(1.0 / 30);
    if (!app_.busy() && !app_.wants_frame()) return {};
  }
  return bad("the app did not come to rest within 20 seconds of its clock");
}

horizon::Result<void> Script::command(const std::string& line) {
  const Words w = words_of(line);
  if (w.empty()) return {};
  const std::string& what = w[0];
  const auto has = [&](std::size_t n) { return w.size() > n; };
  if (what == "touch" && has(1)) return touch(w);
  if (what == "hold" && has(2)) return hold(w);
  if (what == "aim" && has(2)) {
    // Turned as a hand turns, not in a jump that would look like a broken compass.
    const double az = number(w[1]), el = number(w[2]), from = aim_az_;
    const double turn = horizon::wrap_180(az - from);
    const int steps = aimed_ ? std::max(1, int(std::fabs(turn) / 5)) : 1;
    for (int i = 1; i <= steps; ++i) {
      std::ostringstream aim;
      aim.imbue(std::locale::classic());
      aim << "aim " << horizon::wrap_360(from + turn * i / steps) << ' ' << el;
      if (auto done = recording_.apply(aim.str()); !done) return done;
      frames(1.0 / 30);
    }
    aimed_ = true;
    aim_az_ = az;
    frames(0.7);
    return {};
  }
  if (what == "device" && has(1)) return recording_.apply(w[1]);
  if (what == "wait" && has(1)) {
    frames(number(w[1]));
    return {};
  }
  if (what == "settle") return settle();
  if (what == "type" && has(1)) {
    SDL_Event event{};
    event.type = SDL_TEXTINPUT;
    for (std::size_t at = 0; at < w[1].size();) {  // as keyboards send it: in short pieces
      std::size_t end = std::min(at + 24, w[1].size());
      while (end < w[1].size() && (static_cast<unsigned char>(w[1][end]) & 0xc0) == 0x80) ++end;
      std::fill(std::begin(event.text.text), std::end(event.text.text), '\0');
      w[1].copy(event.text.text, end - at, at);
      SDL_PushEvent(&event);
      pump();
      at = end;
    }
    return {};
  }
  if (what == "key" && has(1)) {
    SDL_Event event{};
    event.type = SDL_KEYDOWN;
    event.key.keysym.sym = w[1] == "enter"    ? SDLK_RETURN
                           : w[1] == "escape" ? SDLK_ESCAPE
                           : w[1] == "space"  ? SDLK_SPACE
                           : w[1] == "tab"    ? SDLK_TAB
                           : w[1] == "left"   ? SDLK_LEFT
                           : w[1] == "right"  ? SDLK_RIGHT
                           : w[1] == "up"     ? SDLK_UP
                           : w[1] == "down"   ? SDLK_DOWN
                           : w[1].size() == 1 ? SDL_Keycode(w[1][0])
                                              : SDLK_BACKSPACE;
    SDL_PushEvent(&event);
    frames(0.05);
    return {};
  }
  if ((what == "swipe" && has(3)) || (what == "pinch" && has(2))) {
    const Hit* hit = find(w[1]);
    if (!hit) hit = find(w[1], true);  // what scrolls can be swiped too
    if (!hit) return bad("nothing is named \"" + w[1] + "\"");
    const Rect r = hit->visible;
    const Point c{r.x + r.w / 2, r.y + r.h / 2};
    ++touches_;
    const bool pinch = what == "pinch";
    const float reach = r.w * 0.15f, factor = pinch ? float(number(w[2])) : 1;
    const Point by = pinch ? Point{} : Point{float(number(w[2])), float(number(w[3]))};
    finger(SDL_FINGERDOWN, pinch ? Point{c.x - reach, c.y} : c, 1);
    if (pinch) finger(SDL_FINGERDOWN, {c.x + reach, c.y}, 2);
    for (int i = 1; i <= 8; ++i) {
      const float t = float(i) / 8, wide = reach * (1 + (factor - 1) * t);
      recording_.advance(0.03);
      finger(SDL_FINGERMOTION,
             pinch ? Point{c.x - wide, c.y} : Point{c.x + by.x * t, c.y + by.y * t}, 1);
      if (pinch) finger(SDL_FINGERMOTION, {c.x + wide, c.y}, 2);
    }
    finger(SDL_FINGERUP, pinch ? Point{c.x - reach * factor, c.y} : Point{c.x + by.x, c.y + by.y},
           1);
    if (pinch) finger(SDL_FINGERUP, {c.x + reach * factor, c.y}, 2);
    frames(0.1);
    return {};
  }
  if (what == "resize" && has(2)) {
    window_.resize(int(number(w[1])), int(number(w[2])));
    frames(0.1);
    return {};
  }
  if (what == "screenshot" && has(1)) {
    const std::string path = w[1].starts_with('/') || folder.empty() ? w[1] : folder + "/" + w[1];
    pump();
    return write_png(path, window_.pixels()) ? horizon::Result<void>{}
                                             : bad("cannot write " + path);
  }
  if (what == "expect" && has(1)) return expect(w[1], true);
  if (what == "expect_not" && has(1)) return expect(w[1], false);
  if (what == "check") {
    pump();
    auto faults = faults_of(app_.ui(), window_.inspected(), may_shorten);
    if (gather) {
      gather->insert(gather->end(), faults.begin(), faults.end());
      return {};
    }
    if (faults.empty()) return {};
    std::string all;
    for (const auto& fault : faults) all += "\n  " + fault;
    return bad("the screen has faults:" + all);
  }
  return bad("no such command, or too few words");
}

horizon::Result<void> Script::run(std::string_view text) {
  std::istringstream lines{std::string(text)};
  std::string line;
  int row = 0;
  pump();  // areas are known only once a frame was drawn
  while (std::getline(lines, line)) {
    ++row;
    if (auto done = command(line); !done)
      return horizon::fail(done.error().code, done.error().sentence(),
                           "line " + std::to_string(row) + ": " + line);
  }
  return {};
}

}  // namespace app
