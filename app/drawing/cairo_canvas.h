// app/drawing/cairo_canvas.h: the drawing language on paper and into files: PDF, SVG, PNG.
// Units:   points (1/72 inch); a PNG has `pixels_per_unit` of them
// Text:    real, searchable text with embedded subset fonts in PDF; outlines in SVG
// Errors:  a font that is missing, a picture that is too large
// Source:  ISO 32000-1 (tagged PDF, outline); ISO 19005-2 (PDF/A-2u); Cairo
#pragma once

#include <functional>
#include <memory>
#include <optional>
#include <string>

#include "app/drawing/canvas.h"
#include "horizon/result.h"

namespace app {

using Drawing = std::function<void(Canvas&)>;

// The same drawing gives the same bytes.
horizon::Result<std::string> svg_of(float width, float height, std::string_view title,
                                    const Drawing& drawing);
horizon::Result<std::string> png_of(float width, float height, float pixels_per_unit,
                                    const Drawing& drawing);

struct DocumentFacts {
  std::string title, author, subject, keywords;
  std::string language = "en";  // BCP 47
  double time_utc_s = 0;        // written as the time of making
};

// begin_figure's text becomes the alternative text of a Figure element.
class PdfDocument {
 public:
  PdfDocument(const DocumentFacts& facts, float width, float height);
  ~PdfDocument();

  Canvas& canvas();
  void next_page();
  int page() const;  // from 1
  // An entry of the outline that leads to this page; level 0 is the outermost.
  void bookmark(int level, const std::string& title);
  // Structure for readers of tagged PDF: "H1", "H2", "P", "Table" ...; nest and close in order.
  void begin_element(const char* tag);
  void end_element();
  horizon::Result<std::string> finish();  // the bytes; the document is closed after it

 private:
  struct Inner;
  std::unique_ptr<Inner> in_;
};

}  // namespace app
