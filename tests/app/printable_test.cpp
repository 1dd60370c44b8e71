// Names and notes in every script: printed, or told before the hand-over.
#include "app/handover/printable.h"

#include <doctest/doctest.h>

#include "tests/survey/site_fixture.h"

using namespace app;

TEST_CASE(
    "the scripts of mountain schools are there with the packages of app/packages.txt [property]") {
  for (const char* name :
       {"विद्यालय बगीचा", "مدرسة الوادي 12 م", "სკოლის ბაღი", "སློབ་གྲྭའི་ལྡུམ་ར", "学校花园",
        "Школьный сад", "Schulgärtnerei – 3 m²", "בית ספר", "ትምህርት ቤት"})
    CHECK(letters_without_font(name) == "");
}

TEST_CASE(
    "a letter that no font has is named once, with its text; marks of direction are none [property]") {
  CHECK(letters_without_font("a\xCD\xB8"
                             "b\xCD\xB8") ==
        "\xCD\xB8");  // U+0378 is no letter yet; private ones some fonts have
  CHECK(letters_without_font("\xE2\x80\x8F"
                             "12 m\xE2\x80\x8E\xEF\xB8\x8F") == "");
  TempFolder folder;
  survey::Site site;
  site.name = "Larkholm";
  site.note = "by the \xCD\xB8 tree";
  const survey::FieldBook book = must(survey::FieldBook::create(folder / "a.gpkg", site));
  const auto found = unprintable_texts(book);
  REQUIRE(found.size() == 1);
  CHECK(found[0].table == "site");
  CHECK(found[0].text == site.note);
  CHECK(found[0].letters == "\xCD\xB8");
}
