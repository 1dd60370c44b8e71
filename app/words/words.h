// app/words/words.h: the words of the screens and the report in the reader's language.
// One folder a language under app/words/, plain text files of lines `key = words`; {0}, {1} stand
// for what is filled in, \n for a line break. English is complete; a key that a language lacks is
// shown in English. A new language is a new folder, without code: its file common.txt names it
// (language.name), its plural rule (language.plural: one-other, zero-one-other, slavic, arabic, none),
// its decimal mark, its direction (ltr, rtl), whether endings are glued to its words
// (language.endings: apart, glued), and whether a machine made it (language.machine = yes):
// such a one may lack keys, and says so until a speaker has read it.
// Threads: each thread has its own language, English at the start
#pragma once

#include <initializer_list>
#include <span>
#include <string>
#include <string_view>
#include <vector>

namespace app {

std::vector<std::string> languages();  // codes as "en"; English first
// Made by a machine, and read by no speaker yet.
bool machine_made(std::string_view code);
std::string language_name(std::string_view code);  // in that language itself
bool set_language(std::string_view code);          // false: there is none of that code
std::string language();

// The language inside a block: a report may be in another one than the screens.
class InLanguage {
 public:
  explicit InLanguage(std::string_view code) : before_(language()) { set_language(code); }
  ~InLanguage() { set_language(before_); }
  InLanguage(const InLanguage&) = delete;
  InLanguage& operator=(const InLanguage&) = delete;

 private:
  std::string before_;
};

// A key that no language has is shown as it is.
std::string tr(std::string_view key, std::initializer_list<std::string_view> filled = {});
std::string tr(std::string_view key, std::span<const std::string_view> filled);
// Takes key.one, key.few, key.many or key.other by the number, which is {0}; then {1}, {2} ...
std::string tr_count(std::string_view key, long count,
                     std::initializer_list<std::string_view> filled = {});
// The words of one value of a closed list, kept or worked out: "bare soil" of the list "choice" is
// choice.bare_soil. A value that no list knows is shown as it is.
std::string key_of(std::string_view list, std::string_view value);
std::string tr_of(std::string_view list, std::string_view value);
// Puts the language's own comma, or semicolon, before all but the first.
void add_listed(std::string& list, std::string_view item);
void add_clause(std::string& list, std::string_view item);
bool has_words(std::string_view key);

// For the tests: the keys of one language's files.
std::vector<std::string> word_keys(std::string_view code);

}  // namespace app
