// app/touch/ui/text_edit.h: the text being written: caret, selection, undo.
// Source: the editing rules are those of stb_textedit
#pragma once

#include <memory>
#include <string>
#include <string_view>
#include <vector>

#include "app/drawing/canvas.h"

namespace app {

enum class EditKey : std::uint8_t {
  left,
  right,
  up,
  down,
  home,
  end,
  word_left,
  word_right,
  backspace,
  remove,
  undo,
  redo,
  select_all,
  enter,
  escape,
  tab,
};

class TextEdit {
 public:
  TextEdit();
  ~TextEdit();

  void begin(std::string_view utf8, bool lines);
  // How wide lines may be and how letters measure; before click() and rows().
  void lay_out(const TextStyle& style, float width, float line_height);
  void insert(std::string_view utf8);
  void key(EditKey key, bool shift);
  void click(Point in_text);
  std::string utf8() const;

  struct Row {
    std::string text;
    float caret = -1;                      // where the caret stands in it, if it does
    float select_from = 0, select_to = 0;  // equal: nothing
  };
  std::vector<Row> rows() const;

 private:
  struct Inner;
  std::unique_ptr<Inner> in_;
};

std::string utf8_of(std::u32string_view text);
std::u32string utf32_of(std::string_view utf8);

}  // namespace app
