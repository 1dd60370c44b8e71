#include "app/handover/pages.h"

#include <algorithm>

#include "app/drawing/shapes.h"
#include "app/drawing/text_layout.h"
#include "app/words/words.h"

namespace app {
namespace {

class Nowhere : public Canvas {
 public:
  void fill(const Path&, const Paint&) override {}
  void stroke(const Path&, const Stroke&) override {}
  void text(Point, std::string_view, const TextStyle&) override {}
  void image(const Image&, Rect) override {}
  void push_clip(Rect) override {}
  void pop_clip() override {}
};

constexpr float kBody = 9, kLine = 1.38f, kNoteInset = 10;

}  // namespace

Pages::Pages(PdfDocument* document, Look look) : document_(document), look_(std::move(look)) {
  begin_page();
}

Canvas& Pages::canvas() {
  static Nowhere nowhere;
  return document_ ? document_->canvas() : nowhere;
}

TextStyle Pages::body() const { return {kBody, look_.style.theme->ink}; }

void Pages::begin_element(const char* tag) {
  open_.push_back(tag);
  if (document_) document_->begin_element(tag);
}

void Pages::end_element() {
  open_.pop_back();
  if (document_) document_->end_element();
}

void Pages::element(const char* tag, const std::function<void()>& draw) {
  begin_element(tag);
  draw();
  end_element();
}

void Pages::begin_page() {
  y = kMargin;
  plan_.pages.emplace_back();
  foot();
}

void Pages::foot() {
  const Theme& theme = *look_.style.theme;
  const float base = look_.paper.height - 24;
  TextStyle words{7.5f, theme.quiet};
  canvas().stroke(line({left(), base - 12}, {left() + width(), base - 12}), {theme.rule, 0.5f});
  const std::string number =
      tr("report.page", {std::to_string(page_), std::to_string(look_.plan.pages.size())});
  const float room = width() - text_width(number, words) - 20;
  canvas().text({left(), base}, shortened(look_.running, words, room), words);
  words.align = Align::right;
  canvas().text({left() + width(), base}, number, words);
}

PagePlan Pages::finish_plan() {
  plan_.pages.back().left_over = bottom() - y;
  return std::move(plan_);
}

bool Pages::full(float height) {
  if (asked_ < look_.plan.breaks.size()) return look_.plan.breaks[asked_++];
  bool answer = y + height > bottom() && y > kMargin + 1;
  if (answer && titles_ && titles_->end == y && titles_->before > kMargin + 1) {
    const Titles titles = *titles_;
    plan_.breaks[titles.question] = true;
    y = titles.before;
    new_page();
    y += titles.end - titles.top;
    titles_ = Titles{titles.question, kMargin, kMargin, y};
    answer = y + height > bottom();
  }
  plan_.breaks.push_back(answer);
  return answer;
}

bool Pages::room(float height) {
  if (asked_ < look_.plan.breaks.size()) return look_.plan.breaks[asked_++];
  plan_.breaks.push_back(y + height <= bottom());
  return plan_.breaks.back();
}

// After the question whether it fits; `before` is where the page stood then.
void Pages::begin_title(float before) {
  if (!look_.plan.breaks.empty() || (titles_ && titles_->end == before)) return;
  titles_ = Titles{plan_.breaks.empty() ? 0 : plan_.breaks.size() - 1, before, y, y};
}

float Pages::grown(float height, float grows) {
  plan_.pages.back().growth += height * grows;
  const auto index = static_cast<std::size_t>(page_ - 1);
  if (index >= look_.plan.pages.size() || grows <= 0) return height;
  const auto& page = look_.plan.pages[index];
  return height * (1 + grows * std::clamp(page.left_over / page.growth, 0.f, 1.f));
}

void Pages::new_page() {
  plan_.pages.back().left_over = bottom() - y;
  // Marked content may not run over the end of a page (ISO 32000-1, 14.6).
  const auto open = open_;
  while (!open_.empty()) end_element();
  if (document_) document_->next_page();
  ++page_;
  begin_page();
  for (const char* tag : open) begin_element(tag);
}

void Pages::need(float height) {
  if (full(height)) new_page();
}

void Pages::section(const std::string& title, float keep_with) {
  if (y > kMargin + 1) need(50 + keep_with);
  const float before = y;
  if (y > kMargin + 1) y += 20;
  begin_title(before);
  if (document_) document_->bookmark(0, title);
  const TextStyle style{19, look_.style.theme->ink, Weight::semibold};
  const auto rows = wrapped(title, style, width() - 12);
  const float height = static_cast<float>(rows.size()) * 24;
  canvas().fill(rectangle({left(), y + 2, 4, height - 5}), {look_.style.theme->amber});
  element("H1", [&] {
    for (const auto& row : rows) {
      canvas().text({left() + 12, y + 18}, row, style);
      y += 24;
    }
  });
  y += 8;
  if (titles_) titles_->end = y;
}

void Pages::heading(const std::string& title, float keep_with, bool in_outline) {
  need(30 + keep_with);
  begin_title(y);
  if (document_ && in_outline) document_->bookmark(1, title);
  y += 8;
  const TextStyle style{11.5f, look_.style.theme->ink, Weight::semibold};
  element("H2", [&] {
    for (const auto& row : wrapped(title, style, width())) {
      canvas().text({left(), y + 11}, row, style);
      y += 15;
    }
  });
  y += 5;
  if (titles_) titles_->end = y;
}

void Pages::text(std::string_view words) { text(words, body()); }

void Pages::text(std::string_view words, const TextStyle& style, float indent) {
  element("P", [&] {
    const auto rows = wrapped(words, style, width() - indent);
    for (std::size_t i = 0; i < rows.size(); ++i) {
      const auto& row = rows[i];
      // No line of a paragraph is alone on its page; a short one stays whole.
      const std::size_t together = i > 0 && i + 2 != rows.size() ? 1
                                   : rows.size() < 4             ? rows.size() - i
                                                                 : 2;
      need(static_cast<float>(together) * style.size * kLine);
      TextStyle row_style = style;
      float x = left() + indent;
      if (right_to_left(row)) {
        row_style.align = Align::right;
        x = left() + width();
      }
      canvas().text({x, y + style.size}, row, row_style);
      y += style.size * kLine;
    }
  });
  y += style.size * 0.35f;
}

void Pages::bullet(std::string_view words) {
  need(kBody * kLine);
  canvas().fill(circle({left() + 4, y + kBody * 0.68f}, 1.5f), {look_.style.theme->amber_deep});
  text(words, body(), 12);
}

void Pages::small(std::string_view words) {
  const bool under_title = titles_ && titles_->end == y;
  text(words, {8, look_.style.theme->quiet});
  y += 3;
  if (under_title) titles_->end = y;
}

void Pages::facts(const std::vector<std::pair<std::string, std::string>>& rows) {
  const float names = width() * 0.27f;
  TextStyle quiet = body();
  quiet.color = look_.style.theme->quiet;
  const auto said = [](const auto& row) { return !row.second.empty(); };
  auto to_come = std::count_if(rows.begin(), rows.end(), said);
  for (const auto& [name, value] : rows) {
    if (value.empty()) continue;
    if (to_come-- == 2) need(2 * kBody * kLine + 2.5f);  // the last one is not left alone
    const auto left_rows = wrapped(name, quiet, names - 8);
    const auto right_rows = wrapped(value, body(), width() - names);
    const std::size_t lines = std::max(left_rows.size(), right_rows.size());
    const float height = kBody * kLine;
    element("P", [&] {
      for (std::size_t i = 0; i < lines; ++i) {
        need(height);
        if (i < left_rows.size()) canvas().text({left(), y + kBody}, left_rows[i], quiet);
        if (i < right_rows.size()) {
          TextStyle style = body();
          const bool backward = right_to_left(right_rows[i]);
          style.align = backward ? Align::right : Align::left;
          canvas().text({backward ? left() + width() : left() + names, y + kBody}, right_rows[i],
                        style);
        }
        y += height;
      }
    });
    y += 2.5f;
  }
  y += 4;
}

namespace {

struct Columns {
  std::vector<TableColumn> columns;
  std::vector<std::vector<std::string>> rows;
};

// A column without anything in it is left out.
Columns filled(const std::vector<TableColumn>& columns,
               const std::vector<std::vector<std::string>>& rows) {
  Columns out;
  out.rows.resize(rows.size());
  for (std::size_t c = 0; c < columns.size(); ++c) {
    const auto has = [c](const auto& row) { return c < row.size() && !row[c].empty(); };
    if (!std::any_of(rows.begin(), rows.end(), has)) continue;
    out.columns.push_back(columns[c]);
    for (std::size_t r = 0; r < rows.size(); ++r)
      out.rows[r].push_back(c < rows[r].size() ? rows[r][c] : std::string());
  }
  return out;
}

}  // namespace

void Pages::table(const std::vector<TableColumn>& all_columns,
                  const std::vector<std::vector<std::string>>& all_rows, float text_size) {
  const auto [columns, rows] = filled(all_columns, all_rows);
  if (columns.empty()) return;
  const float size = text_size > 0 ? text_size : 8;
  const Theme& theme = *look_.style.theme;
  float shares = 0;
  for (const auto& column : columns) shares += column.share;
  std::vector<float> x{left()};
  for (const auto& column : columns) x.push_back(x.back() + width() * column.share / shares);
  const float pad = 3;
  const auto draw_row = [&](const std::vector<std::string>& cells, const TextStyle& style) {
    std::vector<std::vector<std::string>> lines;
    std::size_t most = 1;
    for (std::size_t c = 0; c < columns.size(); ++c) {
      const std::string& cell = c < cells.size() ? cells[c] : std::string();
      lines.push_back(wrapped(cell, style, x[c + 1] - x[c] - 2 * pad));
      most = std::max(most, lines.back().size());
    }
    // A row that is taller than a page would never fit: it is cut to one.
    most = std::min<std::size_t>(most, 40);
    const float height = static_cast<float>(most) * size * 1.3f + 4;
    // Drawn later, when this row's page is known: it keeps its own lines.
    const auto put = [&, lines, most] {
      for (std::size_t c = 0; c < columns.size(); ++c) {
        float base = y + size + 1;
        for (std::size_t i = 0; i < std::min(lines[c].size(), most); ++i) {
          TextStyle cell_style = style;
          cell_style.align = columns[c].align;
          if (right_to_left(lines[c][i])) cell_style.align = Align::right;
          const float at = cell_style.align == Align::right    ? x[c + 1] - pad
                           : cell_style.align == Align::center ? (x[c] + x[c + 1]) / 2
                                                               : x[c] + pad;
          canvas().text({at, base}, lines[c][i], cell_style);
          base += size * 1.3f;
        }
      }
    };
    return std::pair<float, std::function<void()>>(height, put);
  };
  std::vector<std::string> heads;
  for (const auto& column : columns) heads.push_back(column.head);
  const TextStyle head_style{std::max(7.f, size * 0.92f), theme.quiet};
  const TextStyle cell_style{size, theme.ink};
  const auto draw_head = [&] {
    const auto [height, put] = draw_row(heads, head_style);
    put();
    y += height;
    canvas().stroke(line({left(), y}, {left() + width(), y}), {theme.ink, 0.7f});
    y += 1.5f;
  };
  const bool headed = std::any_of(heads.begin(), heads.end(),
                                  [](const std::string& head) { return !head.empty(); });
  // A short table stays whole; of another no row is alone with the head.
  float together = headed ? draw_row(heads, head_style).first + 1.5f : 0;
  for (std::size_t r = 0; r < rows.size() && (r < 2 || (rows.size() < 6 && together < 90)); ++r)
    together += draw_row(rows[r], cell_style).first;
  need(together);
  begin_element("Table");
  if (headed) draw_head();
  for (const auto& cells : rows) {
    const auto [height, put] = draw_row(cells, cell_style);
    if (full(height)) {
      new_page();
      if (headed) draw_head();
    }
    put();
    y += height;
    canvas().stroke(line({left(), y}, {left() + width(), y}), {theme.rule, 0.4f});
  }
  end_element();
  y += 8;
}

void Pages::figure(float height, const std::function<void(Canvas&, Rect)>& draw, float grows) {
  need(height);
  height = grown(height, grows);
  draw(canvas(), {left(), y, width(), height});
  y += height + 6;
}

void Pages::figures(float height, const std::function<void(Canvas&, Rect)>& first,
                    const std::function<void(Canvas&, Rect)>& second, float share, float grows) {
  need(height);
  height = grown(height, grows);
  constexpr float kBetween = 16;
  const float split = (width() - kBetween) * share;
  first(canvas(), {left(), y, split, height});
  second(canvas(), {left() + split + kBetween, y, width() - kBetween - split, height});
  y += height + 6;
}

// The rows of a note; the first of each point begins with a mark.
std::vector<std::string> Pages::note_rows(const std::vector<std::string>& lines) const {
  std::vector<std::string> rows;
  for (const auto& words : lines) {
    bool first = true;
    for (const auto& row : wrapped(words, body(), width() - 2 * kNoteInset - 8)) {
      rows.push_back((first ? "\x01" : "") + row);
      first = false;
    }
  }
  return rows;
}

float Pages::note_height(const std::vector<std::string>& lines) const {
  return 14 + 2 * kNoteInset + static_cast<float>(note_rows(lines).size()) * kBody * kLine;
}

void Pages::note(std::string_view title, const std::vector<std::string>& lines, Color ground) {
  const float inset = kNoteInset;
  const TextStyle head{kBody, look_.style.theme->ink, Weight::semibold};
  const auto rows = note_rows(lines);
  const float height = note_height(lines);
  // Longer than a page is flowing text instead.
  if (height > bottom() - kMargin) {
    heading(std::string(title));
    for (const auto& words : lines) bullet(words);
    return;
  }
  need(height);
  canvas().fill(rounded({left(), y, width(), height}, 6), {ground});
  element("P", [&] {
    float base = y + inset + kBody;
    canvas().text({left() + inset, base}, title, head);
    base += 14;
    for (const auto& row : rows) {
      const bool first = row[0] == '\x01';
      if (first) {
        canvas().fill(circle({left() + inset + 2, base - kBody * 0.32f}, 1.4f),
                      {look_.style.theme->ink});
      }
      canvas().text({left() + inset + 8, base}, std::string_view(row).substr(first ? 1 : 0),
                    body());
      base += kBody * kLine;
    }
  });
  y += height + 8;
}

}  // namespace app
