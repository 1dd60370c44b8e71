#include "app/words/words.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <cctype>
#include <filesystem>
#include <fstream>
#include <regex>
#include <set>
#include <sstream>

#include "app/drawing/text_layout.h"
#include "app/handover/printable.h"
#include "app/words/glossary.h"
#include "app/words/letters.h"
#include "app/words/quantity.h"
#include "app/words/sentence.h"

using namespace app;

namespace {

std::multiset<std::string> places(const std::string& words) {
  std::multiset<std::string> found;
  for (std::size_t i = 0; i + 2 < words.size(); ++i) {
    if (words[i] == '{' && words[i + 2] == '}') found.insert(words.substr(i, 3));
  }
  return found;
}

// The literal words given to tr(...) and tr_count(...) in a source text; those put together at run
// time (with +) are left out.
std::vector<std::string> asked_for(const std::string& source) {
  std::vector<std::string> all;
  for (const std::string call : {"tr(", "tr_count("}) {
    for (std::size_t at = source.find(call); at != source.npos; at = source.find(call, at + 1)) {
      if (at > 0 &&
          (std::isalnum(static_cast<unsigned char>(source[at - 1])) || source[at - 1] == '_'))
        continue;
      std::vector<std::string> found;
      bool joins = false, put_together = false;  // with the literal before; at run time
      std::size_t i = at + call.size();
      for (int depth = 0;
           i < source.size() && !(depth == 0 && (source[i] == ')' || source[i] == ',')); ++i) {
        if (source[i] == '(' || source[i] == '{') ++depth;
        if (source[i] == ')' || source[i] == '}') --depth;
        put_together |= source[i] == '+';
        if (source[i] == '"') {
          std::string words;
          for (++i; source[i] != '"'; ++i) {
            if (source[i] == '\\') ++i;
            words += source[i];
          }
          if (joins)
            found.back() += words;
          else
            found.push_back(words);
          joins = true;
        } else if (!std::isspace(static_cast<unsigned char>(source[i]))) {
          joins = false;
        }
      }
      if (!put_together) all.insert(all.end(), found.begin(), found.end());
    }
  }
  return all;
}

// The keys that the code writes whole, as "error.sun_below_horizon".
std::set<std::string> keys_in_code(const std::set<std::string>& families) {
  std::set<std::string> keys;
  for (const char* folder : {"horizon", "survey", "platform", "app"}) {
    const std::string root = std::string(ADRET_TEST_DATA "/../../") + folder;
    for (const auto& entry : std::filesystem::recursive_directory_iterator(root)) {
      const auto ending = entry.path().extension();
      if (ending != ".cpp" && ending != ".h") continue;
      std::ifstream file(entry.path());
      std::stringstream text;
      text << file.rdbuf();
      static const std::regex literal(R"("([a-z]+)\.[a-z0-9_.]+")");
      const std::string source = text.str();
      for (std::sregex_iterator at(source.begin(), source.end(), literal), end; at != end; ++at)
        if (families.contains((*at)[1])) keys.insert(at->str().substr(1, at->length() - 2));
    }
  }
  return keys;
}

}  // namespace

TEST_CASE("Every error has words, and there are no words for an error that none has [property]") {
  const auto used = keys_in_code({"error", "task"});
  CHECK(used.size() > 400);
  for (const auto& key : used) {
    CAPTURE(key);
    CHECK(has_words(key));
  }
  for (const auto& key : word_keys("en")) {
    CAPTURE(key);
    if (key.starts_with("error.") || key.starts_with("task.")) CHECK(used.contains(key));
  }
}

TEST_CASE("Every sentence of the ground has words, by the number in it too [property]") {
  std::size_t count = 0;
  for (const auto& key : keys_in_code({"ground", "list"})) {
    if (key.ends_with('.') || key.ends_with('_')) continue;  // put together with a name
    CAPTURE(key);
    CHECK((has_words(key) || has_words(key + ".other")));
    ++count;
  }
  CHECK(count > 200);
  const auto spots = [](int n) { return words_of({"ground.from.predicted", {n}}); };
  CHECK(spots(1) == "skyline predicted from 1 station");
  CHECK(spots(3) == "skyline predicted from 3 stations");
  CHECK(words_of({"ground.from.and", {"a", horizon::Sentence("ground.from.flat")}}) ==
        "a; flat horizon, same place");
}

TEST_CASE("An error is said in the reader's language, its place and its numbers too [property]") {
  const horizon::Error error{
      horizon::Code::bad_input,
      {"error.sighting_unusable",
       {horizon::Sentence{"error.weather_far", {horizon::Arg::figure(99.5, 1)}}}},
      "line 3"};
  CHECK(in_words(error) ==
        "A sighting cannot be used: the file's station is 99.5 km from the site; check that "
        "its weather is like the site's (line 3)");
  InLanguage in("de");
  CHECK(in_words(error).find("99,5") != std::string::npos);
  CHECK(in_words(error).ends_with("(Zeile 3)"));
  CHECK(words_of_place("March, station \"B\"") == "März, Standpunkt \"B\"");
  CHECK(words_of_place("visit.note") == "visit.note");
}

TEST_CASE("All words that the app asks for are in the files of words [property]") {
  std::size_t count = 0;
  for (const auto& entry :
       std::filesystem::recursive_directory_iterator(ADRET_TEST_DATA "/../../app")) {
    if (entry.path().extension() != ".cpp") continue;
    std::ifstream file(entry.path());
    std::stringstream text;
    text << file.rdbuf();
    for (const std::string& words : asked_for(text.str())) {
      CAPTURE(entry.path().filename().string());
      CAPTURE(words);
      CHECK((has_words(words) || has_words(words + ".other")));
      ++count;
    }
  }
  CHECK(count > 400);
}

namespace {

// "skyline.marks.few" of "skyline.marks.other": a form that English does without.
bool plural_of_english(const std::string& key, const std::vector<std::string>& english) {
  const auto dot = key.rfind('.');
  return dot != key.npos &&
         std::binary_search(english.begin(), english.end(), key.substr(0, dot) + ".other");
}

}  // namespace

TEST_CASE("A key is a family and a name, and stands once in a language [property]") {
  static const std::regex symbolic("[a-z0-9_]+([.][a-z0-9_]+)+");
  for (const auto& folder :
       std::filesystem::directory_iterator(ADRET_TEST_DATA "/../../app/words")) {
    if (!folder.is_directory()) continue;
    std::set<std::string> keys;
    for (const auto& entry : std::filesystem::directory_iterator(folder.path())) {
      std::ifstream file(entry.path());
      for (std::string line; std::getline(file, line);) {
        if (line.empty() || line[0] == '#') continue;
        CAPTURE(entry.path().string());
        CAPTURE(line);
        const std::string key = line.substr(0, line.find(" = "));
        CHECK(std::regex_match(key, symbolic));
        CHECK(keys.insert(key).second);
      }
    }
    CHECK(keys.size() > 400);
  }
}

TEST_CASE("Every language has every key of English, with the same places to fill [property]") {
  const auto english = word_keys("en");
  REQUIRE(english.size() > 50);
  REQUIRE(languages().size() >= 7);
  for (const auto& code : languages()) {
    CAPTURE(code);
    const auto keys = word_keys(code);
    const bool machine = machine_made(code);
    for (const auto& key : english) {
      CAPTURE(key);
      const bool there = std::binary_search(keys.begin(), keys.end(), key);
      if (!machine) CHECK(there);  // a machine's may lack some, and Settings says so
      if (!there) continue;
      std::string ours, theirs;
      {
        InLanguage in(code);
        ours = tr(key);
      }
      theirs = tr(key);
      CHECK_FALSE(ours.empty());
      CHECK(places(ours) == places(theirs));
    }
    for (const auto& key : keys) {
      CAPTURE(key);
      CHECK((std::binary_search(english.begin(), english.end(), key) || key == "language.machine" ||
             plural_of_english(key, english)));
    }
    // What hurts is said in every language, whole.
    for (const auto& key : english)
      if (key.starts_with("warn.")) CHECK(std::binary_search(keys.begin(), keys.end(), key));
  }
}

TEST_CASE("Every letter of every language's words has a font [property]") {
  for (const auto& code : languages()) {
    CAPTURE(code);
    std::string all;
    {
      InLanguage in(code);
      for (const auto& key : word_keys(code)) all += tr(key);
    }
    CHECK(letters_without_font(all) == "");
  }
}

TEST_CASE("A language from right to left says so, and is laid out so [property]") {
  for (const auto& code : languages()) {
    CAPTURE(code);
    InLanguage in(code);
    CHECK(right_to_left(tr("warn.title")) == (tr("language.direction") == "rtl"));
  }
}

// Plural categories by CLDR 44, "Language Plural Rules", cardinal: Arabic, French, Spanish.
TEST_CASE("A term is found in any script, large or small, with a glued ending [property]") {
  CHECK(sentence_case("\u00e9cran") == "\u00c9cran");
  CHECK(small_letters("\u00cdNDICE \u041a\u041e\u041a") == "\u00edndice \u043a\u043e\u043a");
  CHECK(sentence_case("") == "");
  const auto has = [](std::string_view text, const char* key) {
    const auto found = terms_in(text);
    return std::find(found.begin(), found.end(), key) != found.end();
  };
  for (const std::string& code : languages()) {
    CAPTURE(code);
    InLanguage in(code);
    const Term* bearing = term_of("term.bearing");
    REQUIRE(bearing);
    const bool glued = code == "ne" || code == "ky";
    CHECK(has("\u2018" + bearing->word + "\u2019", "term.bearing"));
    CHECK(has(sentence_case(bearing->word) + ".", "term.bearing"));
    CHECK(has(bearing->word + "\u092e\u093e\u0433", "term.bearing") == glued);
    CHECK_FALSE(has("\u0433" + bearing->word, "term.bearing"));
  }
}

TEST_CASE("Counted things take their plural by the language's own rule [published]") {
  const auto said = [](const char* code, long count) {
    InLanguage in(code);
    return tr_count("skyline.marks", count);
  };
  CHECK(said("fr", 0) == "0 marque");
  CHECK(said("fr", 1) == "1 marque");
  CHECK(said("fr", 2) == "2 marques");
  CHECK(said("es", 0) == "0 marcas");
  // Arabic has six: zero, one, two, few (3 to 10, 103 ...), many (11 to 99), other (100, 101, 102).
  CHECK(said("ar", 2) != said("ar", 3).replace(0, 1, "2"));
  CHECK(said("ar", 3).substr(1) == said("ar", 10).substr(2));
  CHECK(said("ar", 3).substr(1) == said("ar", 103).substr(3));
  CHECK(said("ar", 11).substr(2) != said("ar", 10).substr(2));
  CHECK(said("ar", 11).substr(2) == said("ar", 99).substr(2));
}

TEST_CASE("Words come in the language asked for and fall back [property]") {
  CHECK(tr("month.3") == "March");
  {
    InLanguage in("de");
    CHECK(tr("month.3") == "März");
    CHECK(number(1234.5, 1) == "1\u202F234,5");
    CHECK(compass_point(92) == "O");
  }
  CHECK(language() == "en");
  CHECK_FALSE(set_language("xx"));
  CHECK(tr("no.such.key") == "no.such.key");
}

// Conversion factors: NIST SP 811 (2008), appendix B.8.
TEST_CASE("Imperial quantities follow the exact factors [published]") {
  CHECK(height(1482, Units::imperial) == "4\u202F862\u00A0ft");
  CHECK(temperature(-35, Units::imperial) == "−31\u00A0°F");
  CHECK(energy(1, Units::imperial) == "317\u00A0Btu/ft²");
  CHECK(snow_load(2.394, Units::imperial) == "50\u00A0lb/ft²");
  CHECK(depth(0.3556, Units::imperial) == "14\u00A0in");
  CHECK(distance(1609.344 * 3, Units::imperial) == "3.0\u00A0mi");
}

TEST_CASE("Numbers are rounded and written as people read them [property]") {
  CHECK(number(-0.04, 1) == "0.0");
  CHECK(number(-1234567.0) == "−1\u202F234\u202F567");
  CHECK(number(1.0 / 0.0) == "–");
  CHECK(hours_minutes(3.2) == "3\u00A0h\u00A012\u00A0min");
  CHECK(hours_minutes(2.9999) == "3\u00A0h");
  CHECK(hours_minutes(0.2) == "12\u00A0min");
  CHECK(compass_point(359) == "N");
  CHECK(compass_point(-12) == "NNW");
  CHECK(position(-33.5, 18.25) == "33.5000°\u00A0S 18.2500°\u00A0E");
  CHECK(day_month(horizon::Date{std::chrono::year{2026}, std::chrono::month{2},
                                std::chrono::day{16}}) == "16 Feb");
}
