// app/drawing/screen_canvas.h: the screen outlet of the drawing language.
// Units:  dp in, pixels out; `scale` pixels a dp
// Method: a frame is noted down as a list; cells of the screen whose part of the list differs from
//         the last frame's are drawn again, the rest stays
#pragma once

#include <memory>
#include <string>
#include <unordered_map>
#include <vector>

#include "app/drawing/canvas.h"
#include "app/drawing/glyph_cache.h"
#include "app/drawing/raster.h"
#include "app/drawing/text_layout.h"

namespace app {

class ScreenCanvas : public Canvas {
 public:
  void begin(int width_px, int height_px, float scale, Color background);
  void fill(const Path& path, const Paint& paint) override;
  void stroke(const Path& path, const Stroke& stroke) override;
  void text(Point at, std::string_view utf8, const TextStyle& style) override;
  void image(const Image& image, Rect where) override;
  void push_clip(Rect rect) override;
  void pop_clip() override;

  // Draws what changed and says where; nothing changed = empty.
  std::vector<PixelRect> finish();
  void redraw_all() { cells_.clear(); }
  const Bitmap& bitmap() const { return bitmap_; }
  float scale() const { return scale_; }

 private:
  enum class Kind : std::uint8_t { rect, shape, glyphs, picture };
  struct Command {
    Kind kind;
    PixelRect bounds;                            // clipped
    std::uint32_t begin = 0, end = 0;            // points or glyphs
    std::uint32_t ends_begin = 0, ends_end = 0;  // contours
    Shade shade;
    std::uint64_t hash = 0;
  };
  struct Glyph {
    const GlyphBitmap* bitmap;
    int x, y;
  };
  struct Picture {
    std::uint64_t key = 0;
    Bitmap bitmap;
    int x = 0, y = 0, frame = 0;
  };

  void shape(const Contours& contours, const Shade& shade);
  void add(Command command, const void* data, std::size_t bytes);
  void draw(Raster& raster, const Command& command);
  const Pattern* pattern_for(Hatch hatch);
  const TextLine& line_for(std::string_view utf8, const TextStyle& style);

  float scale_ = 1;
  int frame_ = 0;
  Bitmap bitmap_;
  Color background_;
  std::vector<Command> commands_;
  std::vector<Point> points_;
  std::vector<std::uint32_t> ends_;
  std::vector<Glyph> glyphs_;
  std::vector<std::shared_ptr<Picture>> pictures_;
  std::vector<PixelRect> clips_;
  std::vector<std::uint64_t> cells_;
  GlyphCache glyph_cache_;
  std::unordered_map<int, Pattern> patterns_;
  std::unordered_map<std::string, TextLine> lines_;
  std::unordered_map<std::uint64_t, std::shared_ptr<Picture>> picture_cache_;
};

}  // namespace app
