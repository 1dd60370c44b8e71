// app/ground/forms.h: the forms of the ground stop: what is asked, in which unit, what is
// plausible.
// Units:  kept in SI as the key's ending says; typed and shown metric or imperial
// Kept:   as fields of a survey::SiteNote of the form's topic; numbers with a point, choices and
//         "yes"/"no" in the words of this file, whatever the language on the screen
// Words:  app/words, "field.KEY" for what is asked, "choice.WORD" for the answers
// Errors: bad_input says the plausible range in the reader's unit
// Source: exact conversion factors of NIST SP 811, appendix B
#pragma once

#include <optional>
#include <span>
#include <string>
#include <string_view>

#include "app/words/quantity.h"
#include "horizon/result.h"
#include "survey/book/model.h"

namespace app {

enum class Measure : unsigned char {
  none,
  part_percent,
  length_m,
  depth_m,  // shown in cm or inches
  temperature_c,
  degree_days_cd,
  days,
  hours,
  speed_ms,
  load_kn_m2,
  flow_l_min,
  power_kw,
  level_mm,  // shown in mm or inches
  acidity,
};
inline constexpr int kMeasureCount = 14;
std::string unit_of(Measure measure, Units units);  // "cm", "in"; empty for `none`
double shown(Measure measure, double si, Units units);
double stored(Measure measure, double shown, Units units);
std::string shown_text(Measure measure, double si, Units units);  // "1.20 m", for facts

enum class Answer : unsigned char { number, choice, yes_no, words };

struct FormField {
  std::string_view key;
  Answer answer = Answer::number;
  Measure measure = Measure::none;
  double low = 0, high = 0;  // plausible, in SI
  std::span<const std::string_view> choices;
};

struct Form {
  survey::Topic topic = survey::Topic::other;
  std::span<const FormField> fields;
  std::string_view caution;  // a key of app/words; empty: none
};
std::span<const Form> forms();
const Form* form_of(survey::Topic topic);
const FormField* field_of(survey::Topic topic, std::string_view key);

// An answer as the site file keeps it: a number in SI with a point, else a word. It is no text that
// a person typed, and neither turns into the other by itself: half a metre of snow read as if typed
// in centimetres was five millimetres.
class Kept {
 public:
  explicit Kept(std::string_view text) : text_(text) {}
  const std::string& text() const { return text_; }
  bool is(std::string_view word) const { return text_ == word; }
  std::optional<double> number() const;  // SI; nothing where it is none

 private:
  std::string text_;
};

// A number as typed, in the reader's units, to SI.
horizon::Result<double> typed(const FormField& field, std::string_view text, Units units);
horizon::Result<double> typed(Measure measure, double low, double high, std::string_view text,
                              Units units);
std::string range_words(Measure measure, double low, double high, Units units);  // "0 to 20 m"
Kept kept_number(double si);  // as it is stored: the shortest that is read as the same number
// Such a number read again, within what is plausible, whatever the reader's units.
horizon::Result<double> kept_value(const FormField& field, const Kept& kept);
// What the field shows for a stored number: as short as gives the same number when it is typed.
std::string typed_again(Measure, double si, Units);

std::string field_words(std::string_view key);  // without unit
std::string answer_words(const FormField& field, const Kept& kept, Units units);

std::optional<Kept> answer_to(const survey::SiteNote& note, std::string_view key);
std::string text_of(const std::optional<Kept>& kept, std::string_view otherwise = {});
// Sets or, with an empty value, takes out.
void set_answer(survey::SiteNote& note, std::string_view key, const Kept& value);

}  // namespace app
