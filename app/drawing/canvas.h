// app/drawing/canvas.h: the one drawing language. Charts, screens and reports are drawn with it; the
// outlets are the screen (SDL) and Cairo (PDF, SVG, PNG).
// Units: one unit is a dp on a screen (1/160 inch) and a point (1/72 inch) on paper
// Frame: x to the right, y down, origin at the top left
#pragma once

#include <cstdint>
#include <span>
#include <string>
#include <string_view>
#include <vector>

namespace app {

struct Point {
  float x = 0, y = 0;
};

struct Rect {
  float x = 0, y = 0, w = 0, h = 0;
  float right() const { return x + w; }
  float bottom() const { return y + h; }
  bool contains(Point p) const { return p.x >= x && p.x < right() && p.y >= y && p.y < bottom(); }
  Rect inset(float by) const { return {x + by, y + by, w - 2 * by, h - 2 * by}; }
};

struct Color {
  std::uint8_t r = 0, g = 0, b = 0, a = 255;
  friend bool operator==(Color, Color) = default;
};

// Each kind of skyline has its own hatch, so that colour is never the only sign.
enum class Hatch : std::uint8_t { none, ridge, evergreen, leafy, building, pole, open, computed };

struct Paint {
  Color color;
  Hatch hatch = Hatch::none;
  Color hatch_color;
};

struct Stroke {
  Color color;
  float width = 1;
  std::vector<float> dashes;  // on, off, on, off ...; empty = solid
};

// Closed or open polylines; curves are flattened where they are made (see shapes.h).
// A fill takes simple polygons, without holes.
struct Path {
  std::vector<Point> points;
  bool closed = false;
};

enum class Weight : std::uint8_t { regular, semibold };
enum class Align : std::uint8_t { left, center, right };

struct TextStyle {
  float size = 14;
  Color color;
  Weight weight = Weight::regular;
  Align align = Align::left;
  bool tabular = true;  // digits of equal width
};

// An encoded picture (JPEG, PNG bytes, as they lie in the field book) or RGBA pixels.
struct Image {
  int width = 0, height = 0;
  std::vector<std::uint8_t> rgba;     // decoded, 4 bytes a pixel, row by row
  std::vector<std::uint8_t> encoded;  // may be empty; an outlet that can embed it as it is, does
};

class Canvas {
 public:
  virtual ~Canvas() = default;

  virtual void fill(const Path& path, const Paint& paint) = 0;
  virtual void stroke(const Path& path, const Stroke& stroke) = 0;
  // One line; `at` is on the baseline, at the left, middle or right end by style.align.
  // Bidirectional and complex scripts are laid out.
  virtual void text(Point at, std::string_view utf8, const TextStyle& style) = 0;
  virtual void image(const Image& image, Rect where) = 0;
  virtual void push_clip(Rect rect) = 0;
  virtual void pop_clip() = 0;
  // What follows until end_figure() is one picture with this text for those who cannot see it.
  virtual void begin_figure(std::string_view alternative_text) { (void)alternative_text; }
  virtual void end_figure() {}
  // Things of one sort, for an outlet whose files have layers.
  virtual void begin_layer(std::string_view name) { (void)name; }
  virtual void end_layer() {}
};

}  // namespace app
