// app/words/letters.h: small letters, capitals and word ends in any script.
// By the standard library's classes of Unicode letters (locale C.UTF-8); where a system lacks that
// locale, English letters alone. Wrong bytes are shown as U+FFFD.
#pragma once

#include <string>
#include <string_view>

namespace app {

std::string small_letters(std::string_view text);
std::string sentence_case(std::string_view words);  // the first letter large
bool is_letter_or_digit(char32_t c);

}  // namespace app
