// app/words/glossary.h: which words of the trade does a text hold, and what do they mean.
// The list is app/words/*/glossary.txt; docs/glossary.md is the same one. A word is found whole,
// whatever its case; one language's words are looked for in that language's texts.
// Threads: each its own language, as words.h
#pragma once

#include <string>
#include <string_view>
#include <vector>

namespace app {

struct Term {
  std::string key, word, sentence;  // "term.declination", "declination", what it means
  std::vector<std::string> forms;   // of the word, in small letters
};
// Of the language now; those that the screens explain, in the order of their keys.
const std::vector<Term>& terms();
// Keys of those in the text, each once.
std::vector<std::string> terms_in(std::string_view text);
const Term* term_of(std::string_view key);

}  // namespace app
