#include "app/handover/visit_sheet.h"

#include <algorithm>

#include "app/drawing/shapes.h"
#include "app/drawing/text_layout.h"
#include "app/drawing/theme.h"
#include "app/words/quantity.h"
#include "app/words/words.h"

namespace app {
namespace {

constexpr float kMargin = 36;

// Minutes in a visit of 20, 45, 90, 180; 0: not in it.
struct Row {
  const char* key;
  int minutes[4];
  std::optional<HowTo> act;
};
constexpr Row kRows[] = {
    {"look", {2, 2, 3, 5}, {}},
    {"position", {2, 3, 3, 3}, HowTo::stand},
    {"checks", {4, 4, 5, 6}, HowTo::plumb},
    {"skyline", {8, 12, 12, 15}, HowTo::phone},
    {"photos", {2, 3, 3, 4}, {}},
    {"slope", {0, 3, 3, 3}, HowTo::tape},
    {"forms", {0, 8, 8, 10}, {}},
    {"asked", {0, 5, 7, 10}, {}},
    {"second", {0, 0, 12, 12}, HowTo::stand},
    {"pit", {0, 0, 25, 30}, HowTo::pit},
    {"seepage", {0, 0, 0, 45}, {}},
    {"contact", {0, 0, 0, 20}, HowTo::shadow},
    {"handover", {2, 3, 5, 8}, {}},
};
struct Thing {
  const char* key;
  int from_min;
};
constexpr Thing kThings[] = {
    {"phone", 20}, {"compass", 20}, {"paper", 20}, {"clothes", 20}, {"company", 20}, {"string", 20},
    {"tape", 45},  {"board", 45},   {"spade", 90}, {"bags", 90},    {"water", 180},  {"ruler", 180},
};

int tier(int minutes) {
  int best = 0;
  for (int i = 0; i < 4; ++i)
    if (kVisitTimes_min[i] <= minutes) best = i;
  return best;
}

void page(Canvas& canvas, int minutes, PaperSize paper) {
  const Color ink = kPrint.ink, quiet = kPrint.quiet;
  const TextStyle title{20, ink, Weight::semibold}, body{9.5f, quiet},
      strong{11, ink, Weight::semibold};
  const float width = paper.width - 2 * kMargin, gap = 18, left = width * 0.66f;
  float y = kMargin + 18;
  canvas.text({kMargin, y}, tr("visit.title", {number(minutes)}), title);
  y = paragraph(canvas, {kMargin, y + 4}, width, tr("visit.first"), strong) + 8;
  const float top = y;
  for (const auto& step : visit_plan(minutes)) {
    const Rect box{kMargin + 1, y + 5, 11, 11};
    canvas.stroke(rectangle(box), {ink, 1});
    const float picture = step.act ? 46.f : 0, x = kMargin + 20;
    canvas.text({x, y + 14},
                tr("visit." + step.key) + " · " + number(step.minutes) + " " + tr("unit.min"),
                strong);
    const float end =
        paragraph(canvas, {x, y + 15}, left - 24 - picture, tr("visit." + step.key + ".how"), body);
    if (step.act) draw_act(canvas, {kMargin + left - 44, y + 2, 44, 44}, *step.act, kPrint);
    y = std::max(end, y + (step.act ? 46.f : 22.f)) + 5;
  }
  float by = top;
  const float x = kMargin + left + gap, room = width - left - gap;
  canvas.text({x, by + 14}, tr("bring.title"), strong);
  by += 20;
  for (const auto& key : visit_kit(minutes)) {
    canvas.stroke(rectangle({x + 1, by + 4, 9, 9}), {ink, 1});
    by = paragraph(canvas, {x + 17, by}, room - 17, tr("bring." + key), body) + 5;
  }
  paragraph(canvas, {kMargin, paper.height - kMargin - 30}, width, tr("visit.caution"), body);
}

}  // namespace

std::vector<VisitStep> visit_plan(int minutes) {
  std::vector<VisitStep> steps;
  for (const Row& row : kRows)
    if (const int needs = row.minutes[tier(minutes)]; needs > 0)
      steps.push_back({row.key, needs, row.act});
  return steps;
}

std::vector<std::string> visit_kit(int minutes) {
  std::vector<std::string> keys;
  for (const Thing& thing : kThings)
    if (thing.from_min <= kVisitTimes_min[tier(minutes)]) keys.emplace_back(thing.key);
  return keys;
}

horizon::Result<std::string> visit_sheet(int minutes, const std::string& language, Paper paper) {
  const InLanguage in(language);
  const PaperSize size = size_of(paper);
  DocumentFacts facts;
  facts.title = tr("visit.title", {number(minutes)});
  facts.language = language;
  PdfDocument document(facts, size.width, size.height);
  document.begin_element("P");
  page(document.canvas(), minutes, size);
  document.end_element();
  return document.finish();
}

}  // namespace app
