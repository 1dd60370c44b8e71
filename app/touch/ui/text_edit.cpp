#include "app/touch/ui/text_edit.h"

#include <utf8.h>

#include <algorithm>

#include "app/drawing/text_layout.h"

namespace {

struct EditText {
  std::u32string text;
  bool lines = false;
  app::TextStyle style;
  float width = 1e6f, line_height = 20;
  std::vector<float> advance;  // of each letter, kept up by measure()
};

}  // namespace

#define STB_TEXTEDIT_CHARTYPE char32_t
#define STB_TEXTEDIT_STRING EditText
#define STB_TEXTEDIT_UNDOSTATECOUNT 99
#define STB_TEXTEDIT_UNDOCHARCOUNT 999
#include <stb/stb_textedit.h>

#define STB_TEXTEDIT_STRINGLEN(s) int((s)->text.size())
#define STB_TEXTEDIT_GETCHAR(s, i) ((s)->text[std::size_t(i)])
#define STB_TEXTEDIT_GETWIDTH(s, n, i) (s)->advance[std::size_t((n) + (i))]
#define STB_TEXTEDIT_KEYTOTEXT(key) ((key) >= 0x200000 ? 0 : (key))
#define STB_TEXTEDIT_NEWLINE U'\n'
#define STB_TEXTEDIT_LAYOUTROW edit_row
#define STB_TEXTEDIT_DELETECHARS(s, i, n) edit_delete(s, i, n)
#define STB_TEXTEDIT_INSERTCHARS(s, i, c, n) edit_insert(s, i, c, n)
#define STB_TEXTEDIT_IS_SPACE(c) ((c) == U' ' || (c) == U'\n' || (c) == U',' || (c) == U'.')
enum : int {
  STB_TEXTEDIT_K_LEFT = 0x200000,
  STB_TEXTEDIT_K_RIGHT,
  STB_TEXTEDIT_K_UP,
  STB_TEXTEDIT_K_DOWN,
  STB_TEXTEDIT_K_PGUP,
  STB_TEXTEDIT_K_PGDOWN,
  STB_TEXTEDIT_K_LINESTART,
  STB_TEXTEDIT_K_LINEEND,
  STB_TEXTEDIT_K_TEXTSTART,
  STB_TEXTEDIT_K_TEXTEND,
  STB_TEXTEDIT_K_DELETE,
  STB_TEXTEDIT_K_BACKSPACE,
  STB_TEXTEDIT_K_UNDO,
  STB_TEXTEDIT_K_REDO,
  STB_TEXTEDIT_K_WORDLEFT,
  STB_TEXTEDIT_K_WORDRIGHT,
  STB_TEXTEDIT_K_SHIFT = 0x400000,
};

namespace {

void measure(EditText* text) {
  text->advance.assign(text->text.size(), 0);
  // Widths of growing beginnings of each line, so that kerning counts.
  std::u32string so_far;
  float before = 0;
  for (std::size_t i = 0; i < text->text.size(); ++i) {
    if (text->text[i] == U'\n') {
      so_far.clear();
      before = 0;
      continue;
    }
    so_far += text->text[i];
    const float now = app::text_width(app::utf8_of(so_far), text->style);
    text->advance[i] = now - before;
    before = now;
  }
}

void edit_row(StbTexteditRow* row, EditText* text, int from) {
  const int size = int(text->text.size());
  float width = 0, space_width = 0;
  int end = from, space = -1;
  while (end < size) {
    const char32_t letter = text->text[std::size_t(end)];
    if (letter == U'\n') {
      ++end;
      break;
    }
    const float wider = width + text->advance[std::size_t(end)];
    if (text->lines && wider > text->width && end > from) {
      if (space > from) {
        end = space;
        width = space_width;
      }
      break;
    }
    width = wider;
    ++end;
    if (letter == U' ') {
      space = end;
      space_width = width;
    }
  }
  row->x0 = 0;
  row->x1 = width;
  row->baseline_y_delta = text->line_height;
  row->ymin = 0;
  row->ymax = text->line_height;
  row->num_chars = end - from;
}

void edit_delete(EditText* text, int at, int count) {
  text->text.erase(std::size_t(at), std::size_t(count));
  measure(text);
}

int edit_insert(EditText* text, int at, const char32_t* letters, int count) {
  text->text.insert(std::size_t(at), letters, std::size_t(count));
  measure(text);
  return 1;
}

}  // namespace

#pragma GCC diagnostic push
#pragma GCC diagnostic ignored "-Wunused-function"
#define STB_TEXTEDIT_IMPLEMENTATION
#include <stb/stb_textedit.h>
#pragma GCC diagnostic pop

namespace app {

std::string utf8_of(std::u32string_view text) { return utf8::utf32to8(text); }

std::u32string utf32_of(std::string_view text) {
  return utf8::utf8to32(utf8::replace_invalid(text));
}

struct TextEdit::Inner {
  EditText text;
  STB_TexteditState state{};
};

TextEdit::TextEdit() : in_(std::make_unique<Inner>()) {}
TextEdit::~TextEdit() = default;

void TextEdit::begin(std::string_view utf8, bool lines) {
  in_->text.text = utf32_of(utf8);
  in_->text.lines = lines;
  measure(&in_->text);
  stb_textedit_initialize_state(&in_->state, lines ? 0 : 1);
  in_->state.cursor = int(in_->text.text.size());
}

void TextEdit::lay_out(const TextStyle& style, float width, float line_height) {
  EditText& text = in_->text;
  const bool other = text.style.size != style.size || text.style.weight != style.weight;
  text.style = style;
  text.width = width;
  text.line_height = line_height;
  if (other) measure(&text);
}

void TextEdit::insert(std::string_view utf8) {
  std::u32string letters = utf32_of(utf8);
  if (!in_->text.lines)
    std::replace_if(
        letters.begin(), letters.end(), [](char32_t c) { return c == U'\n' || c == U'\r'; }, U' ');
  stb_textedit_paste(&in_->text, &in_->state, letters.data(), int(letters.size()));
}

void TextEdit::key(EditKey key, bool shift) {
  constexpr int kCodes[] = {
      STB_TEXTEDIT_K_LEFT,     STB_TEXTEDIT_K_RIGHT,     STB_TEXTEDIT_K_UP,
      STB_TEXTEDIT_K_DOWN,     STB_TEXTEDIT_K_LINESTART, STB_TEXTEDIT_K_LINEEND,
      STB_TEXTEDIT_K_WORDLEFT, STB_TEXTEDIT_K_WORDRIGHT, STB_TEXTEDIT_K_BACKSPACE,
      STB_TEXTEDIT_K_DELETE,   STB_TEXTEDIT_K_UNDO,      STB_TEXTEDIT_K_REDO,
  };
  if (key == EditKey::select_all) {
    in_->state.select_start = 0;
    in_->state.select_end = in_->state.cursor = int(in_->text.text.size());
  } else if (key == EditKey::enter) {
    if (in_->text.lines) stb_textedit_key(&in_->text, &in_->state, int(U'\n'));
  } else if (key < EditKey::select_all) {
    const int with_shift = shift ? int(STB_TEXTEDIT_K_SHIFT) : 0;
    stb_textedit_key(&in_->text, &in_->state, kCodes[int(key)] | with_shift);
  }
}

void TextEdit::click(Point at) { stb_textedit_click(&in_->text, &in_->state, at.x, at.y); }

std::string TextEdit::utf8() const { return utf8_of(in_->text.text); }

std::vector<TextEdit::Row> TextEdit::rows() const {
  std::vector<Row> rows;
  EditText& text = in_->text;
  const int size = int(text.text.size()), caret = in_->state.cursor;
  const int first = std::min(in_->state.select_start, in_->state.select_end);
  const int last = std::max(in_->state.select_start, in_->state.select_end);
  int from = 0;
  do {
    StbTexteditRow measured{};
    edit_row(&measured, &text, from);
    const int end = from + measured.num_chars;
    const bool newline = end > from && text.text[std::size_t(end - 1)] == U'\n';
    const auto x_of = [&](int at) {
      float x = 0;
      for (int i = from; i < at; ++i) x += text.advance[std::size_t(i)];
      return x;
    };
    Row row;
    row.text = utf8_of(std::u32string_view(text.text).substr(
        std::size_t(from), std::size_t(end - from - (newline ? 1 : 0))));
    if (caret >= from && (caret < end || (end == size && !newline))) row.caret = x_of(caret);
    if (last > first) {
      row.select_from = x_of(std::clamp(first, from, end));
      row.select_to = x_of(std::clamp(last, from, end));
    }
    rows.push_back(std::move(row));
    if (newline && end == size) {
      Row empty;
      if (caret == size) empty.caret = 0;
      rows.push_back(empty);
    }
    from = end;
  } while (from < size);
  return rows;
}

}  // namespace app
