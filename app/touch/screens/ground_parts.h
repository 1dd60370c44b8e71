// app/touch/screens/ground_parts.h: what the screens below the Ground stop share.
#pragma once

#include <span>

#include "app/touch/screens/screens.h"
#include "app/words/form_words.h"
#include "app/words/ground_facts.h"

namespace app {

// Worked out again when the book has changed.
const survey::GroundFindings& ground_of(TouchApp& app);
void facts(Column& rows, const FactGroup& group, bool with_cautions = true);
// A number with its unit; under it what is wrong, or what is plausible while it is empty. True when
// `value` changed: cleared or typed soundly.
bool number_field(TouchApp& app, Column& rows, std::string_view words, Measure measure, double low,
                  double high, std::string& text, std::optional<double>& value);
// Where a wind comes from, by a touch on one of 16 sides; in the middle, that it is not known. True
// when `chosen` (-1: not known) changed.
bool wind_rose(TouchApp& app, Column& rows, std::string_view words,
               std::span<const std::string> names, int& chosen);
// A row of the Ground list: a ring, a name and its state in words; `part` is 0 to 1.
bool state_row(TouchApp& app, Column& rows, std::string_view name, std::string_view state,
               double part);
// In full until it was read; then one line that opens it again.
void caution_once(TouchApp& app, Column& rows, std::string_view key);
bool say_if_failed(TouchApp& app, const tl::expected<survey::Id, horizon::Error>& put);
// The newest note of the topic, or an empty one.
survey::SiteNote note_of(TouchApp& app, survey::Topic topic);

}  // namespace app
