// app/drawing/text_layout.h: shaping and measuring text, the same for every outlet.
// Units: those of the canvas
// Source: HarfBuzz (shaping), FriBidi (UAX #9), FreeType (outlines); typeface Inter with Noto Sans
//         for scripts it lacks
#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "app/drawing/canvas.h"

namespace app {

struct PlacedGlyph {
  int face = 0;               // index of the font file, see Fonts::faces
  unsigned glyph = 0;         // glyph number in that face
  float x = 0, y = 0;         // from the line's left end, on the baseline
  std::uint32_t cluster = 0;  // byte offset into the text
};

struct TextLine {
  std::vector<PlacedGlyph> glyphs;  // in visual order
  float width = 0;
};

TextLine lay_out(std::string_view utf8, const TextStyle& style);
float text_width(std::string_view utf8, const TextStyle& style);
// Breaks at spaces, and inside a word only where it alone is too wide. Never returns nothing. The
// lines of a paragraph from right to left say so with a leading mark (U+200F).
std::vector<std::string> wrapped(std::string_view utf8, const TextStyle& style, float width);
// Cut with an ellipsis so that it fits.
std::string shortened(std::string_view utf8, const TextStyle& style, float width);
// From the top left, in as many lines as it takes; returns the last baseline.
float paragraph(Canvas& canvas, Point at, float width, std::string_view words,
                const TextStyle& style);

// Does the paragraph run from right to left: is its first letter Hebrew, Arabic ...
bool right_to_left(std::string_view utf8);

}  // namespace app
