// survey/exchange/plan_text.h: the letters of a UTF-8 text, for files that spell them in codes of their own.
// What is no UTF-8 is left out.
#pragma once

#include <string>
#include <string_view>

namespace survey {

inline std::u32string code_points(std::string_view utf8) {
  std::u32string out;
  for (std::size_t i = 0; i < utf8.size();) {
    const auto first = static_cast<unsigned char>(utf8[i]);
    const std::size_t size = first < 0x80   ? 1
                             : first < 0xC2 ? 0
                             : first < 0xE0 ? 2
                             : first < 0xF0 ? 3
                             : first < 0xF5 ? 4
                                            : 0;
    if (size == 0 || i + size > utf8.size()) {
      ++i;
      continue;
    }
    char32_t c = size == 1 ? first : first & (0xFFu >> (size + 1));
    for (std::size_t k = 1; k < size; ++k)
      c = c << 6 | (static_cast<unsigned char>(utf8[i + k]) & 0x3F);
    out += c;
    i += size;
  }
  return out;
}

}  // namespace survey
