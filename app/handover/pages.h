// app/handover/pages.h: text, tables and figures flowing down pages.
// Units: points; the cursor `y` runs down the page, new pages begin by themselves
// Without a document nothing is drawn but all is measured: the first run counts the pages and finds
// where they break and what room is left on each; the second breaks in the same places and gives
// that room to the figures that may grow. No title stays behind at the foot of a page: where what it
// names goes to the next, the break is laid before it.
#pragma once

#include <functional>
#include <optional>
#include <string>
#include <vector>

#include "app/drawing/cairo_canvas.h"
#include "app/drawing/charts/chart.h"

namespace app {

enum class Paper : unsigned char { a4, letter };
struct PaperSize {
  float width, height;
};
inline constexpr PaperSize size_of(Paper paper) {
  return paper == Paper::a4 ? PaperSize{595.276f, 841.89f} : PaperSize{612, 792};
}

struct TableColumn {
  std::string head;
  float share = 1;  // of the width, relative to the others
  Align align = Align::left;
};

// What the first run found.
struct PagePlan {
  struct Page {
    float left_over = 0;  // below the last thing
    float growth = 0;     // what the figures on it would take at most
  };
  std::vector<Page> pages;
  std::vector<bool> breaks;  // for each question whether a page is full
};

class Pages {
 public:
  struct Look {
    PaperSize paper = size_of(Paper::a4);
    ChartStyle style;
    std::string running;  // at the foot of each page
    PagePlan plan;        // of the first run; empty in that run itself
  };
  Pages(PdfDocument* document, Look look);

  const ChartStyle& style() const { return look_.style; }
  bool measuring() const { return !document_; }
  PagePlan finish_plan();  // after the first run
  int page() const { return page_; }
  float left() const { return kMargin; }
  float width() const { return look_.paper.width - 2 * kMargin; }
  float bottom() const { return look_.paper.height - kFoot; }
  float y = 0;  // where the next thing begins

  Canvas& canvas();
  void new_page();
  void need(float height);  // a new page, unless so much room is left
  bool room(float height);  // is there so much left? Answered alike in both runs
  void gap(float height) { y += height; }

  // Large, with an entry in the outline. On a page of its own, unless `keep_with` fits below.
  void section(const std::string& title, float keep_with = 1e6f);
  void heading(const std::string& title, float keep_with = 40, bool in_outline = true);
  void text(std::string_view words);
  void text(std::string_view words, const TextStyle& style, float indent = 0);
  void bullet(std::string_view words);
  void small(std::string_view words);  // explains a figure
  // Names and values in two columns of text.
  void facts(const std::vector<std::pair<std::string, std::string>>& rows);
  void table(const std::vector<TableColumn>& columns,
             const std::vector<std::vector<std::string>>& rows, float text_size = 0);
  // A box of that height over the whole width. `grows`: the part of its height that it may take
  // besides, where the page has room left.
  void figure(float height, const std::function<void(Canvas&, Rect)>& draw, float grows = 0);
  // Two boxes side by side.
  void figures(float height, const std::function<void(Canvas&, Rect)>& first,
               const std::function<void(Canvas&, Rect)>& second, float share = 0.5f,
               float grows = 0);
  // Words on a soft ground: cautions, advice.
  void note(std::string_view title, const std::vector<std::string>& lines, Color ground);
  float note_height(const std::vector<std::string>& lines) const;

  TextStyle body() const;

 private:
  static constexpr float kMargin = 42, kFoot = 46;
  void begin_page();
  void foot();
  bool full(float height);  // has the page no room for this?
  void begin_title(float before);
  float grown(float height, float grows);
  std::vector<std::string> note_rows(const std::vector<std::string>& lines) const;
  void begin_element(const char* tag);
  void end_element();
  void element(const char* tag, const std::function<void()>& draw);

  PdfDocument* document_;
  Look look_;
  PagePlan plan_;          // being made
  std::size_t asked_ = 0;  // questions answered from the plan
  // Titles, and what is said in small under them, that nothing has followed yet.
  struct Titles {
    std::size_t question = 0;   // the one asked before the first of them
    float before = 0, top = 0;  // where the page stood, and where they begin
    float end = -1;             // where the last of them ends
  };
  std::optional<Titles> titles_;
  std::vector<const char*> open_;  // elements that go on; each page has its own part of them
  int page_ = 1;
};

}  // namespace app
