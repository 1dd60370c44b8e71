#include "app/drawing/screen_canvas.h"

#include <algorithm>
#include <cmath>
#include <cstring>

namespace app {
namespace {

constexpr int kCell = 64;  // pixels: small enough to spare, large enough to be few

std::uint64_t hashed(const void* data, std::size_t bytes, std::uint64_t hash) {
  const auto* at = static_cast<const unsigned char*>(data);
  while (bytes >= 8) {
    std::uint64_t word;
    std::memcpy(&word, at, 8);
    hash = (hash ^ word) * 0x9e3779b97f4a7c15ull;
    hash ^= hash >> 29;
    at += 8;
    bytes -= 8;
  }
  for (; bytes > 0; --bytes) hash = (hash ^ *at++) * 0x100000001b3ull;
  return hash ^ (hash >> 32);
}

std::uint32_t packed(Color c) {
  return std::uint32_t(c.a) << 24 | std::uint32_t(c.r) << 16 | std::uint32_t(c.g) << 8 | c.b;
}

// The rectangle that the path is, if it is one with upright sides.
bool upright_rect(const Path& path, Rect& out) {
  if (path.points.size() != 4) return false;
  const auto& p = path.points;
  bool across = p[0].y == p[1].y && p[1].x == p[2].x && p[2].y == p[3].y && p[3].x == p[0].x;
  bool down = p[0].x == p[1].x && p[1].y == p[2].y && p[2].x == p[3].x && p[3].y == p[0].y;
  if (!across && !down) return false;
  out = {std::min(p[0].x, p[2].x), std::min(p[0].y, p[2].y), std::fabs(p[2].x - p[0].x),
         std::fabs(p[2].y - p[0].y)};
  return true;
}

// Nearest or averaged pixels of a picture at another size.
Bitmap scaled(const Image& image, int width, int height) {
  struct Span {
    int from, to;
    bool operator==(const Span&) const = default;
  };
  const auto span = [](int at, int size, int source) {
    const int from = int(std::int64_t(at) * source / size);
    return Span{from, std::max(from + 1, int(std::int64_t(at + 1) * source / size))};
  };
  std::vector<Span> columns(width);
  for (int x = 0; x < width; ++x) columns[x] = span(x, width, image.width);
  const auto source = [&](int x, int y) {
    return &image.rgba[(std::size_t(y) * image.width + x) * 4];
  };
  const auto packed = [](unsigned r, unsigned g, unsigned b, unsigned a) {
    return a << 24 | r << 16 | g << 8 | b;
  };
  Bitmap out;
  out.resize(width, height);
  Span before{-1, -1};
  for (int y = 0; y < height; ++y) {
    const Span rows = span(y, height, image.height);
    std::uint32_t* line = &out.pixels[std::size_t(y) * width];
    if (rows == before) {  // enlarged: the same as the line above
      std::copy(line - width, line, line);
      continue;
    }
    before = rows;
    const int step_y = std::max(1, (rows.to - rows.from) / 4);
    for (int x = 0; x < width; ++x) {
      const Span across = columns[x];
      if (across.to - across.from == 1 && rows.to - rows.from == 1) {
        const auto* p = source(across.from, rows.from);
        line[x] = packed(p[0], p[1], p[2], p[3]);
        continue;
      }
      const int step_x = std::max(1, (across.to - across.from) / 4);
      unsigned sum[4] = {}, count = 0;
      for (int sy = rows.from; sy < rows.to; sy += step_y)
        for (int sx = across.from; sx < across.to; sx += step_x, ++count)
          for (int k = 0; k < 4; ++k) sum[k] += source(sx, sy)[k];
      line[x] = packed(sum[0] / count, sum[1] / count, sum[2] / count, sum[3] / count);
    }
  }
  return out;
}

}  // namespace

void ScreenCanvas::begin(int width_px, int height_px, float scale, Color background) {
  if (width_px != bitmap_.width || height_px != bitmap_.height || scale != scale_ ||
      !(background == background_)) {
    bitmap_.resize(std::max(width_px, 1), std::max(height_px, 1));
    cells_.clear();
  }
  if (scale != scale_) patterns_.clear();
  scale_ = scale;
  background_ = background;
  ++frame_;
  commands_.clear();
  points_.clear();
  ends_.clear();
  glyphs_.clear();
  pictures_.clear();
  clips_.assign(1, {0, 0, bitmap_.width, bitmap_.height});
  if (lines_.size() > 4000) lines_.clear();
}

void ScreenCanvas::add(Command command, const void* data, std::size_t bytes) {
  command.bounds = overlap(command.bounds, clips_.back());
  if (command.bounds.empty()) return;
  std::uint64_t hash = hashed(data, bytes, std::uint64_t(command.kind) + 0x51ed27);
  std::uint32_t head[6] = {packed(command.shade.color),      packed(command.shade.pattern_color),
                           std::uint32_t(command.bounds.x0), std::uint32_t(command.bounds.y0),
                           std::uint32_t(command.bounds.x1), std::uint32_t(command.bounds.y1)};
  hash = hashed(head, sizeof head, hash);
  command.hash = hashed(&command.shade.pattern, sizeof command.shade.pattern, hash);
  commands_.push_back(command);
}

void ScreenCanvas::shape(const Contours& contours, const Shade& shade) {
  if (contours.points.empty()) return;
  float x0 = 1e9f, y0 = 1e9f, x1 = -1e9f, y1 = -1e9f;
  for (Point p : contours.points) {
    if (!(std::fabs(p.x) < 1e6f && std::fabs(p.y) < 1e6f)) return;
    x0 = std::min(x0, p.x);
    x1 = std::max(x1, p.x);
    y0 = std::min(y0, p.y);
    y1 = std::max(y1, p.y);
  }
  Command command{
      Kind::shape,
      {int(std::floor(x0)), int(std::floor(y0)), int(std::ceil(x1)), int(std::ceil(y1))}};
  command.shade = shade;
  command.begin = std::uint32_t(points_.size());
  command.ends_begin = std::uint32_t(ends_.size());
  points_.insert(points_.end(), contours.points.begin(), contours.points.end());
  ends_.insert(ends_.end(), contours.ends.begin(), contours.ends.end());
  command.end = std::uint32_t(points_.size());
  command.ends_end = std::uint32_t(ends_.size());
  add(command, contours.points.data(), contours.points.size() * sizeof(Point));
}

void ScreenCanvas::fill(const Path& path, const Paint& paint) {
  Shade shade{paint.color, pattern_for(paint.hatch), paint.hatch_color};
  if (!shade.pattern && paint.color.a == 0) return;
  Rect rect;
  if (upright_rect(path, rect)) {  // on whole pixels: crisp, and no seam between neighbours
    auto whole = [this](float v) { return int(std::lround(std::clamp(v * scale_, -1e6f, 1e6f))); };
    Command command{Kind::rect,
                    {whole(rect.x), whole(rect.y), whole(rect.right()), whole(rect.bottom())}};
    if (command.bounds.x0 == command.bounds.x1 && rect.w > 0) ++command.bounds.x1;
    if (command.bounds.y0 == command.bounds.y1 && rect.h > 0) ++command.bounds.y1;
    command.shade = shade;
    add(command, nullptr, 0);
    return;
  }
  Contours contours;
  for (Point p : path.points) contours.points.push_back({p.x * scale_, p.y * scale_});
  contours.ends.push_back(std::uint32_t(contours.points.size()));
  shape(contours, shade);
}

void ScreenCanvas::stroke(const Path& path, const Stroke& stroke) {
  if (stroke.color.a == 0 || path.points.size() < 2) return;
  float width = std::max(stroke.width * scale_, 1.f);
  std::vector<Point> line;
  bool upright = true;
  for (Point p : path.points) line.push_back({p.x * scale_, p.y * scale_});
  for (std::size_t i = 1; i < line.size(); ++i)
    upright &= line[i].x == line[i - 1].x || line[i].y == line[i - 1].y;
  if (upright && line.size() <= 2) {  // grid lines sit on whole pixels
    float shift = int(std::lround(width)) % 2 ? 0.5f : 0.f;
    for (Point& p : line) p = {std::floor(p.x) + shift, std::floor(p.y) + shift};
    if (line[0].x == line[1].x) line[1].y += 0.5f;
    width = std::round(width);
  }
  std::vector<float> dashes;
  for (float d : stroke.dashes) dashes.push_back(d * scale_);
  Contours contours;
  stroke_contours(line, path.closed, width, dashes, contours);
  shape(contours, {stroke.color});
}

const TextLine& ScreenCanvas::line_for(std::string_view utf8, const TextStyle& style) {
  std::string key(utf8);
  key += char(style.weight == Weight::semibold ? 1 : 2);
  key += char(style.tabular ? 1 : 2);
  key += std::to_string(int(style.size * 64));
  auto found = lines_.find(key);
  if (found == lines_.end()) found = lines_.emplace(std::move(key), lay_out(utf8, style)).first;
  return found->second;
}

void ScreenCanvas::text(Point at, std::string_view utf8, const TextStyle& style) {
  if (utf8.empty() || style.color.a == 0 || !std::isfinite(at.x) || !std::isfinite(at.y)) return;
  const TextLine& line = line_for(utf8, style);
  float left = at.x;
  if (style.align == Align::center) left -= line.width / 2;
  if (style.align == Align::right) left -= line.width;
  Command command{Kind::glyphs, {1 << 28, 1 << 28, -(1 << 28), -(1 << 28)}};
  command.shade.color = style.color;
  command.begin = std::uint32_t(glyphs_.size());
  int baseline = int(std::lround(at.y * scale_));
  for (const PlacedGlyph& placed : line.glyphs) {
    float x = (left + placed.x) * scale_;
    int whole = int(std::floor(x)), quarter = int((x - float(whole)) * 4);
    const GlyphBitmap& bitmap =
        glyph_cache_.glyph(placed.face, placed.glyph, style.size * scale_, quarter);
    if (bitmap.width == 0) continue;
    Glyph glyph{&bitmap, whole, baseline + int(std::lround(placed.y * scale_))};
    glyphs_.push_back(glyph);
    PixelRect& b = command.bounds;
    b.x0 = std::min(b.x0, glyph.x + bitmap.left);
    b.y0 = std::min(b.y0, glyph.y - bitmap.top);
    b.x1 = std::max(b.x1, glyph.x + bitmap.left + bitmap.width);
    b.y1 = std::max(b.y1, glyph.y - bitmap.top + bitmap.height);
  }
  command.end = std::uint32_t(glyphs_.size());
  if (command.begin == command.end) return;
  add(command, &glyphs_[command.begin], (command.end - command.begin) * sizeof(Glyph));
}

void ScreenCanvas::image(const Image& image, Rect where) {
  int x = int(std::lround(where.x * scale_)), y = int(std::lround(where.y * scale_));
  int w = int(std::lround(where.w * scale_)), h = int(std::lround(where.h * scale_));
  std::size_t bytes = std::size_t(std::max(image.width, 0)) * std::max(image.height, 0) * 4;
  if (w < 1 || h < 1 || w > 8192 || h > 8192 || bytes == 0 || image.rgba.size() < bytes) return;
  int head[4] = {w, h, image.width, image.height};
  std::uint64_t key = hashed(head, sizeof head, 77);
  std::size_t step = std::max<std::size_t>(64, bytes / 4096 / 64 * 64);  // samples suffice
  for (std::size_t at = 0; at + 64 <= bytes; at += step) key = hashed(&image.rgba[at], 64, key);
  auto& cached = picture_cache_[key];
  if (!cached) {
    cached = std::make_shared<Picture>();
    cached->key = key;
    cached->bitmap = scaled(image, w, h);
  }
  cached->frame = frame_;
  auto placed = cached;
  Command command{Kind::picture, {x, y, x + w, y + h}};
  command.begin = std::uint32_t(pictures_.size());
  pictures_.push_back(placed);
  points_.push_back({float(x), float(y)});
  command.end = std::uint32_t(points_.size() - 1);  // where its corner is kept
  std::uint64_t mark[2] = {key, std::uint64_t(std::uint32_t(x)) << 32 | std::uint32_t(y)};
  add(command, mark, sizeof mark);
}

void ScreenCanvas::push_clip(Rect rect) {
  auto whole = [this](float v) { return int(std::lround(std::clamp(v * scale_, -1e6f, 1e6f))); };
  clips_.push_back(overlap(
      clips_.back(), {whole(rect.x), whole(rect.y), whole(rect.right()), whole(rect.bottom())}));
}

void ScreenCanvas::pop_clip() {
  if (clips_.size() > 1) clips_.pop_back();
}

const Pattern* ScreenCanvas::pattern_for(Hatch hatch) {
  if (hatch == Hatch::none) return nullptr;
  auto found = patterns_.find(int(hatch));
  if (found == patterns_.end())
    found = patterns_.emplace(int(hatch), make_pattern(hatch, scale_)).first;
  return &found->second;
}

void ScreenCanvas::draw(Raster& raster, const Command& c) {
  switch (c.kind) {
    case Kind::rect:
      raster.rect(c.bounds, c.shade);
      break;
    case Kind::shape: {
      std::vector<std::uint32_t> ends(ends_.begin() + c.ends_begin, ends_.begin() + c.ends_end);
      raster.fill({&points_[c.begin], c.end - c.begin}, ends, c.shade);
      break;
    }
    case Kind::glyphs:
      for (std::uint32_t i = c.begin; i < c.end; ++i)
        raster.glyph(*glyphs_[i].bitmap, glyphs_[i].x, glyphs_[i].y, c.shade.color);
      break;
    case Kind::picture:
      raster.picture(pictures_[c.begin]->bitmap, int(points_[c.end].x), int(points_[c.end].y));
      break;
  }
}

std::vector<PixelRect> ScreenCanvas::finish() {
  int columns = (bitmap_.width + kCell - 1) / kCell, rows = (bitmap_.height + kCell - 1) / kCell;
  std::vector<std::uint64_t> cells(std::size_t(columns) * rows, 1);
  for (const Command& c : commands_)
    for (int y = c.bounds.y0 / kCell; y <= (c.bounds.y1 - 1) / kCell; ++y)
      for (int x = c.bounds.x0 / kCell; x <= (c.bounds.x1 - 1) / kCell; ++x) {
        std::uint64_t& cell = cells[std::size_t(y) * columns + x];
        cell = (cell ^ c.hash) * 0x9e3779b97f4a7c15ull;
        cell ^= cell >> 31;
      }
  bool everything = cells_.size() != cells.size();

  // Runs of changed cells, each run grown downwards while the rows below agree.
  std::vector<PixelRect> damage;
  for (int y = 0; y < rows; ++y)
    for (int x = 0; x < columns;) {
      auto changed = [&](int cx) {
        std::size_t at = std::size_t(y) * columns + cx;
        return everything || cells[at] != cells_[at];
      };
      if (!changed(x)) {
        ++x;
        continue;
      }
      int end = x;
      while (end < columns && changed(end)) ++end;
      PixelRect run{x * kCell, y * kCell, std::min(end * kCell, bitmap_.width),
                    std::min((y + 1) * kCell, bitmap_.height)};
      auto above = std::find_if(damage.begin(), damage.end(), [&](const PixelRect& r) {
        return r.x0 == run.x0 && r.x1 == run.x1 && r.y1 == run.y0;
      });
      if (above != damage.end())
        above->y1 = run.y1;
      else
        damage.push_back(run);
      x = end;
    }

  Raster raster(bitmap_);
  for (const PixelRect& r : damage) {
    raster.set_clip(r);
    raster.rect(r, {background_});
    for (const Command& c : commands_) {
      PixelRect clip = overlap(r, c.bounds);
      if (clip.empty()) continue;
      raster.set_clip(clip);
      draw(raster, c);
    }
  }
  cells_ = std::move(cells);
  for (auto it = picture_cache_.begin(); it != picture_cache_.end();)
    it = it->second->frame + 1 < frame_ ? picture_cache_.erase(it) : std::next(it);
  return damage;
}

}  // namespace app
