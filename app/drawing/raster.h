// app/drawing/raster.h: filled polygons, glyphs and pictures into pixels, with smooth edges.
// Units: pixels; y down. Pixels are 0xAARRGGBB, opaque once cleared.
// Method: signed area coverage, accumulated a row at a time; overlapping parts of one shape that
//         turn the same way unite, so that a stroke is the union of its pieces
// Why:    SDL's own software renderer rounds vertices to whole pixels; this looks the same
//         everywhere and lets the screen redraw only what changed
#pragma once

#include <cstdint>
#include <span>
#include <vector>

#include "app/drawing/canvas.h"

namespace app {

struct PixelRect {
  int x0 = 0, y0 = 0, x1 = 0, y1 = 0;  // x1, y1 just outside
  bool empty() const { return x0 >= x1 || y0 >= y1; }
  friend bool operator==(const PixelRect&, const PixelRect&) = default;
};
PixelRect overlap(const PixelRect& a, const PixelRect& b);

struct Bitmap {
  int width = 0, height = 0;
  std::vector<std::uint32_t> pixels;
  void resize(int w, int h);
};

// Coverage of one repeating hatch tile.
struct Pattern {
  int width = 0, height = 0;
  std::vector<std::uint8_t> coverage;
};

struct Shade {
  Color color;
  const Pattern* pattern = nullptr;
  Color pattern_color;
};

struct GlyphBitmap {
  int width = 0, height = 0, left = 0, top = 0;  // top: rows above the baseline
  std::vector<std::uint8_t> coverage;
};

class Raster {
 public:
  explicit Raster(Bitmap& target) : target_(target) {}
  void set_clip(const PixelRect& clip);

  void rect(const PixelRect& where, const Shade& shade);
  // Contours are closed; `ends` holds the index just past each one's last point.
  void fill(std::span<const Point> points, std::span<const std::uint32_t> ends, const Shade& shade);
  void glyph(const GlyphBitmap& glyph, int x, int y, Color color);
  void picture(const Bitmap& picture, int x, int y);

 private:
  void edge(Point from, Point to);
  void sweep(const Shade& shade);
  void blend_span(int y, int x0, int x1, int coverage, const Shade& shade);

  Bitmap& target_;
  PixelRect clip_;
  PixelRect area_;  // what the accumulator stands for
  std::vector<float> sums_;
  std::vector<std::pair<int, int>> touched_;  // a row's first and last cell
};

// A stroke as contours that all turn the same way, for Raster::fill.
struct Contours {
  std::vector<Point> points;
  std::vector<std::uint32_t> ends;
};
void stroke_contours(std::span<const Point> line, bool closed, float width,
                     std::span<const float> dashes, Contours& out);
Pattern make_pattern(Hatch hatch, float pixels_per_unit);

}  // namespace app
