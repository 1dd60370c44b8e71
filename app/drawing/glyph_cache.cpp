#include "app/drawing/glyph_cache.h"

#include <ft2build.h>
#include FT_FREETYPE_H
#include FT_OUTLINE_H

#include <cmath>
#include <vector>

#include "app/drawing/fonts.h"

namespace app {

struct GlyphCache::Faces {
  FT_Library library = nullptr;
  std::vector<FT_Face> open;  // by face number; null = could not be opened

  Faces() { FT_Init_FreeType(&library); }
  ~Faces() {
    for (FT_Face face : open)
      if (face) FT_Done_Face(face);
    FT_Done_FreeType(library);
  }
  FT_Face at(int number) {
    if (number < 0) return nullptr;
    while (open.size() <= std::size_t(number)) {
      FT_Face face = nullptr;
      const std::string path = Fonts::shared().path(int(open.size()));
      if (FT_New_Face(library, path.c_str(), 0, &face) != 0) face = nullptr;
      open.push_back(face);
    }
    return open[number];
  }
};

GlyphCache::GlyphCache() : faces_(std::make_unique<Faces>()) {}
GlyphCache::~GlyphCache() = default;

const GlyphBitmap& GlyphCache::glyph(int face_number, unsigned glyph, float size_px, int quarter) {
  const std::uint64_t key = std::uint64_t(face_number & 0xff) << 56 |
                            std::uint64_t(glyph & 0xfffff) << 32 |
                            std::uint64_t(std::lround(size_px * 64)) << 2 | unsigned(quarter & 3);
  auto [at, fresh] = glyphs_.try_emplace(key);
  GlyphBitmap& out = at->second;
  if (!fresh) return out;
  FT_Face face = faces_->at(face_number);
  if (!face || FT_Set_Char_Size(face, 0, FT_F26Dot6(std::lround(size_px * 64)), 72, 72) != 0 ||
      FT_Load_Glyph(face, glyph, FT_LOAD_NO_BITMAP | FT_LOAD_TARGET_LIGHT) != 0 ||
      face->glyph->format != FT_GLYPH_FORMAT_OUTLINE)
    return out;
  FT_Outline_Translate(&face->glyph->outline, quarter * 16, 0);
  if (FT_Render_Glyph(face->glyph, FT_RENDER_MODE_NORMAL) != 0) return out;
  const FT_Bitmap& from = face->glyph->bitmap;
  out.width = int(from.width);
  out.height = int(from.rows);
  out.left = face->glyph->bitmap_left;
  out.top = face->glyph->bitmap_top;
  for (unsigned row = 0; row < from.rows; ++row) {
    const unsigned char* line = from.buffer + std::ptrdiff_t(row) * from.pitch;
    out.coverage.insert(out.coverage.end(), line, line + from.width);
  }
  return out;
}

}  // namespace app
