#include "app/words/glossary.h"

#include <algorithm>
#include <map>

#include "app/words/words.h"

namespace app {
namespace {

std::string small_letters(std::string_view text) {
  std::string out(text);
  for (char& c : out)
    if (c >= 'A' && c <= 'Z') c = char(c - 'A' + 'a');
  return out;
}

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

bool in_word(char c) {
  return (c >= 'a' && c <= 'z') || (c >= '0' && c <= '9') || static_cast<unsigned char>(c) >= 0x80;
}

bool holds(std::string_view text, std::string_view form) {
  for (auto at = text.find(form); at != text.npos; at = text.find(form, at + 1)) {
    const bool begins = at == 0 || !in_word(text[at - 1]);
    const auto end = at + form.size();
    if (begins && (end == text.size() || !in_word(text[end]))) return true;
  }
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
  std::vector<std::string> found;
  for (const Term& term : terms())
    if (std::any_of(term.forms.begin(), term.forms.end(),
                    [&](const std::string& form) { return holds(small, form); }))
      found.push_back(term.key);
  return found;
}

const Term* term_of(std::string_view key) {
  for (const Term& term : terms())
    if (term.key == key) return &term;
  return nullptr;
}

}  // namespace app
