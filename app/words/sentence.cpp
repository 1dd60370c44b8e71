#include "app/words/sentence.h"

#include <algorithm>
#include <cmath>
#include <cstdlib>
#include <vector>

#include "app/words/form_words.h"
#include "app/words/letters.h"
#include "app/words/words.h"

namespace app {
namespace {

std::string words_of(const horizon::Arg& arg) {
  if (!arg.inner.empty()) return app::words_of(arg.inner.front());
  if (!arg.number) return arg.text;
  std::string digits = arg.text;
  if (const auto point = digits.find('.'); point != std::string::npos)
    digits.replace(point, 1, tr("language.decimal_mark"));
  return digits;
}

// "line 3", "March": the word has a key, the number is filled in; all else stays as it is.
std::string words_of_part(std::string_view part) {
  std::string key = "where." + std::string(part);
  std::ranges::transform(key, key.begin(), [](char c) {
    return c == ' ' ? '_' : c >= 'A' && c <= 'Z' ? static_cast<char>(c - 'A' + 'a') : c;
  });
  if (has_words(key)) return tr(key);
  for (auto space = part.rfind(' '); space != std::string_view::npos && space > 0;
       space = part.rfind(' ', space - 1)) {
    key.resize(std::string_view("where.").size() + space);
    if (has_words(key)) return tr(key, {part.substr(space + 1)});
  }
  return std::string(part);
}

double value_of(const horizon::Arg& arg) { return std::strtod(arg.text.c_str(), nullptr); }

}  // namespace

std::string words_of(const horizon::Sentence& sentence) {
  if (sentence.key == survey::kPlausible)
    return range_words(static_cast<Measure>(value_of(sentence.args.at(0))),
                       value_of(sentence.args.at(1)), value_of(sentence.args.at(2)), Units::metric);
  std::vector<std::string> args;
  for (const auto& arg : sentence.args) args.push_back(words_of(arg));
  if (args.size() == 1 && has_words(sentence.key + ".other"))
    return tr_count(sentence.key, std::lround(value_of(sentence.args.front())));
  return tr(sentence.key, std::vector<std::string_view>(args.begin(), args.end()));
}

std::string words_of_place(std::string_view where) {
  std::string out;
  for (std::size_t at = 0;;) {
    const auto end = where.find(", ", at);
    out += words_of_part(where.substr(at, end - at));
    if (end == std::string_view::npos) return out;
    out += ", ";
    at = end + 2;
  }
}

std::string in_words(const horizon::Error& error) {
  std::string words = words_of(error.sentence());
  if (!error.where.empty()) words += " (" + words_of_place(error.where) + ")";
  return sentence_case(std::move(words));
}

}  // namespace app
