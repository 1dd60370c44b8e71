// app/touch/ui/ui.h: one frame's widgets: where fingers may touch, what they did, what scrolls, what is
// being written. A screen is a function that draws onto `canvas` and asks here what was touched.
// Units: dp, seconds
// Frame: x to the right, y down; scrolled content is drawn where it is seen
// Labels: every area has one, in the words of the screen; scripts and checks find it by that
#pragma once

#include <cstdint>
#include <deque>
#include <map>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "app/drawing/canvas.h"
#include "app/drawing/theme.h"
#include "app/touch/ui/mirror.h"
#include "app/touch/ui/text_edit.h"

namespace app {

inline constexpr float kTouch = 48;  // the least side of anything to be touched

struct Insets {
  float left = 0, top = 0, right = 0, bottom = 0;
};

struct FrameInput {
  float width = 0, height = 0;
  Insets safe;           // kept free: notch, rounded corners, gesture bar
  float text_scale = 1;  // 0.85 to 1.6
  bool left_handed = false;
  bool dusk = false;
  bool right_to_left = false;
  double now_s = 0;
};

struct Touch {
  enum class Kind : std::uint8_t { down, move, up, cancel } kind = Kind::down;
  std::int64_t finger = 0;
  Point at;
  double time_s = 0;
};

enum class HitAct : std::uint8_t { tap, hold, gesture, scroll };

// What an area is, for those who do not see it.
enum class Role : std::uint8_t { button, choice, tick, field, figure, hold, scroll };
std::string_view name_of(Role role);

struct Hit {
  Rect rect, visible;  // as seen on the screen
  std::string label;
  HitAct act = HitAct::tap;
  bool enabled = true;
  Role role = Role::button;
  bool chosen = false;  // of a choice or a tick
  std::string value;    // of a field
  std::string refused;  // why what stands in a field is not taken
  std::string scroll;   // the label of what it scrolls with; empty: nothing
};

// What fingers did on a gesture area since the last frame.
struct Gesture {
  bool tapped = false, active = false, begun = false, released = false;
  Point at;        // the finger, or the middle of two
  Point moved;     // since the last frame
  float zoom = 1;  // above 1: fingers went apart
};

class Ui {
 public:
  // From the window.
  void touch(const Touch& touch);
  void wheel(Point at, float dy);
  void key(EditKey key, bool shift);
  void typed(std::string_view utf8);
  void composing(std::string_view utf8);

  // True while something moves on its own or was touched and not yet shown.
  bool wants_frame() const { return wants_frame_; }
  void request_frame() { wants_frame_ = true; }
  bool has_tap() const { return !tapped_.empty(); }

  void begin(Canvas& canvas, const FrameInput& frame);
  void end();

  // ---- areas
  bool tap(std::string_view label, Rect rect, bool enabled = true);
  bool hold(std::string_view label, Rect rect);  // while a finger rests on it
  // `figure`: what is drawn there is a figure, which is not mirrored.
  Gesture gesture(std::string_view label, Rect rect, bool figure = true);
  // Of the area just added.
  void describe(Role role, bool chosen = false, std::string_view value = {});
  bool pressed(std::string_view label) const;

  // Content goes from the returned y downwards; it ends with its full height.
  float scroll_begin(std::string_view label, Rect rect);
  void scroll_end(float content_height);
  void scroll_to_top(std::string_view label) { scrolls_.erase(std::string(label)); }
  void clip(Rect rect);
  void unclip();

  // From here on nothing below can be touched: a sheet or a viewer lies over it.
  void modal();

  // ---- writing: `value` follows every key. True when it changed.
  bool text_field(std::string_view label, Rect rect, std::string& value, bool lines = false,
                  std::string_view hint = {});
  void focus(std::string_view label) { wish_focus_ = label; }
  void blur();
  bool editing() const { return !focus_.empty(); }
  const std::string& focused() const { return focus_; }
  std::optional<Rect> caret() const { return caret_; }  // for the system's own keyboard
  bool entered(std::string_view label);                 // Enter was pressed in this field
  // Of a field of this frame: framed as refused, and told to those who do not see it. Where one
  // writes in it, what says so down to `bottom` comes into sight.
  void refuse(std::string_view label, Rect rect, std::string_view why, float bottom);
  // What the keyboard gave while no field was written in, in its order, Enter as \r and both deleting
  // keys as \b; for keypads. Gone at the frame's end.
  std::string_view loose_text() const { return loose_text_; }
  bool loose_key(EditKey key) const { return loose_key_ == key; }

  // ---- words
  float sp(float size) const { return size * frame_.text_scale; }
  TextStyle style(float size, Color color, Weight weight = Weight::regular,
                  Align align = Align::left) const;
  // One line with its middle at the box's; cut with an ellipsis if it must. Returns its width.
  float words(Rect box, std::string_view text, const TextStyle& style);
  // Broken into lines from the top; returns the height used.
  float paragraph(Rect box, std::string_view text, const TextStyle& style);
  float paragraph_height(float width, std::string_view text, const TextStyle& style);
  float width(std::string_view text, const TextStyle& style);
  // The style in letters small enough for one line, but none below `least`.
  TextStyle fitted(std::string_view text, TextStyle style, float room, float least = 10);
  // Smaller until no word of it is broken and its lines are no higher than `height`.
  TextStyle unbroken(std::string_view text, TextStyle style, float width, float height,
                     float least = 10);
  const std::vector<std::string>& lines(std::string_view text, const TextStyle& style, float width);

  // All that was written in this frame so far, in its order; to find words that want explaining.
  const std::vector<std::string>& said() const { return said_; }
  // Keys of the glossary whose sentences lie over the screen now; empty: none.
  std::vector<std::string> explained;
  bool explains_whole = false;  // the screen has one place for all its words

  // Of the keyboard: the area that Enter would touch.
  const std::string& key_focus() const { return key_focus_; }
  void forget_key_focus() { key_focus_.clear(); }
  // A touch on the area of that name, wherever it lies; for tools that read the screen.
  void activate(std::string_view label);

  Canvas& canvas() { return *canvas_; }
  // For a picture in that box, which keeps its left and right.
  Canvas& figure(Rect box);
  // The same for all that is drawn until figure_end().
  void figure_begin(Rect box) { canvas_ = &figure(box); }
  void figure_end() { canvas_ = frame_.right_to_left ? &mirror_ : seen_canvas_; }
  const Theme& theme() const { return frame_.dusk ? kDusk : kDaylight; }
  const FrameInput& frame() const { return frame_; }
  Rect page() const;  // inside the safe area
  const std::vector<Hit>& hits() const { return hits_; }
  std::size_t modal_from() const { return modal_from_; }
  struct Cut {
    std::string text;
    Rect box;
  };
  const std::vector<Cut>& cuts() const { return cuts_; }  // lines that did not fit

 private:
  struct Finger {
    std::int64_t id = 0;
    Point from, at, seen;
    std::string label, scroll;
    HitAct act = HitAct::tap;
    bool moved = false, fresh = true;
    double time_s = 0;
  };
  struct Scroll {
    float offset = 0, speed = 0, content = 0, view = 0;
    bool held = false;
  };
  void add(std::string_view label, Rect rect, HitAct act, bool enabled);
  Rect seen(Rect rect) const;   // where it is seen on the screen
  Point meant(Point at) const;  // what a touch there means to a screen
  Gesture gesture_seen(std::string_view label) const;
  const Hit* focused_area() const;
  void move_key_focus(int by);
  bool key_on_area(EditKey key);
  void show_key_focus();
  const Hit* hit_at(Point at, bool scrolls) const;
  void move_scrolls();

  Canvas *canvas_ = nullptr, *seen_canvas_ = nullptr;
  MirrorCanvas mirror_;
  std::deque<MirrorCanvas> figures_;  // of this frame
  std::string key_focus_;
  bool bring_focus_into_sight_ = false;
  FrameInput frame_;
  double last_s_ = 0;
  bool wants_frame_ = true;
  std::vector<Hit> hits_, shown_;  // of this frame; of the last one, which fingers touch
  std::size_t modal_from_ = 0, shown_modal_from_ = 0;
  std::vector<Rect> clips_;
  std::vector<std::string> scroll_stack_;
  std::map<std::string, Scroll, std::less<>> scrolls_;
  std::vector<Finger> fingers_, lifted_;
  std::string tapped_;
  Point tapped_at_;
  std::string focus_, wish_focus_, leave_, entered_, refused_shown_;
  TextEdit edit_;
  std::string composing_, loose_text_;
  std::optional<EditKey> loose_key_;
  std::optional<Rect> caret_;
  std::vector<Cut> cuts_;
  std::vector<std::string> said_;
  std::map<std::string, float, std::less<>> widths_;
  std::map<std::string, std::vector<std::string>, std::less<>> breaks_;
};

}  // namespace app
