#include "app/words/light_words.h"

#include <doctest/doctest.h>

#include <fstream>
#include <sstream>

#include "app/words/glossary.h"
#include "app/words/words.h"

using namespace app;

namespace {

horizon::StationFindings some_findings() {
  horizon::StationFindings f;
  f.sky = horizon::SkySource::clear;
  f.winter_months = 1u << 0 | 1u << 1 | 1u << 10 | 1u << 11;
  for (int m = 0; m < 12; ++m) f.months[std::size_t(m)].days = 30;
  f.hours.shortest_day_h = {4.87, 4.7, 5.1};
  f.hours.winter_flat_h = 900;
  horizon::CropSeason crop;
  crop.need = {"leafy greens and herbs", 12, "common practice"};
  crop.days = 280;
  crop.spells = {{15, 325}};
  crop.from_low_day = 13;
  crop.from_high_day = 18;
  f.growing.crops = {crop};
  f.ledger = {{0, "spruces", horizon::Kind::evergreen, 205, 231, 200, 150, 140, 0, 0, 0},
              {1, "", horizon::Kind::ridge, 60, 140, 200, 90, 0, 0, 0, 0}};
  return f;
}

}  // namespace

TEST_CASE("One sentence tells hours, crops and what takes the rest [property]") {
  const auto f = some_findings();
  CHECK(light_sentence(f, 2026) ==
        "4\u00A0h\u00A052\u00A0min (4.7–5.1\u00A0h) of direct sun on the shortest day, and light "
        "enough for leafy greens and herbs from mid January to late November. By a clear sky, "
        "the most that can come: clouds take their part.");
  CHECK(light_rest(f, 46.6) == "Most of the rest goes to spruces, in the afternoon.");
  CHECK(light_doubt(f).empty());
  auto usual = f;
  usual.sky = horizon::SkySource::normals;
  usual.sky_source = "Upper Larkholm";
  CHECK(light_sentence(usual, 2026).ends_with("Sky: usual weather, Upper Larkholm."));
}

TEST_CASE("A wide range is told as a range, and what nobody aimed at is said [property]") {
  auto f = some_findings();
  f.hours.shortest_day_h = {3, 1.6, 4.3};
  f.hours.winter_unaimed_h = 300;
  CHECK(light_sentence(f, 2026).starts_with("1.6–4.3\u00A0h of direct sun"));
  CHECK(light_doubt(f).find("33") != std::string::npos);
  f.headings_disagree = true;
  CHECK(light_doubt(f).find("disagree") != std::string::npos);
  f.hours.shortest_day_h = {0, 0, 0};
  CHECK(light_sentence(f, 2026).starts_with("No direct sun on the shortest day"));
  f.growing.crops.front().spells.clear();
  CHECK(light_sentence(f, 2026).find("never light enough") != std::string::npos);
}

TEST_CASE("South of the equator the morning sun stands in the east too [property]") {
  auto f = some_findings();
  f.ledger = {{0, "gums", horizon::Kind::evergreen, 45, 75, 200, 150, 140, 0, 0, 0}};
  CHECK(light_rest(f, -36).find("in the morning") != std::string::npos);
  f.ledger[0].from_deg = 290;
  f.ledger[0].to_deg = 320;
  CHECK(light_rest(f, -36).find("in the afternoon") != std::string::npos);
}

TEST_CASE("The glossary of the docs is the one of the screens [property]") {
  std::ifstream file(ADRET_TEST_DATA "/../../docs/glossary.md");
  std::stringstream text;
  text << file.rdbuf();
  const std::string docs = text.str();
  std::size_t rows = 0, keys = 0;
  for (std::size_t at = docs.find("\n| "); at != docs.npos; at = docs.find("\n| ", at + 1)) ++rows;
  for (const auto& key : word_keys("en")) {
    if (!key.starts_with("term.") && !key.starts_with("word.")) continue;
    ++keys;
    CAPTURE(key);
    CHECK(docs.find("\n| " + tr(key) + " |\n") != docs.npos);
  }
  CHECK(rows == keys + 1);  // and the head
  CHECK(terms().size() > 30);
}

TEST_CASE("A word of the trade is found whole and in any case [property]") {
  CHECK(terms_in("The Freezing index here") == std::vector<std::string>{"term.freezing_index"});
  CHECK(terms_in("limbo and facingly").empty());
  CHECK(terms_in("Fore bearing").size() == 2);  // bearing itself, and which end
  InLanguage in("de");
  CHECK(terms_in("Missweisung hier") == std::vector<std::string>{"term.declination"});
  CHECK(term_of("term.dli")->word == "mol/m²");
}
