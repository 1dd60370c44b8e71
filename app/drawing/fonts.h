// app/drawing/fonts.h: which font files are there, and which of them has a letter.
// Inter for all it has (Latin, Greek, Cyrillic); Noto Sans by script for the rest.
// Folders, first found wins: ADRET_FONTS (colon-separated), those given to add_folder(), /fonts
// (the web bundle), then the system's. Files are opened when a letter first needs them. Errors:
// without any font, problem() says what to install; text then has no width and is not drawn
// Threads: safe to call from any; an FT_Face belongs to one thread, so outlets open their own
#pragma once

#include <memory>
#include <string>
#include <vector>

#include "app/drawing/canvas.h"

struct hb_font_t;

namespace app {

class Fonts {
 public:
  static Fonts& shared();
  ~Fonts();

  void add_folder(std::string folder);  // searched before the system's; call before the first text
  std::string problem() const;          // empty = all well

  // Face numbers stay the same while the program runs.
  int face_for(char32_t letter, Weight weight);
  // The plain face of the weight, which has digits and Latin letters. -1: no fonts at all.
  int base_face(Weight weight);
  std::string path(int face) const;   // to open with FT_New_Face, index 0
  hb_font_t* shaping_font(int face);  // scale = units_per_em; do not change it
  float units_per_em(int face) const;
  // In parts of the text size, above the baseline: for placing text in boxes.
  static constexpr float kCapHeight = 0.727f;
  static constexpr float kLineHeight = 1.35f;

 private:
  Fonts();
  struct Inner;
  std::unique_ptr<Inner> in_;
};

}  // namespace app
