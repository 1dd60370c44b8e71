// app/words/form_words.h: the forms of the ground stop in the reader's words and units.
// Units:  kept in SI; typed and shown metric or imperial
// Errors: bad_input says the plausible range in the reader's unit
// Source: exact conversion factors of NIST SP 811, appendix B
#pragma once

#include <string>
#include <string_view>

#include "app/words/quantity.h"
#include "survey/book/forms.h"

namespace app {

using survey::Measure;

std::string unit_of(Measure measure, Units units);  // "cm", "in"; empty for `none`
double shown(Measure measure, double si, Units units);
double stored(Measure measure, double shown, Units units);
std::string shown_text(Measure measure, double si, Units units);  // "1.20 m", for facts
std::string range_words(Measure measure, double low, double high, Units units);  // "0 to 20 m"

// A number as typed, in the reader's units, to SI.
horizon::Result<double> typed(Measure measure, double low, double high, std::string_view text,
                              Units units);
// What the field shows for a stored number: as short as gives the same number when it is typed.
std::string typed_again(Measure, double si, Units);

std::string field_words(std::string_view key);  // without unit
std::string answer_words(const survey::FormField& field, const survey::Kept& kept, Units units);

}  // namespace app
