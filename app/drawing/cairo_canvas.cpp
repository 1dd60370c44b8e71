#include "app/drawing/cairo_canvas.h"

#include <cairo-ft.h>
#include <cairo-pdf.h>
#include <cairo-svg.h>

#include <algorithm>
#include <charconv>
#include <cmath>
#include <map>
#include <mutex>
#include <set>

#include "app/drawing/fonts.h"
#include "app/drawing/pdf_additions.h"
#include "app/drawing/shapes.h"
#include "app/drawing/text_layout.h"
#include "horizon/time.h"
#include "survey/book/text.h"

namespace app {
namespace {

using horizon::Code;

cairo_status_t append(void* bytes, const unsigned char* data, unsigned length) {
  static_cast<std::string*>(bytes)->append(reinterpret_cast<const char*>(data), length);
  return CAIRO_STATUS_SUCCESS;
}

// A hundredth of a millimetre: no printer shows it, and lines of hundreds of points need a third.
constexpr float kUnseen_pt = 0.03f;

// FreeType's library may be used by one thread at a time when faces open and close.
std::mutex& freetype_lock() {
  static std::mutex lock;
  return lock;
}
FT_Library freetype() {
  static FT_Library library = [] {
    FT_Library made = nullptr;
    FT_Init_FreeType(&made);
    return made;
  }();
  return library;
}
void close_face(void* face) {
  std::lock_guard guard(freetype_lock());
  FT_Done_Face(static_cast<FT_Face>(face));
}

class CairoFaces {
 public:
  ~CairoFaces() {
    for (auto& [index, face] : faces_) cairo_font_face_destroy(face);
  }
  cairo_font_face_t* get(int index) {
    if (auto it = faces_.find(index); it != faces_.end()) return it->second;
    const std::string path = Fonts::shared().path(index);
    FT_Face opened = nullptr;
    {
      std::lock_guard guard(freetype_lock());
      if (FT_New_Face(freetype(), path.c_str(), 0, &opened) != 0) return nullptr;
    }
    static const cairo_user_data_key_t key{};
    cairo_font_face_t* face = cairo_ft_font_face_create_for_ft_face(opened, FT_LOAD_NO_HINTING);
    // Cairo keeps faces in caches of its own; the file closes when the last of them lets go.
    cairo_font_face_set_user_data(face, &key, opened, close_face);
    return faces_[index] = face;
  }

 private:
  std::map<int, cairo_font_face_t*> faces_;
};

// Coarse pixels made finer, some 100 to the inch; takes the surface it is given.
cairo_surface_t* enlarged(cairo_surface_t* coarse, Rect where) {
  const int width = cairo_image_surface_get_width(coarse),
            height = cairo_image_surface_get_height(coarse);
  const int times = std::min(8, static_cast<int>(std::lround(where.w * 100 / 72 / width)));
  if (times < 2) return coarse;
  cairo_surface_t* fine =
      cairo_image_surface_create(CAIRO_FORMAT_RGB24, width * times, height * times);
  cairo_t* draw = cairo_create(fine);
  cairo_scale(draw, times, times);
  cairo_set_source_surface(draw, coarse, 0, 0);
  cairo_pattern_set_filter(cairo_get_source(draw), CAIRO_FILTER_BILINEAR);
  cairo_pattern_set_extend(cairo_get_source(draw), CAIRO_EXTEND_PAD);
  cairo_paint(draw);
  cairo_destroy(draw);
  cairo_surface_destroy(coarse);
  return fine;
}

class CairoCanvas : public Canvas {
 public:
  enum class Outlet { pdf, svg, png };
  CairoCanvas(cairo_surface_t* surface, Outlet outlet)
      : cairo_(cairo_create(surface)), outlet_(outlet) {
    cairo_font_options_t* options = cairo_font_options_create();
    cairo_font_options_set_hint_style(options, CAIRO_HINT_STYLE_NONE);
    cairo_font_options_set_hint_metrics(options, CAIRO_HINT_METRICS_OFF);
    cairo_font_options_set_antialias(options, CAIRO_ANTIALIAS_GRAY);
    cairo_set_font_options(cairo_, options);
    cairo_font_options_destroy(options);
    cairo_set_line_join(cairo_, CAIRO_LINE_JOIN_ROUND);
    cairo_set_line_cap(cairo_, CAIRO_LINE_CAP_ROUND);
  }
  ~CairoCanvas() override { cairo_destroy(cairo_); }
  CairoCanvas(const CairoCanvas&) = delete;
  CairoCanvas& operator=(const CairoCanvas&) = delete;

  cairo_t* cairo() { return cairo_; }
  std::vector<std::string> figures;  // their texts, in order

  void fill(const Path& path, const Paint& paint) override {
    if (path.points.size() < 3) return;
    if (paint.color.a > 0) {
      trace(path, true);
      set(paint.color);
      cairo_fill(cairo_);
    }
    if (paint.hatch == Hatch::none || paint.hatch_color.a == 0) return;
    cairo_save(cairo_);
    trace(path, true);
    cairo_clip(cairo_);
    for (const Path& hatch : hatch_lines(paint.hatch, bounds_of(path))) trace(hatch, false);
    set(paint.hatch_color);
    cairo_set_line_width(cairo_, hatch_width(paint.hatch));
    cairo_stroke(cairo_);
    cairo_restore(cairo_);
  }

  void stroke(const Path& path, const Stroke& pen) override {
    if (path.points.size() < 2 || pen.color.a == 0) return;
    trace(path, path.closed);
    set(pen.color);
    cairo_set_line_width(cairo_, pen.width);
    const std::vector<double> dashes(pen.dashes.begin(), pen.dashes.end());
    // A round cap would fill the gaps.
    cairo_set_line_cap(cairo_, dashes.empty() ? CAIRO_LINE_CAP_ROUND : CAIRO_LINE_CAP_BUTT);
    cairo_set_dash(cairo_, dashes.data(), static_cast<int>(dashes.size()), 0);
    cairo_stroke(cairo_);
    cairo_set_dash(cairo_, nullptr, 0, 0);
  }

  void text(Point at, std::string_view utf8, const TextStyle& style) override {
    const TextLine line = lay_out(utf8, style);
    if (style.align == Align::center) at.x -= line.width / 2;
    if (style.align == Align::right) at.x -= line.width;
    set(style.color);
    cairo_set_font_size(cairo_, style.size);
    std::set<std::uint32_t> starts;
    for (const auto& glyph : line.glyphs) starts.insert(glyph.cluster);
    starts.insert(static_cast<std::uint32_t>(utf8.size()));
    // A run has one face, and its letters go on in one direction.
    for (std::size_t from = 0; from < line.glyphs.size();) {
      std::size_t to = from + 1;
      int way = 0;
      for (; to < line.glyphs.size() && line.glyphs[to].face == line.glyphs[from].face; ++to) {
        const auto before = line.glyphs[to - 1].cluster, here = line.glyphs[to].cluster;
        if (here == before) continue;
        const int step = here > before ? 1 : -1;
        const auto neighbour = step > 0 ? *starts.upper_bound(before) : *starts.upper_bound(here);
        if ((way != 0 && step != way) || neighbour != std::max(before, here)) break;
        way = step;
      }
      run(at, utf8, line, starts, from, to, way < 0);
      from = to;
    }
  }

  void image(const Image& image, Rect where) override {
    if (image.width <= 0 || image.height <= 0) return;
    const auto pixels = static_cast<std::size_t>(image.width) * image.height;
    const bool jpeg = image.encoded.size() > 3 && image.encoded[0] == 0xFF &&
                      image.encoded[1] == 0xD8 && outlet_ != Outlet::png;
    if (!jpeg && image.rgba.size() < pixels * 4) return;
    cairo_surface_t* surface =
        cairo_image_surface_create(CAIRO_FORMAT_RGB24, image.width, image.height);
    if (cairo_surface_status(surface) == CAIRO_STATUS_SUCCESS) {
      if (jpeg) {  // the file's own bytes go into the document, the surface only gives the size
        auto* copy = new std::vector<unsigned char>(image.encoded);
        cairo_surface_set_mime_data(
            surface, CAIRO_MIME_TYPE_JPEG, copy->data(), copy->size(),
            [](void* bytes) { delete static_cast<std::vector<unsigned char>*>(bytes); }, copy);
      } else {
        fill_pixels(surface, image);
        if (outlet_ == Outlet::pdf) surface = enlarged(surface, where);
      }
      const int width = cairo_image_surface_get_width(surface),
                height = cairo_image_surface_get_height(surface);
      cairo_save(cairo_);
      cairo_translate(cairo_, where.x, where.y);
      cairo_scale(cairo_, where.w / width, where.h / height);
      cairo_set_source_surface(cairo_, surface, 0, 0);
      // A document for archives leaves no smoothing to its reader (ISO 19005-2, 6.2.8).
      cairo_pattern_set_filter(cairo_get_source(cairo_),
                               outlet_ == Outlet::pdf ? CAIRO_FILTER_NEAREST : CAIRO_FILTER_GOOD);
      // Pixels need their edge repeated; a JPEG file embeds as it is only without.
      if (!jpeg) cairo_pattern_set_extend(cairo_get_source(cairo_), CAIRO_EXTEND_PAD);
      cairo_rectangle(cairo_, 0, 0, width, height);
      cairo_fill(cairo_);
      cairo_restore(cairo_);
    }
    cairo_surface_destroy(surface);
  }

  void push_clip(Rect rect) override {
    cairo_save(cairo_);
    cairo_rectangle(cairo_, rect.x, rect.y, rect.w, rect.h);
    cairo_clip(cairo_);
  }
  void pop_clip() override { cairo_restore(cairo_); }

  void begin_figure(std::string_view alternative_text) override {
    if (outlet_ != Outlet::pdf) return;
    figures.emplace_back(alternative_text);
    cairo_tag_begin(cairo_, "Figure", nullptr);
  }
  void end_figure() override {
    if (outlet_ == Outlet::pdf) cairo_tag_end(cairo_, "Figure");
  }

 private:
  void set(Color c) {
    cairo_set_source_rgba(cairo_, c.r / 255.0, c.g / 255.0, c.b / 255.0, c.a / 255.0);
  }

  void trace(const Path& path, bool closed) {
    std::vector<Point> points;
    for (const Point& p : path.points)
      if (std::isfinite(p.x) && std::isfinite(p.y)) points.push_back(p);
    bool first = true;
    for (const Point& p : points.size() > 8 ? fewer_points(points, kUnseen_pt) : points) {
      if (first) {
        cairo_move_to(cairo_, p.x, p.y);
      } else {
        cairo_line_to(cairo_, p.x, p.y);
      }
      first = false;
    }
    if (closed && !first) cairo_close_path(cairo_);
  }

  void run(Point at, std::string_view utf8, const TextLine& line,
           const std::set<std::uint32_t>& starts, std::size_t from, std::size_t to, bool backward) {
    cairo_font_face_t* face = faces_.get(line.glyphs[from].face);
    if (!face) return;
    std::vector<cairo_glyph_t> glyphs;
    std::map<std::uint32_t, int> glyphs_of;
    for (std::size_t i = from; i < to; ++i) {
      const auto& g = line.glyphs[i];
      glyphs.push_back({g.glyph, static_cast<double>(at.x) + g.x, static_cast<double>(at.y) + g.y});
      ++glyphs_of[g.cluster];
    }
    std::vector<cairo_text_cluster_t> clusters;
    const std::uint32_t first = glyphs_of.begin()->first;
    std::uint32_t end = first;
    for (const auto& [start, count] : glyphs_of) {
      end = *starts.upper_bound(start);
      clusters.push_back({static_cast<int>(end - start), count});
    }
    cairo_set_font_face(cairo_, face);
    const std::string piece(utf8.substr(first, end - first));
    cairo_show_text_glyphs(
        cairo_, piece.data(), static_cast<int>(piece.size()), glyphs.data(),
        static_cast<int>(glyphs.size()), clusters.data(), static_cast<int>(clusters.size()),
        backward ? CAIRO_TEXT_CLUSTER_FLAG_BACKWARD : static_cast<cairo_text_cluster_flags_t>(0));
  }

  static void fill_pixels(cairo_surface_t* surface, const Image& image) {
    unsigned char* data = cairo_image_surface_get_data(surface);
    const int stride = cairo_image_surface_get_stride(surface);
    for (int y = 0; y < image.height; ++y) {
      auto* row = reinterpret_cast<std::uint32_t*>(data + static_cast<std::ptrdiff_t>(y) * stride);
      const std::uint8_t* from = &image.rgba[static_cast<std::size_t>(y) * image.width * 4];
      for (int x = 0; x < image.width; ++x, from += 4) {
        row[x] = static_cast<std::uint32_t>(from[0] << 16 | from[1] << 8 | from[2]);
      }
    }
    cairo_surface_mark_dirty(surface);
  }

  cairo_t* cairo_;
  Outlet outlet_;
  CairoFaces faces_;
};

horizon::Result<void> check(cairo_status_t status) {
  if (const std::string fonts = Fonts::shared().problem(); !fonts.empty()) {
    return horizon::fail(Code::failed, "error.no_font");
  }
  if (status == CAIRO_STATUS_SUCCESS) return {};
  return horizon::fail(Code::failed, {"error.drawing_failed", {cairo_status_to_string(status)}});
}

// Cairo counts its surfaces through the life of the process, and names groups and pictures by that
// number.
void number_anew(std::string& svg, std::string_view name) {
  std::map<std::string, std::string> names;
  std::string out;
  for (std::size_t at = 0; at < svg.size();) {
    const auto next = std::min(svg.find(name, at), svg.size());
    out.append(svg, at, next - at);
    at = next;
    if (at == svg.size()) break;
    auto end = at + name.size();
    while (end < svg.size() && svg[end] >= '0' && svg[end] <= '9') ++end;
    const std::string old = svg.substr(at, end - at);
    const bool is_name = old != name && (svg[at - 1] == '"' || svg[at - 1] == '#');
    out += is_name ? names.emplace(old, std::string(name) + "-" + std::to_string(names.size()))
                         .first->second
                   : old;
    at = end;
  }
  svg = std::move(out);
}

std::string escaped(std::string_view text) {
  std::string out;
  for (char c : text) {
    if (c == '<') {
      out += "&lt;";
    } else if (c == '&') {
      out += "&amp;";
    } else if (static_cast<unsigned char>(c) >= 0x20) {
      out += c;
    }
  }
  return out;
}

// Cairo writes coordinates to a millionth of a point; a hundredth is a thirtieth of a hair.
std::string rounded(const std::string& svg) {
  std::string out;
  out.reserve(svg.size());
  for (std::size_t i = 0; i < svg.size();) {
    // Only in what are coordinates: d="...", x="...", y="...".
    const bool begins = i > 0 && svg[i - 1] == ' ' && i + 2 < svg.size() && svg[i + 1] == '=' &&
                        svg[i + 2] == '"' && (svg[i] == 'd' || svg[i] == 'x' || svg[i] == 'y');
    if (!begins) {
      out += svg[i++];
      continue;
    }
    out.append(svg, i, 3);
    for (i += 3; i < svg.size() && svg[i] != '"';) {
      const std::size_t end = std::min(svg.find_first_not_of("-.0123456789", i), svg.size());
      const auto value = survey::number_of(std::string_view(svg).substr(i, end - i));
      if (!value) {
        out += svg[i++];
        continue;
      }
      char text[32];
      const auto written = std::to_chars(text, text + sizeof text, std::round(*value * 100) / 100);
      out.append(text, written.ptr);
      i = end;
    }
  }
  return out;
}

}  // namespace

horizon::Result<std::string> svg_of(float width, float height, std::string_view title,
                                    const Drawing& drawing) {
  std::string bytes;
  cairo_surface_t* surface = cairo_svg_surface_create_for_stream(append, &bytes, width, height);
  cairo_status_t status;
  {
    CairoCanvas canvas(surface, CairoCanvas::Outlet::svg);
    drawing(canvas);
    status = cairo_status(canvas.cairo());
  }
  cairo_surface_finish(surface);
  if (status == CAIRO_STATUS_SUCCESS) status = cairo_surface_status(surface);
  cairo_surface_destroy(surface);
  if (auto ok = check(status); !ok) return tl::unexpected(ok.error());
  for (const char* name : {"surface", "image", "pattern", "clip", "mask"}) number_anew(bytes, name);
  // Cairo has no call for the picture's name (SVG 1.1, 5.4).
  if (const auto open = bytes.find("<svg"); open != std::string::npos) {
    const auto close = bytes.find('>', open);
    bytes.insert(close + 1, "\n<title>" + escaped(title) + "</title>");
  }
  return rounded(bytes);
}

horizon::Result<std::string> png_of(float width, float height, float pixels_per_unit,
                                    const Drawing& drawing) {
  std::string bytes;
  cairo_surface_t* surface = cairo_image_surface_create(
      CAIRO_FORMAT_RGB24, static_cast<int>(std::lround(width * pixels_per_unit)),
      static_cast<int>(std::lround(height * pixels_per_unit)));
  cairo_status_t status;
  {
    CairoCanvas canvas(surface, CairoCanvas::Outlet::png);
    cairo_set_source_rgb(canvas.cairo(), 1, 1, 1);
    cairo_paint(canvas.cairo());
    cairo_scale(canvas.cairo(), pixels_per_unit, pixels_per_unit);
    drawing(canvas);
    status = cairo_status(canvas.cairo());
  }
  if (status == CAIRO_STATUS_SUCCESS) {
    status = cairo_surface_write_to_png_stream(surface, append, &bytes);
  }
  cairo_surface_destroy(surface);
  if (auto ok = check(status); !ok) return tl::unexpected(ok.error());
  return bytes;
}

struct PdfDocument::Inner {
  std::string bytes;
  DocumentFacts facts;
  cairo_surface_t* surface = nullptr;
  std::unique_ptr<CairoCanvas> canvas;
  int page = 1;
  std::vector<int> parents{CAIRO_PDF_OUTLINE_ROOT};  // the last entry of each level
  std::vector<std::string> open;
};

PdfDocument::PdfDocument(const DocumentFacts& facts, float width, float height)
    : in_(std::make_unique<Inner>()) {
  in_->facts = facts;
  // Said twice, and one of the two places is XML.
  for (std::string* said :
       {&in_->facts.title, &in_->facts.author, &in_->facts.subject, &in_->facts.keywords})
    *said = survey::without_controls(*said);
  in_->surface = cairo_pdf_surface_create_for_stream(append, &in_->bytes, width, height);
  const auto set = [&](cairo_pdf_metadata_t which, const std::string& value) {
    if (!value.empty()) cairo_pdf_surface_set_metadata(in_->surface, which, value.c_str());
  };
  set(CAIRO_PDF_METADATA_TITLE, in_->facts.title);
  set(CAIRO_PDF_METADATA_AUTHOR, in_->facts.author);
  set(CAIRO_PDF_METADATA_SUBJECT, in_->facts.subject);
  set(CAIRO_PDF_METADATA_KEYWORDS, in_->facts.keywords);
  set(CAIRO_PDF_METADATA_CREATOR, "Adret");
  set(CAIRO_PDF_METADATA_CREATE_DATE, horizon::format_utc(facts.time_utc_s));
  in_->canvas = std::make_unique<CairoCanvas>(in_->surface, CairoCanvas::Outlet::pdf);
  begin_element("Document");
}

PdfDocument::~PdfDocument() {
  in_->canvas.reset();
  cairo_surface_destroy(in_->surface);
}

Canvas& PdfDocument::canvas() { return *in_->canvas; }

void PdfDocument::next_page() {
  cairo_show_page(in_->canvas->cairo());
  ++in_->page;
}

int PdfDocument::page() const { return in_->page; }

void PdfDocument::bookmark(int level, const std::string& title) {
  in_->parents.resize(
      std::min<std::size_t>(in_->parents.size(), static_cast<std::size_t>(level) + 1));
  const std::string where = "page=" + std::to_string(in_->page) + " pos=[0 0]";
  in_->parents.push_back(cairo_pdf_surface_add_outline(in_->surface, in_->parents.back(),
                                                       title.c_str(), where.c_str(),
                                                       static_cast<cairo_pdf_outline_flags_t>(0)));
}

void PdfDocument::begin_element(const char* tag) {
  cairo_tag_begin(in_->canvas->cairo(), tag, nullptr);
  in_->open.emplace_back(tag);
}

void PdfDocument::end_element() {
  cairo_tag_end(in_->canvas->cairo(), in_->open.back().c_str());
  in_->open.pop_back();
}

horizon::Result<std::string> PdfDocument::finish() {
  while (!in_->open.empty()) end_element();
  cairo_status_t status = cairo_status(in_->canvas->cairo());
  const auto figures = std::move(in_->canvas->figures);
  in_->canvas.reset();
  cairo_surface_finish(in_->surface);
  if (status == CAIRO_STATUS_SUCCESS) status = cairo_surface_status(in_->surface);
  if (auto ok = check(status); !ok) return tl::unexpected(ok.error());
  complete_pdf(in_->bytes, in_->facts, figures);
  return std::move(in_->bytes);
}

}  // namespace app
