// app/drawing/glyph_cache.h: glyphs as small pictures of coverage, kept once made.
// Units:  pixels; glyphs are placed to a quarter of a pixel along the line
// Errors: a glyph that cannot be drawn is an empty picture
#pragma once

#include <memory>
#include <unordered_map>

#include "app/drawing/raster.h"

namespace app {

class GlyphCache {
 public:
  GlyphCache();
  ~GlyphCache();
  // quarter: 0 to 3, how far right of the whole pixel.
  const GlyphBitmap& glyph(int face, unsigned glyph, float size_px, int quarter);

 private:
  struct Faces;
  std::unique_ptr<Faces> faces_;
  std::unordered_map<std::uint64_t, GlyphBitmap> glyphs_;
};

}  // namespace app
