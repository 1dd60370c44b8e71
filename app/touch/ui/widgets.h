// app/touch/ui/widgets.h: the parts that screens are put together from.
// Units: dp. Every widget that is touched is at least kTouch high.
#pragma once

#include <functional>
#include <string>
#include <string_view>

#include "app/touch/ui/ui.h"

namespace app {

enum class ButtonLook : std::uint8_t { main, plain, strong, quiet, warning };
enum class Icon : std::uint8_t {
  none,
  back,
  settings,
  plus,
  check,
  search,
  camera,
  warning,
  more,
  undo,
  close,
  keypad,
  sun,
  up,
  down,
  folder,
  photo,
  question,
  still,
  turn,
};

void draw_icon(Ui& ui, Icon icon, Point center, float size, Color color);
bool button(Ui& ui, std::string_view label, Rect rect, ButtonLook look = ButtonLook::plain,
            bool enabled = true, Icon icon = Icon::none);
// `shown` where the words on the button differ from its label (one of several alike on a screen).
bool button_as(Ui& ui, std::string_view label, std::string_view shown, Rect rect,
               ButtonLook look = ButtonLook::plain, bool enabled = true, Icon icon = Icon::none);
bool icon_button(Ui& ui, std::string_view label, Icon icon, Rect rect);
// One of several; a frame marks the chosen one, not its colour alone.
bool choice(Ui& ui, std::string_view label, std::string_view shown, Rect rect, bool chosen);
// A row with a box to tick.
bool tick(Ui& ui, std::string_view label, Rect rect, bool& value, std::string_view note = {});
void card(Ui& ui, Rect rect);
void chip(Ui& ui, Rect rect, std::string_view text, bool good);
float chip_width(Ui& ui, std::string_view text);
// How complete something is: 0 to 1.
void ring(Ui& ui, Point center, float radius, double part, bool current);
void hairline(Ui& ui, float x, float y, float width);

// Rows from the top downwards, as high as they need.
class Column {
 public:
  Column(Ui& ui, Rect area, float gap = 10) : ui_(ui), area_(area), y_(area.y), gap_(gap) {}
  Rect row(float height);
  Rect rest() const { return {area_.x, y_, area_.w, std::max(0.f, area_.bottom() - y_)}; }
  void space(float by) { y_ += by; }
  float y() const { return y_; }
  float used() const { return y_ - area_.y; }
  void keep_right(float width) { kept_right_ = width; }  // free beside the first words
  float width() const { return area_.w; }
  float x() const { return area_.x; }

  void title(std::string_view text);
  void heading(std::string_view text);
  void text(std::string_view text);  // explains, quiet
  void strong(std::string_view text);
  void caution(std::string_view text);                       // in a frame, with a sign
  void fact(std::string_view name, std::string_view value);  // name left, value right
  // An empty field shows an example of what to write, or the range of its number.
  bool field(std::string_view label, std::string& value, std::string_view example = {});
  bool number_field(std::string_view label, std::string& value, std::string_view range);
  // The field written last holds what is not taken, and why, below it.
  void refused(std::string_view why);
  bool notes(std::string_view label, std::string& value, std::string_view example = {});
  bool button(std::string_view label, ButtonLook look = ButtonLook::plain, bool enabled = true,
              Icon icon = Icon::none);
  bool tick(std::string_view label, bool& value, std::string_view note = {});
  // One of several, in as many lines as it takes; true when it changed.
  bool choices(std::string_view label, std::span<const std::string> names, int& chosen);

 private:
  void part_from_facts();
  float first_width();
  void name_of_field(std::string_view label);

  Ui& ui_;
  Rect area_, field_at_;
  std::string field_;
  float y_, gap_, kept_right_ = 0;
  bool after_fact_ = false;  // facts stand close; what follows does not
};

// "for example: ..."; nothing for nothing.
std::string example_words(std::string_view example);

// A sign that opens the sentences of the trade's words written since `from`, the words being known
// from the last frame under `id`. False where there are none.
bool explain_button(Ui& ui, std::string_view id, Rect rect);
void note_terms(Ui& ui, std::string_view id, std::size_t from);
bool has_terms(std::string_view id);

// A card round rows whose height is known only once drawn: the height of the last frame serves.
// `sunny`: on the ground of words about the sun.
void in_card(Ui& ui, Column& column, std::string_view id, const std::function<void(Column&)>& rows,
             bool sunny = false);

}  // namespace app
