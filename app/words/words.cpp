#include "app/words/words.h"

#include <algorithm>
#include <cctype>
#include <map>
#include <mutex>
#include <utility>
#include <vector>

namespace app {

// Made by CMake out of app/words/*/*.txt.
struct WordFile {
  std::string_view code, text;
};
extern const WordFile kWordFiles[];
extern const int kWordFileCount;

namespace {

using Table = std::map<std::string, std::string, std::less<>>;

std::string_view stripped(std::string_view s) {
  while (!s.empty() && (s.front() == ' ' || s.front() == '\r')) s.remove_prefix(1);
  while (!s.empty() && (s.back() == ' ' || s.back() == '\r')) s.remove_suffix(1);
  return s;
}

void read(std::string_view text, Table& table) {
  while (!text.empty()) {
    const auto end = std::min(text.find('\n'), text.size());
    const std::string_view row = stripped(text.substr(0, end));
    text.remove_prefix(std::min(end + 1, text.size()));
    const auto equals = row.find('=');
    if (row.empty() || row.front() == '#' || equals == std::string_view::npos) continue;
    std::string words;
    const std::string_view raw = stripped(row.substr(equals + 1));
    for (std::size_t i = 0; i < raw.size(); ++i) {
      const bool line_break = raw.substr(i, 2) == "\\n";
      words += line_break ? '\n' : raw[i];
      i += line_break;
    }
    table[std::string(stripped(row.substr(0, equals)))] = std::move(words);
  }
}

// Its words are read when the first of them is asked for.
struct Language {
  std::vector<std::string_view> files;
  std::once_flag once;
  Table words;
};

std::map<std::string, Language, std::less<>>& known_languages() {
  static auto all = [] {
    std::map<std::string, Language, std::less<>> made;
    for (int i = 0; i < kWordFileCount; ++i)
      made[std::string(kWordFiles[i].code)].files.push_back(kWordFiles[i].text);
    return made;
  }();
  return all;
}

const Table* words_in(std::string_view code) {
  const auto found = known_languages().find(code);
  if (found == known_languages().end()) return nullptr;
  Language& of = found->second;
  std::call_once(of.once, [&] {
    for (const std::string_view text : of.files) read(text, of.words);
  });
  return &of.words;
}

thread_local std::string current = "en";

const std::string* found(std::string_view key, std::string_view code) {
  const Table* table = words_in(code);
  if (!table) return nullptr;
  const auto words = table->find(key);
  return words == table->end() ? nullptr : &words->second;
}

const std::string* found(std::string_view key) {
  const std::string* words = found(key, current);
  return words ? words : found(key, "en");
}

std::string filled_in(std::string_view words, std::span<const std::string_view> filled) {
  std::string out;
  for (std::size_t i = 0; i < words.size(); ++i) {
    if (words[i] == '{' && i + 2 < words.size() && words[i + 2] == '}') {
      const auto index = static_cast<std::size_t>(words[i + 1] - '0');
      if (index < filled.size()) {
        out += filled[index];
        i += 2;
        continue;
      }
    }
    out += words[i];
  }
  return out;
}

// Categories of CLDR's plural rules.
const char* category(long n, std::string_view rule) {
  if (rule == "none") return "other";
  if (rule == "zero-one-other") return n == 0 || n == 1 ? "one" : "other";
  if (rule == "slavic") {
    const long ten = n % 10, hundred = n % 100;
    if (ten == 1 && hundred != 11) return "one";
    return ten >= 2 && ten <= 4 && (hundred < 12 || hundred > 14) ? "few" : "many";
  }
  if (rule == "arabic") {
    const long hundred = n % 100;
    if (n <= 2) return n == 0 ? "zero" : n == 1 ? "one" : "two";
    return hundred >= 3 && hundred <= 10 ? "few" : hundred >= 11 ? "many" : "other";
  }
  return n == 1 ? "one" : "other";
}

}  // namespace

std::vector<std::string> languages() {
  std::vector<std::string> codes{"en"};
  for (const auto& known : known_languages())
    if (known.first != "en") codes.push_back(known.first);
  return codes;
}

std::string language_name(std::string_view code) {
  const std::string* name = found("language.name", code);
  return name ? *name : std::string(code);
}

bool machine_made(std::string_view code) {
  const std::string* made = found("language.machine", code);
  return made && *made == "yes";
}

bool set_language(std::string_view code) {
  if (known_languages().find(code) == known_languages().end()) return false;
  current = code;
  return true;
}

std::string language() { return current; }

std::string tr(std::string_view key, std::initializer_list<std::string_view> filled) {
  return tr(key, std::span<const std::string_view>(filled.begin(), filled.size()));
}

std::string tr(std::string_view key, std::span<const std::string_view> filled) {
  const std::string* words = found(key);
  return filled_in(words ? *words : key, filled);
}

std::string key_of(std::string_view list, std::string_view value) {
  std::string key(list);
  key += '.';
  for (const unsigned char c : value) {
    if (c < 128 && std::isalnum(c))
      key += static_cast<char>(std::tolower(c));
    else if (!key.ends_with('_') && !key.ends_with('.'))
      key += '_';
  }
  if (key.ends_with('_')) key.pop_back();
  return key;
}

std::string tr_of(std::string_view list, std::string_view value) {
  const std::string* words = found(key_of(list, value));
  return words ? *words : std::string(value);
}

std::string tr_count(std::string_view key, long count,
                     std::initializer_list<std::string_view> filled) {
  const std::string number = std::to_string(count);
  std::vector<std::string_view> all{number};
  all.insert(all.end(), filled);
  // Words taken from English follow its rule.
  for (std::string_view code : {std::string_view(current), std::string_view("en")}) {
    const std::string* rule = found("language.plural", code);
    for (const char* form : {category(count, rule ? *rule : ""), "other"}) {
      if (const auto* words = found(std::string(key) + "." + form, code)) {
        return filled_in(*words, all);
      }
    }
  }
  return std::string(key);
}

void add_listed(std::string& list, std::string_view item) {
  if (!list.empty()) list += tr("list.comma") + " ";
  list += item;
}

void add_clause(std::string& list, std::string_view item) {
  if (!list.empty()) list += tr("list.semicolon") + " ";
  list += item;
}

bool has_words(std::string_view key) { return found(key) != nullptr; }

std::vector<std::string> word_keys(std::string_view code) {
  std::vector<std::string> keys;
  const Table* table = words_in(code);
  if (!table) return keys;
  for (const auto& [key, words] : *table) keys.push_back(key);
  return keys;
}

}  // namespace app
