#include "survey/book/text.h"

#include <doctest/doctest.h>

using namespace survey;
using namespace std::string_view_literals;

// RFC 3629 (UTF-8), RFC 2781 (UTF-16), ISO 8859-1.
TEST_CASE("[published] the same word in every encoding gives the same text") {
  CHECK(text_of("Gr\xC3\xA4t").value().utf8 == "Gr\xC3\xA4t");
  CHECK(text_of("\xEF\xBB\xBFGr\xC3\xA4t").value().utf8 == "Gr\xC3\xA4t");
  CHECK(text_of("Gr\xE4t").value().utf8 == "Gr\xC3\xA4t");
  CHECK_FALSE(text_of("Gr\xE4t").value().note.empty());
  CHECK(text_of("\xFF\xFEG\0r\0\xE4\0t\0"sv).value().utf8 == "Gr\xC3\xA4t");
  CHECK(text_of("\xFE\xFF\0G\0r\0\xE4\0t"sv).value().utf8 == "Gr\xC3\xA4t");
  CHECK(text_of("\xFF\xFE\x3C\xD8\x04\xDF"sv).value().utf8 == "\xF0\x9F\x8C\x84");  // U+1F304
}

TEST_CASE("[published] what RFC 3629 forbids is not UTF-8") {
  for (const std::string_view bytes :
       {"\xC0\x80"sv, "\xED\xA0\x80"sv, "\xF5\x80\x80\x80"sv, "\xE2\x82"sv, "\x80"sv,
        "\xF0\x80\x80\x80"sv, "\xF4\x90\x80\x80"sv})
    CHECK_FALSE(valid_utf8(bytes));
  CHECK(valid_utf8("\xED\x9F\xBF\xEE\x80\x80\xF4\x8F\xBF\xBF"));
}

TEST_CASE("[property] binary is refused, line ends are one kind") {
  CHECK_FALSE(text_of("\x7F"
                      "ELF\x02\x01\x01\0\0"sv)
                  .has_value());
  CHECK_FALSE(text_of("\xFF\xFEG"sv).has_value());
  CHECK(text_of("a\r\nb\rc\n").value().utf8 == "a\nb\nc\n");
  CHECK(text_of("").value().utf8.empty());
}

TEST_CASE("[property] numbers as people write them") {
  CHECK(number_of(" 12.5 ") == 12.5);
  CHECK(number_of("12,5") == 12.5);
  CHECK(number_of("+3") == 3.0);
  CHECK(number_of("\xE2\x88\x92"
                  "3") == -3.0);
  for (const char* text : {"", "nan", "inf", "12.5x", "1,234.5", "--3", "1e999", "0x10"})
    CHECK_FALSE(number_of(text).has_value());
}
