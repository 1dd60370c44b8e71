#include "survey/exchange/angle_text.h"

#include <string>
#include <vector>

#include "survey/book/text.h"

namespace survey {
namespace {

// Degree, minute and second signs of every sort become "d", "m" and "s".
std::string with_plain_signs(std::string_view field) {
  std::string text = lower_ascii(trimmed(field));
  for (const std::string_view sign : {"\xC2\xB0", "\xC2\xBA", "deg", "\xCB\x9A"})
    replace_all(text, sign, "d");
  for (const std::string_view sign : {"\xE2\x80\xB3", "\xE2\x80\x9D", "\xE2\x80\x9C", "\"", "''"})
    replace_all(text, sign, "s");
  for (const std::string_view sign : {"\xE2\x80\xB2", "\xE2\x80\x99", "\xE2\x80\x98", "'", "min"})
    replace_all(text, sign, "m");
  return text;
}

}  // namespace

std::optional<double> angle_deg_of(std::string_view field) {
  if (const auto plain = number_of(field)) return plain;
  std::string text = with_plain_signs(field);
  if (text.starts_with("\xE2\x88\x92")) text.replace(0, 3, "-");
  const bool negative = text.starts_with('-');
  if (negative || text.starts_with('+')) text.erase(0, 1);

  // Numbers, each closed by its sign, a colon, a blank or the end, in the order d, m, s.
  std::vector<double> parts;
  constexpr std::string_view kSigns = "dms";
  size_t at = 0;
  while (at < text.size()) {
    const size_t begin = text.find_first_of("0123456789.,", at);
    if (begin == std::string::npos ||
        text.substr(at, begin - at).find_first_not_of(' ') != std::string::npos)
      return std::nullopt;
    size_t end = text.find_first_not_of("0123456789.,", begin);
    if (end == std::string::npos) end = text.size();
    const auto value = number_of(text.substr(begin, end - begin));
    if (!value || parts.size() == 3) return std::nullopt;
    if (!parts.empty() && parts.back() != static_cast<double>(static_cast<long>(parts.back())))
      return std::nullopt;  // only the last part may have decimals
    parts.push_back(*value);
    while (end < text.size() && text[end] == ' ') ++end;
    if (end < text.size()) {
      const char sign = text[end];
      const bool expected = sign == kSigns[parts.size() - 1] ||
                            (sign == ':' && parts.size() < 3 && end + 1 < text.size());
      if (expected)
        ++end;
      else if (text[end - 1] != ' ' || sign < '0' || sign > '9')
        return std::nullopt;
    }
    while (end < text.size() && text[end] == ' ') ++end;
    at = end;
  }
  if (parts.empty()) return std::nullopt;
  parts.resize(3, 0.0);
  if (parts[1] >= 60 || parts[2] >= 60) return std::nullopt;
  const double degrees = parts[0] + parts[1] / 60 + parts[2] / 3600;
  return negative ? -degrees : degrees;
}

}  // namespace survey
