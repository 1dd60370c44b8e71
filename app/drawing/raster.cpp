#include "app/drawing/raster.h"

#include <algorithm>
#include <cmath>

#include "app/drawing/shapes.h"

namespace app {
namespace {

std::uint32_t pixel(Color c) {
  return 0xff000000u | std::uint32_t(c.r) << 16 | std::uint32_t(c.g) << 8 | c.b;
}

// alpha 0..256
inline std::uint32_t mix(std::uint32_t under, std::uint32_t over, std::uint32_t alpha) {
  std::uint32_t rb = under & 0xff00ffu, g = under & 0x00ff00u;
  rb += (((over & 0xff00ffu) - rb) * alpha) >> 8;
  g += (((over & 0x00ff00u) - g) * alpha) >> 8;
  return 0xff000000u | (rb & 0xff00ffu) | (g & 0x00ff00u);
}

inline std::uint32_t alpha_of(Color c, int coverage) {
  std::uint32_t a = c.a + (c.a >> 7);  // 0..256
  return (a * std::uint32_t(coverage + (coverage >> 7))) >> 8;
}

}  // namespace

PixelRect overlap(const PixelRect& a, const PixelRect& b) {
  return {std::max(a.x0, b.x0), std::max(a.y0, b.y0), std::min(a.x1, b.x1), std::min(a.y1, b.y1)};
}

void Bitmap::resize(int w, int h) {
  width = w;
  height = h;
  pixels.assign(std::size_t(w) * h, 0xff000000u);
}

void Raster::set_clip(const PixelRect& clip) {
  clip_ = overlap(clip, {0, 0, target_.width, target_.height});
}

void Raster::blend_span(int y, int x0, int x1, int coverage, const Shade& shade) {
  std::uint32_t* row = &target_.pixels[std::size_t(y) * target_.width];
  std::uint32_t over = pixel(shade.color);
  if (shade.pattern && shade.pattern->width > 0) {
    const Pattern& p = *shade.pattern;
    const std::uint8_t* line = &p.coverage[std::size_t(y % p.height) * p.width];
    std::uint32_t ink = pixel(shade.pattern_color);
    int at = x0 % p.width;
    std::uint32_t base = alpha_of(shade.color, coverage);
    for (int x = x0; x < x1; ++x) {
      if (base) row[x] = mix(row[x], over, base);
      if (line[at])
        row[x] = mix(row[x], ink,
                     (alpha_of(shade.pattern_color, line[at]) * std::uint32_t(coverage + 1)) >> 8);
      if (++at == p.width) at = 0;
    }
    return;
  }
  std::uint32_t alpha = alpha_of(shade.color, coverage);
  if (alpha >= 256)
    std::fill(row + x0, row + x1, over);
  else if (alpha > 0)
    for (int x = x0; x < x1; ++x) row[x] = mix(row[x], over, alpha);
}

void Raster::rect(const PixelRect& where, const Shade& shade) {
  PixelRect r = overlap(where, clip_);
  if (r.empty()) return;
  for (int y = r.y0; y < r.y1; ++y) blend_span(y, r.x0, r.x1, 255, shade);
}

// Adds the signed area that the edge leaves to its right, cell by cell.
void Raster::edge(Point from, Point to) {
  if (from.y == to.y) return;
  float direction = 1;
  if (from.y > to.y) {
    std::swap(from, to);
    direction = -1;
  }
  float top = 0, bottom = float(area_.y1 - area_.y0), right = float(area_.x1 - area_.x0);
  if (to.y <= top || from.y >= bottom) return;
  float slope = (to.x - from.x) / (to.y - from.y);
  float x = from.x;
  if (from.y < top) x += (top - from.y) * slope;
  float y_begin = std::max(from.y, top), y_end = std::min(to.y, bottom);
  int stride = area_.x1 - area_.x0 + 2;
  for (int row = int(y_begin); row < int(std::ceil(y_end)); ++row) {
    float ya = std::max(y_begin, float(row)), yb = std::min(y_end, float(row + 1));
    float height = (yb - ya) * direction;
    float next = x + (yb - ya) * slope;
    float left = std::min(x, next), far = std::max(x, next);
    x = next;
    float* sums = &sums_[std::size_t(row) * stride];
    auto& touched = touched_[row];
    if (left < 0) {  // what lies outside to the left covers the whole row
      float share = far <= 0 ? 1 : -left / (far - left);
      sums[0] += height * share;
      touched.first = 0;
      touched.second = std::max(touched.second, 1);
      if (far <= 0) continue;
      height -= height * share;
      left = 0;
    }
    if (far > right) {
      touched.second = stride - 1;
      touched.first = std::min(touched.first, int(std::min(left, right)));
      if (left >= right) continue;
      height -= height * (far - right) / (far - left);
      far = right;
    }
    int first = int(left), last = int(std::ceil(far));
    touched.first = std::min(touched.first, first);
    touched.second = std::max(touched.second, std::max(last, first + 1));
    if (last <= first + 1) {
      float middle = (left + far) * 0.5f - float(first);
      sums[first] += height * (1 - middle);
      sums[first + 1] += height * middle;
      continue;
    }
    float per_cell = height / (far - left);
    float lead = 1 - (left - float(first));
    float area = 0.5f * per_cell * lead * lead;
    sums[first] += area;
    if (last == first + 2) {
      float tail = far - float(first + 1);
      float second = height - area - 0.5f * per_cell * tail * tail;
      sums[first + 1] += second;
      sums[first + 2] += height - area - second;
    } else {
      float so_far = area, covered = per_cell * (lead + 0.5f);
      sums[first + 1] += covered - area;
      so_far = covered;
      for (int cell = first + 2; cell < last - 1; ++cell) {
        sums[cell] += per_cell;
        so_far += per_cell;
      }
      float tail = far - float(last - 1);
      float end = height - 0.5f * per_cell * tail * tail;
      sums[last - 1] += end - so_far;
      sums[last] += height - end;
    }
  }
}

void Raster::sweep(const Shade& shade) {
  int stride = area_.x1 - area_.x0 + 2, width = area_.x1 - area_.x0;
  for (int row = 0; row < area_.y1 - area_.y0; ++row) {
    auto [first, last] = touched_[row];
    if (first > last) continue;
    float* sums = &sums_[std::size_t(row) * stride];
    float sum = 0;
    int end = std::min(last, width);
    int run_from = first, run_coverage = 0;
    int y = row + area_.y0;
    for (int x = first; x < end; ++x) {
      if (sums[x] != 0 || x == first) {
        sum += sums[x];
        sums[x] = 0;
        int coverage = int(std::min(std::fabs(sum), 1.f) * 255 + 0.5f);
        if (coverage != run_coverage) {
          if (run_coverage && x > run_from)
            blend_span(y, run_from + area_.x0, x + area_.x0, run_coverage, shade);
          run_from = x;
          run_coverage = coverage;
        }
      }
    }
    if (run_coverage && end > run_from)
      blend_span(y, run_from + area_.x0, end + area_.x0, run_coverage, shade);
    for (int x = end; x <= std::min(last, width + 1); ++x) sums[x] = 0;
    // What lies to the right of the last edge inside the clip but is still covered.
    sums[width] = sums[width + 1] = 0;
  }
}

void Raster::fill(std::span<const Point> points, std::span<const std::uint32_t> ends,
                  const Shade& shade) {
  if (points.empty()) return;
  float x0 = points[0].x, x1 = x0, y0 = points[0].y, y1 = y0;
  for (const Point& p : points) {
    if (!std::isfinite(p.x) || !std::isfinite(p.y)) return;
    x0 = std::min(x0, p.x);
    x1 = std::max(x1, p.x);
    y0 = std::min(y0, p.y);
    y1 = std::max(y1, p.y);
  }
  auto whole = [](float v) { return int(std::clamp(v, -1e6f, 1e6f)); };
  area_ = overlap(clip_, {whole(std::floor(x0)), whole(std::floor(y0)), whole(std::ceil(x1)),
                          whole(std::ceil(y1))});
  if (area_.empty()) return;
  int rows = area_.y1 - area_.y0, stride = area_.x1 - area_.x0 + 2;
  if (sums_.size() < std::size_t(rows) * stride) sums_.resize(std::size_t(rows) * stride);
  touched_.assign(rows, {stride, -1});
  float dx = float(area_.x0), dy = float(area_.y0);
  std::uint32_t begin = 0;
  for (std::uint32_t end : ends) {
    for (std::uint32_t i = begin; i < end; ++i) {
      const Point &a = points[i], &b = points[i + 1 < end ? i + 1 : begin];
      edge({a.x - dx, a.y - dy}, {b.x - dx, b.y - dy});
    }
    begin = end;
  }
  sweep(shade);
}

void Raster::glyph(const GlyphBitmap& glyph, int x, int y, Color color) {
  PixelRect r = overlap(clip_, {x + glyph.left, y - glyph.top, x + glyph.left + glyph.width,
                                y - glyph.top + glyph.height});
  if (r.empty()) return;
  std::uint32_t ink = pixel(color);
  for (int py = r.y0; py < r.y1; ++py) {
    const std::uint8_t* line =
        &glyph.coverage[std::size_t(py - (y - glyph.top)) * glyph.width] - (x + glyph.left);
    std::uint32_t* row = &target_.pixels[std::size_t(py) * target_.width];
    for (int px = r.x0; px < r.x1; ++px)
      if (line[px]) row[px] = mix(row[px], ink, alpha_of(color, line[px]));
  }
}

void Raster::picture(const Bitmap& picture, int x, int y) {
  PixelRect r = overlap(clip_, {x, y, x + picture.width, y + picture.height});
  for (int py = r.y0; py < r.y1; ++py) {
    const std::uint32_t* line = &picture.pixels[std::size_t(py - y) * picture.width] - x;
    std::uint32_t* row = &target_.pixels[std::size_t(py) * target_.width];
    for (int px = r.x0; px < r.x1; ++px) {
      std::uint32_t alpha = line[px] >> 24;
      row[px] = alpha == 255 ? line[px] : mix(row[px], line[px], alpha + (alpha >> 7));
    }
  }
}

Pattern make_pattern(Hatch hatch, float pixels_per_unit) {
  // After how many units each hatch of shapes.h repeats, across and down.
  constexpr Point kPeriods[] = {{0, 0},   {9, 20}, {7, 7}, {8, 14},
                                {10, 12}, {5, 5},  {9, 9}, {10, 10}};
  const Point period = kPeriods[static_cast<int>(hatch)];
  Pattern pattern;
  if (period.x <= 0) return pattern;
  pattern.width = std::max(2, static_cast<int>(std::lround(period.x * pixels_per_unit)));
  pattern.height = std::max(2, static_cast<int>(std::lround(period.y * pixels_per_unit)));
  Bitmap bitmap;
  bitmap.resize(pattern.width, pattern.height);
  Raster raster(bitmap);
  raster.set_clip({0, 0, pattern.width, pattern.height});
  const float sx = float(pattern.width) / period.x, sy = float(pattern.height) / period.y;
  Contours contours;
  // Around the tile too: neighbours' strokes reach into it.
  const Rect around{-period.x, -period.y, 3 * period.x, 3 * period.y};
  for (const Path& path : hatch_lines(hatch, around)) {
    std::vector<Point> line;
    for (Point p : path.points) line.push_back({p.x * sx, p.y * sy});
    stroke_contours(line, path.closed, hatch_width(hatch) * pixels_per_unit, {}, contours);
  }
  for (std::uint32_t& p : bitmap.pixels) p = 0xff000000u;
  raster.fill(contours.points, contours.ends, {Color{255, 255, 255, 255}});
  for (std::uint32_t p : bitmap.pixels) pattern.coverage.push_back(std::uint8_t(p & 0xff));
  return pattern;
}

}  // namespace app
