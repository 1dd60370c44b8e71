// app/drawing/charts/chart.h: what all charts share: how they look, their axes and legends. A chart is one
// function that draws values into a rectangle; it keeps nothing and asks for nothing. Each tells
// those who cannot see it what it shows (Canvas::begin_figure). Units: those of the canvas.
#pragma once

#include <algorithm>
#include <functional>
#include <span>
#include <string>
#include <vector>

#include "app/drawing/canvas.h"
#include "app/drawing/theme.h"
#include "app/words/quantity.h"

namespace app {

struct ChartStyle {
  const Theme* theme = &kPrint;
  float text = 8;   // size of the small words; all else follows from it
  float least = 0;  // no word is smaller: 7 on paper
  Units units = Units::metric;

  TextStyle words(Align align = Align::left, Weight weight = Weight::regular) const {
    return {text, theme->ink, weight, align};
  }
  TextStyle quiet(Align align = Align::left) const {
    return {text, theme->quiet, Weight::regular, align};
  }
  float part(float share) const { return std::max(text * share, least); }
  float line() const { return text * 1.35f; }
  float hair() const { return text * 0.07f; }  // width of grid lines
};

// Straight scale from values to the canvas.
struct Scale {
  double from = 0, to = 1;  // values
  float at_from = 0, at_to = 1;
  float operator()(double value) const {
    return at_from + static_cast<float>((value - from) / (to - from)) * (at_to - at_from);
  }
};

// A step of 1, 2 or 5 times a power of ten that gives at most `most` steps over the span.
double step_for(double span, int most);

struct LegendEntry {
  Paint paint;
  std::string words;
};
// Swatches and words in rows from the left; returns the height it takes. Draws nothing on a null
// canvas, to measure.
float legend(Canvas* canvas, Rect where, std::span<const LegendEntry> entries,
             const ChartStyle& style);

// The twelve months along the bottom: `days` is 365 or 366; lines at their beginnings.
void month_axis(Canvas& canvas, Rect plot, int year, const ChartStyle& style, bool lines = true);
Scale day_scale(Rect plot, int year);  // from day of the year (1 = start of 1 January) to x

// Values joined between grid points where the surface passes `level` (marching squares).
// `at(column, row)` gives the values; the points are in columns and rows.
std::vector<Path> contour(int columns, int rows, const std::function<double(int, int)>& at,
                          double level);

}  // namespace app
