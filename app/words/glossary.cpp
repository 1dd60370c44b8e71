#include "app/words/glossary.h"

#include <utf8.h>

#include <algorithm>
#include <map>

#include "app/words/letters.h"
#include "app/words/words.h"

namespace app {
namespace {

std::string stripped(std::string_view s) {
  while (!s.empty() && s.front() == ' ') s.remove_prefix(1);
  while (!s.empty() && s.back() == ' ') s.remove_suffix(1);
  return std::string(s);
}

Term term_from(const std::string& key, const std::string& line) {
  const auto bar = line.find('|');
  Term term{key, {}, stripped(bar == line.npos ? std::string() : line.substr(bar + 1)), {}};
  std::string forms = line.substr(0, bar);
  for (std::size_t from = 0; from <= forms.size();) {
    const auto comma = std::min(forms.find(',', from), forms.size());
    const std::string form = stripped(std::string_view(forms).substr(from, comma - from));
    if (term.word.empty()) term.word = form;
    if (!form.empty()) term.forms.push_back(small_letters(form));
    from = comma + 1;
  }
  return term;
}

bool goes_on(std::string_view rest) {
  return !rest.empty() && is_letter_or_digit(utf8::peek_next(rest.begin(), rest.end()));
}

bool word_before(std::string_view text, std::size_t at) {
  if (at == 0) return false;
  auto before = text.begin() + static_cast<std::ptrdiff_t>(at);
  return is_letter_or_digit(utf8::prior(before, text.begin()));
}

// Where a language glues its endings on, the beginning of a word is enough.
bool holds(std::string_view text, std::string_view form, bool glued) {
  for (auto at = text.find(form); at != text.npos; at = text.find(form, at + 1))
    if (!word_before(text, at) && (glued || !goes_on(text.substr(at + form.size())))) return true;
  return false;
}

}  // namespace

const std::vector<Term>& terms() {
  thread_local std::map<std::string, std::vector<Term>> known;
  auto& all = known[language()];
  if (all.empty())
    for (const std::string& key : word_keys("en"))
      if (key.starts_with("term.")) all.push_back(term_from(key, tr(key)));
  return all;
}

std::vector<std::string> terms_in(std::string_view text) {
  const std::string small = small_letters(text);
  const bool glued = tr("language.endings") == "glued";
  std::vector<std::string> found;
  for (const Term& term : terms())
    if (std::any_of(term.forms.begin(), term.forms.end(),
                    [&](const std::string& form) { return holds(small, form, glued); }))
      found.push_back(term.key);
  return found;
}

const Term* term_of(std::string_view key) {
  for (const Term& term : terms())
    if (term.key == key) return &term;
  return nullptr;
}

}  // namespace app
