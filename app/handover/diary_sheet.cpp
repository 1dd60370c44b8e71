#include "app/handover/diary_sheet.h"

#include <algorithm>

#include "app/drawing/shapes.h"
#include "app/drawing/text_layout.h"
#include "app/drawing/theme.h"
#include "app/words/quantity.h"
#include "app/words/words.h"

namespace app {
namespace {

constexpr float kMargin = 36;

void page(Canvas& canvas, const DiarySheet& sheet, horizon::Date first, PaperSize paper) {
  const Color ink = kDaylight.ink, quiet = kDaylight.quiet;
  const TextStyle title{20, ink, Weight::semibold}, body{11, ink},
      strong{11, ink, Weight::semibold}, small{9, quiet};
  const float width = paper.width - 2 * kMargin;
  float y = kMargin + 18;
  canvas.text({kMargin, y}, tr("diary.sheet_title", {sheet.site, sheet.station}), title);
  y = paragraph(canvas, {kMargin, y + 4}, width, tr("diary.sheet_how"), body);
  y = paragraph(canvas, {kMargin, y + 3}, width, tr("contacts.caution"), strong);
  if (!sheet.watch.empty()) y = paragraph(canvas, {kMargin, y + 3}, width, sheet.watch, body);
  y += 10;
  const float shares[] = {0.19f, 0.19f, 0.19f, 0.25f, 0.18f};
  const std::string heads[] = {tr("diary.date"), tr("diary.came"), tr("diary.went"),
                               tr("diary.sky"), tr("diary.by")};
  const float head = 20, bottom = paper.height - kMargin - 14;
  const float row = (bottom - y - head) / 14;
  float x = kMargin;
  for (int c = 0; c < 5; ++c) {
    canvas.text({x + 4, y + 14}, heads[c], strong);
    x += shares[c] * width;
  }
  y += head;
  for (int day = 0; day < 14; ++day) {
    const horizon::Date date{std::chrono::sys_days{first} + std::chrono::days{day}};
    x = kMargin;
    for (int c = 0; c < 5; ++c) {
      const Rect box{x, y, shares[c] * width, row};
      canvas.stroke(rectangle(box), {ink, 0.8f});
      if (c == 0)
        canvas.text({x + 5, y + row / 2 + 4},
                    std::to_string(unsigned(date.day())) + ". " +
                        month_name(static_cast<int>(unsigned(date.month()))),
                    {12, ink, Weight::semibold});
      if (c == 1 || c == 2)
        canvas.text({x + box.w / 2, y + row - 6}, tr("diary.clock_boxes"),
                    {9, quiet, Weight::regular, Align::center});
      if (c == 3) canvas.text({x + 4, y + row - 6}, tr("diary.sky_boxes"), small);
      x += box.w;
    }
    y += row;
  }
  canvas.text({kMargin, paper.height - kMargin + 2}, tr("diary.sheet_foot"), small);
}

}  // namespace

horizon::Result<std::string> diary_sheet(const DiarySheet& sheet) {
  if (!sheet.first.ok() || sheet.fortnights < 1 || sheet.fortnights > 26)
    return horizon::fail(horizon::Code::bad_input, "error.diary_sheet_range");
  const InLanguage in(sheet.language);
  const PaperSize paper = size_of(sheet.paper);
  DocumentFacts facts;
  facts.title = tr("diary.sheet_title", {sheet.site, sheet.station});
  facts.language = sheet.language;
  PdfDocument document(facts, paper.width, paper.height);
  for (int i = 0; i < sheet.fortnights; ++i) {
    if (i > 0) document.next_page();
    document.begin_element("P");
    page(document.canvas(), sheet,
         horizon::Date{std::chrono::sys_days{sheet.first} + std::chrono::days{14 * i}}, paper);
    document.end_element();
  }
  return document.finish();
}

}  // namespace app
