#include "app/drawing/text_layout.h"

#include <doctest/doctest.h>

#include <set>

#include "app/drawing/fonts.h"

using namespace app;

TEST_CASE("Fonts are found and every digit is as wide as the next [property]") {
  REQUIRE(Fonts::shared().problem() == "");
  const TextStyle style{.size = 20};
  const float zero = text_width("0", style);
  CHECK(zero > 5);
  for (char digit = '1'; digit <= '9'; ++digit) {
    CHECK(text_width(std::string(1, digit), style) == doctest::Approx(zero).epsilon(0.001));
  }
  CHECK(text_width("1111", TextStyle{.size = 20, .tabular = false}) < 4 * zero);
}

// The pairs are those of the Unicode Bidirectional Algorithm, UAX #9, section 3 "abc DEF".
TEST_CASE("Right-to-left words are laid out from the right [published]") {
  const TextStyle style{.size = 10};
  const TextLine line = lay_out("אבג", style);
  REQUIRE(line.glyphs.size() == 3);
  CHECK(line.glyphs.front().cluster == 4);  // the last letter stands leftmost
  CHECK(line.glyphs.back().cluster == 0);
  const TextLine mixed = lay_out("ab גד 12", style);
  std::vector<std::uint32_t> order;
  for (const auto& glyph : mixed.glyphs) order.push_back(glyph.cluster);
  // "ab ", then the number (it follows Hebrew, so stands left of it), a space, the two letters.
  CHECK(order == std::vector<std::uint32_t>{0, 1, 2, 8, 9, 7, 5, 3});
}

// Arabic letters join: beh alone, at the start, in the middle and at the end are four shapes
// (Unicode Standard, chapter 9, table 9-3).
TEST_CASE("Joining letters take their joined shapes [published]") {
  const TextLine line = lay_out("ببب", TextStyle{});
  REQUIRE(line.glyphs.size() >= 3);
  std::set<unsigned> shapes;
  for (const auto& glyph : line.glyphs) shapes.insert(glyph.glyph);
  CHECK(shapes.size() >= 3);
}

TEST_CASE("Every script of the table finds a glyph, also mixed in one line [property]") {
  for (const char* text :
       {"Škocjan", "Ελλάς", "Долина", "שלום", "مرحبا", "हिमालय", "ไทย", "Ալպեր", "ალპები", "བོད"}) {
    CAPTURE(text);
    const TextLine line = lay_out(std::string("A ") + text, TextStyle{});
    CHECK(line.glyphs.size() >= 4);
    for (const auto& glyph : line.glyphs) CHECK(glyph.glyph != 0);
  }
}

TEST_CASE("Wrapping keeps every letter and every line fits [property]") {
  const std::string text =
      "The ridge to the south-east hides the sun until 10:41 in Donaudampfschifffahrtsgesellschaft "
      "דבר בעברית und kurz.\nNext paragraph";
  for (float width : {40.f, 90.f, 200.f, 1000.f}) {
    CAPTURE(width);
    const TextStyle style{.size = 12};
    std::string joined;
    for (std::string line : wrapped(text, style, width)) {
      CHECK(text_width(line, style) <= width + 0.01f);
      for (char c : line) {
        if (c != ' ') joined += c;
      }
    }
    std::string expected;
    for (char c : text) {
      if (c != ' ' && c != '\n') expected += c;
    }
    CHECK(joined == expected);
  }
  for (const auto& line : wrapped("הגינה ABC של בית הספר 12 ABC", TextStyle{.size = 12}, 60)) {
    CHECK(right_to_left(line));
  }
  CHECK(wrapped("", TextStyle{}, 100).size() == 1);
  CHECK(wrapped("W", TextStyle{.size = 40}, 1).size() == 1);
}

TEST_CASE("Shortened text fits and wrong bytes do no harm [property]") {
  const TextStyle style{.size = 12};
  for (const char* text :
       {"a long name of a place", "\xff\xfe\x80 broken \xe2\x82", "\xf0\x9f", ""}) {
    CAPTURE(text);
    const std::string cut = shortened(text, style, 30);
    CHECK(text_width(cut, style) <= 30);
    CHECK_NOTHROW(lay_out(text, style));
  }
  CHECK(shortened("short", style, 200) == "short");
}
