// survey/book/forms.h: the forms of the ground stop: what is asked, what it measures, what is
// plausible.
// Units:  kept in SI as the key's ending says
// Kept:   as fields of a SiteNote of the form's topic; numbers with a point, choices and "yes"/"no"
//         in the words of this file, whatever the language on the screen
// Words:  app/words, "field.KEY" for what is asked, "choice.WORD" for the answers; how a measure is
//         typed and shown in the reader's units: app/words/form_words.h
// Errors: bad_input says the plausible range
#pragma once

#include <functional>
#include <optional>
#include <span>
#include <string>
#include <string_view>

#include "horizon/result.h"
#include "survey/book/model.h"

namespace survey {

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

enum class Answer : unsigned char { number, choice, yes_no, words };

struct FormField {
  std::string_view key;
  Answer answer = Answer::number;
  Measure measure = Measure::none;
  double low = 0, high = 0;  // plausible, in SI
  std::span<const std::string_view> choices;
};

struct Form {
  Topic topic = Topic::other;
  std::span<const FormField> fields;
  std::string_view caution;  // the key of its words; empty: none
};
std::span<const Form> forms();
const Form* form_of(Topic topic);
const FormField* field_of(Topic topic, std::string_view key);

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

// A number with a point, in the fewest decimals that `same` takes for it when they are read.
std::string fewest_decimals(double value, const std::function<bool(double)>& same);
Kept kept_number(double si);  // as it is stored: the shortest that is read as the same number
// Such a number read again, within what is plausible.
horizon::Result<double> kept_value(const FormField& field, const Kept& kept);
// What is plausible, as a sentence within another: of a Measure's number, low and high in SI. Its
// words are put together in app/words/form_words.h, for they hang on the measure's unit.
inline constexpr const char* kPlausible = "measure.plausible";

std::optional<Kept> answer_to(const SiteNote& note, std::string_view key);
std::string text_of(const std::optional<Kept>& kept, std::string_view otherwise = {});
// Sets or, with an empty value, takes out.
void set_answer(SiteNote& note, std::string_view key, const Kept& value);

}  // namespace survey
