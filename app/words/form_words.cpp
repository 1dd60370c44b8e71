#include "app/words/form_words.h"

#include <algorithm>
#include <cmath>

#include "app/words/words.h"
#include "survey/book/text.h"

namespace app {
namespace {

struct Scale {
  const char* word;
  double factor = 1, offset = 0;
  int decimals = 1;
};
constexpr double kFoot = 0.3048, kInch = 0.0254;
// Metric, imperial. The imperial offset is added after the factor.
constexpr Scale kScales[survey::kMeasureCount][2] = {
    {{"", 1, 0, 2}, {"", 1, 0, 2}},
    {{"%", 1, 0, 0}, {"%", 1, 0, 0}},
    {{"m", 1, 0, 1}, {"ft", 1 / kFoot, 0, 0}},
    {{"cm", 100, 0, 0}, {"in", 1 / kInch, 0, 0}},
    {{"°C", 1, 0, 1}, {"°F", 1.8, 32, 0}},
    {{"°C·d", 1, 0, 0}, {"°F·d", 1.8, 0, 0}},
    {{"d", 1, 0, 0}, {"d", 1, 0, 0}},
    {{"h", 1, 0, 1}, {"h", 1, 0, 1}},
    {{"m/s", 1, 0, 1}, {"mph", 1 / 0.44704, 0, 0}},
    {{"kN/m²", 1, 0, 2}, {"lb/ft²", 1 / 0.04788026, 0, 0}},
    {{"l/min", 1, 0, 1}, {"gal/min", 1 / 3.785411784, 0, 1}},
    {{"kW", 1, 0, 1}, {"kW", 1, 0, 1}},
    {{"mm", 1, 0, 0}, {"in", 1 / (1000 * kInch), 0, 2}},
    {{"", 1, 0, 1}, {"", 1, 0, 1}},
};
const Scale& scale(Measure measure, Units units) {
  return kScales[static_cast<int>(measure)][units == Units::imperial];
}

}  // namespace

std::string unit_of(Measure measure, Units units) { return scale(measure, units).word; }

double shown(Measure measure, double si, Units units) {
  const Scale& s = scale(measure, units);
  return si * s.factor + s.offset;
}

double stored(Measure measure, double value, Units units) {
  const Scale& s = scale(measure, units);
  return (value - s.offset) / s.factor;
}

std::string shown_text(Measure measure, double si, Units units) {
  const std::string unit = unit_of(measure, units);
  const std::string value = number(shown(measure, si, units), scale(measure, units).decimals);
  return unit.empty() ? value : value + "\u00A0" + unit;
}

std::string range_words(Measure measure, double low, double high, Units units) {
  const int decimals = scale(measure, units).decimals;
  const double a = shown(measure, low, units), b = shown(measure, high, units);
  const std::string unit = unit_of(measure, units);
  return tr("ground.range",
            {number(a, a == std::round(a) ? 0 : decimals),
             number(b, b == std::round(b) ? 0 : decimals) + (unit.empty() ? "" : "\u00A0" + unit)});
}

horizon::Result<double> typed(Measure measure, double low, double high, std::string_view text,
                              Units units) {
  const auto value = survey::number_of(text);
  const std::string range = range_words(measure, low, high, units);
  if (!value)
    return horizon::fail(horizon::Code::bad_input,
                         {"ground.no_number", {std::string(text), range}});
  const double si = stored(measure, *value, units);
  // A limit typed in the other units is rounded.
  const double slack = 1e-4 * std::max(1.0, std::abs(high));
  if (!(si >= low - slack && si <= high + slack))
    return horizon::fail(horizon::Code::bad_input,
                         {"ground.not_plausible", {std::string(text), range}});
  return std::clamp(si, low, high);
}

std::string typed_again(Measure measure, double si, Units units) {
  return survey::fewest_decimals(shown(measure, si, units), [&](double read) {
    return std::abs(stored(measure, read, units) - si) <= 1e-10 * std::max(1.0, std::abs(si));
  });
}

std::string field_words(std::string_view key) {
  const std::string words = "field." + std::string(key);
  return has_words(words) ? tr(words) : std::string(key);
}

std::string answer_words(const survey::FormField& field, const survey::Kept& kept, Units units) {
  if (field.answer == survey::Answer::number) {
    const auto value = kept.number();
    return value ? shown_text(field.measure, *value, units) : kept.text();
  }
  return field.answer == survey::Answer::words ? kept.text() : tr_of("choice", kept.text());
}

}  // namespace app
