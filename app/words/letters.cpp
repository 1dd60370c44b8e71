#include "app/words/letters.h"

#include <utf8.h>

#include <locale>
#include <stdexcept>

namespace app {
namespace {

const std::ctype<wchar_t>& classes() {
  static const std::locale all = [] {
    try {
      return std::locale("C.UTF-8");
    } catch (const std::runtime_error&) {
      return std::locale::classic();
    }
  }();
  return std::use_facet<std::ctype<wchar_t>>(all);
}

}  // namespace

std::string small_letters(std::string_view text) {
  std::u32string letters = utf8::utf8to32(utf8::replace_invalid(text));
  for (char32_t& c : letters) c = static_cast<char32_t>(classes().tolower(static_cast<wchar_t>(c)));
  return utf8::utf32to8(letters);
}

std::string sentence_case(std::string_view words) {
  std::u32string letters = utf8::utf8to32(utf8::replace_invalid(words));
  if (!letters.empty())
    letters[0] = static_cast<char32_t>(classes().toupper(static_cast<wchar_t>(letters[0])));
  return utf8::utf32to8(letters);
}

bool is_letter_or_digit(char32_t c) {
  return classes().is(std::ctype_base::alnum, static_cast<wchar_t>(c));
}

}  // namespace app
