#include "app/drawing/svg_file.h"

#include <cmath>
#include <cstdio>

#include "app/drawing/shapes.h"

namespace app {
namespace {

constexpr double kMm = 25.4 / 72;

std::string mm(double points, int decimals = 3) {
  char text[40];
  std::snprintf(text, sizeof text, "%.*f", decimals, points * kMm);
  return text;
}
std::string xml(std::string_view text) {
  std::string out;
  for (const char c : text) {
    if (c == '&')
      out += "&amp;";
    else if (c == '<')
      out += "&lt;";
    else if (c == '>')
      out += "&gt;";
    else if (c == '"')
      out += "&quot;";
    else if (static_cast<unsigned char>(c) >= 0x20)
      out += c;
  }
  return out;
}
std::string colour(const char* what, Color color) {
  char text[96];
  std::snprintf(text, sizeof text, " %s=\"#%02x%02x%02x\"", what, color.r, color.g, color.b);
  std::string out = text;
  if (color.a < 255) {
    std::snprintf(text, sizeof text, " %s-opacity=\"%.3f\"", what, color.a / 255.0);
    out += text;
  }
  return out;
}

class SvgFile : public Canvas {
 public:
  void fill(const Path& path, const Paint& paint) override {
    if (path.points.size() < 3) return;
    out_ += "<path d=\"" + data(path, true) + "\"" + colour("fill", paint.color) + "/>\n";
    if (paint.hatch == Hatch::none) return;
    begin_clip("<path d=\"" + data(path, true) + "\"/>");
    for (const Path& line : hatch_lines(paint.hatch, bounds_of(path)))
      stroke(line, {paint.hatch_color, hatch_width(paint.hatch), {}});
    out_ += "</g>\n";
  }
  void stroke(const Path& path, const Stroke& pen) override {
    if (path.points.size() < 2) return;
    out_ += "<path d=\"" + data(path, path.closed) + "\" fill=\"none\"" +
            colour("stroke", pen.color) + " stroke-width=\"" + mm(pen.width) + "\"";
    if (!pen.dashes.empty()) {
      out_ += " stroke-dasharray=\"";
      for (std::size_t i = 0; i < pen.dashes.size(); ++i)
        out_ += (i ? " " : "") + mm(pen.dashes[i]);
      out_ += "\"";
    }
    out_ += "/>\n";
  }
  void text(Point at, std::string_view utf8, const TextStyle& style) override {
    constexpr const char* kAnchors[] = {"start", "middle", "end"};
    out_ += "<text x=\"" + mm(at.x) + "\" y=\"" + mm(at.y) + "\" font-size=\"" + mm(style.size) +
            "\"" + (style.weight == Weight::semibold ? " font-weight=\"600\"" : "") +
            " text-anchor=\"" + kAnchors[static_cast<int>(style.align)] + "\"" +
            colour("fill", style.color) + ">" + xml(utf8) + "</text>\n";
  }
  void image(const Image&, Rect) override {}  // a plan has none
  void push_clip(Rect rect) override {
    begin_clip("<rect x=\"" + mm(rect.x) + "\" y=\"" + mm(rect.y) + "\" width=\"" + mm(rect.w) +
               "\" height=\"" + mm(rect.h) + "\"/>");
  }
  void pop_clip() override { out_ += "</g>\n"; }
  void begin_figure(std::string_view words) override {
    out_ += "<g role=\"img\"><title>" + xml(words) + "</title>\n";
  }
  void end_figure() override { out_ += "</g>\n"; }
  void begin_layer(std::string_view name) override { out_ += "<g id=\"" + xml(name) + "\">\n"; }
  void end_layer() override { out_ += "</g>\n"; }

  std::string take() { return std::move(out_); }

 private:
  static std::string data(const Path& path, bool closed) {
    std::string out;
    for (std::size_t i = 0; i < path.points.size(); ++i)
      out += (i ? "L" : "M") + mm(path.points[i].x) + " " + mm(path.points[i].y);
    return out + (closed ? "Z" : "");
  }
  void begin_clip(const std::string& shape) {
    const std::string name = "clip" + std::to_string(++clips_);
    out_ += "<clipPath id=\"" + name + "\">" + shape + "</clipPath>\n<g clip-path=\"url(#" + name +
            ")\">\n";
  }
  std::string out_;
  int clips_ = 0;
};

}  // namespace

std::string svg_in_mm(float width, float height, std::string_view title,
                      const std::function<void(Canvas&)>& drawing) {
  SvgFile file;
  drawing(file);
  return "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n<svg xmlns=\"http://www.w3.org/2000/svg\" "
         "width=\"" +
         mm(width) + "mm\" height=\"" + mm(height) + "mm\" viewBox=\"0 0 " + mm(width) + " " +
         mm(height) + "\" font-family=\"Inter, 'Noto Sans', sans-serif\">\n<title>" + xml(title) +
         "</title>\n" + file.take() + "</svg>\n";
}

}  // namespace app
