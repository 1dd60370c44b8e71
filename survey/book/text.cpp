#include "survey/book/text.h"

#include <utf8.h>

#include <algorithm>
#include <cmath>
#include <cstdint>
#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <sstream>

namespace survey {
namespace {

using horizon::Code;
using horizon::fail;
using horizon::Result;

// Latin-1 with the signs that Windows keeps where Latin-1 has control characters.
std::uint32_t of_windows_1252(char byte) {
  constexpr std::uint32_t kSigns[32] = {
      0x20AC, 0x81,   0x201A, 0x192,  0x201E, 0x2026, 0x2020, 0x2021, 0x2C6,  0x2030, 0x160,
      0x2039, 0x152,  0x8D,   0x17D,  0x8F,   0x90,   0x2018, 0x2019, 0x201C, 0x201D, 0x2022,
      0x2013, 0x2014, 0x2DC,  0x2122, 0x161,  0x203A, 0x153,  0x9D,   0x17E,  0x178};
  const auto c = static_cast<unsigned char>(byte);
  return c >= 0x80 && c < 0xA0 ? kSigns[c - 0x80] : c;
}

// Every other byte zero, as in Latin letters of UTF-16 whose mark was left out.
bool looks_like_utf16(std::string_view bytes, bool big_endian) {
  if (bytes.size() < 8 || bytes.size() % 2) return false;
  size_t zeros = 0, pairs = std::min<size_t>(bytes.size() / 2, 200);
  for (size_t i = 0; i < pairs; ++i) zeros += bytes[2 * i + (big_endian ? 0 : 1)] == '\0';
  return zeros * 10 > pairs * 8;
}

Result<std::string> from_utf16(std::string_view bytes, bool big_endian) {
  if (bytes.size() % 2) return fail(Code::bad_input, "error.half_utf16");
  std::string out;
  const auto unit = [&](size_t i) -> std::uint32_t {
    const auto a = static_cast<unsigned char>(bytes[i]),
               b = static_cast<unsigned char>(bytes[i + 1]);
    return big_endian ? a << 8 | b : b << 8 | a;
  };
  for (size_t i = 0; i < bytes.size(); i += 2) {
    std::uint32_t c = unit(i);
    if (c >= 0xD800 && c < 0xDC00 && i + 3 < bytes.size() && unit(i + 2) >= 0xDC00 &&
        unit(i + 2) < 0xE000) {
      c = 0x10000 + ((c - 0xD800) << 10) + (unit(i + 2) - 0xDC00);
      i += 2;
    } else if (c >= 0xD800 && c < 0xE000) {
      c = 0xFFFD;
    }
    utf8::append(static_cast<char32_t>(c), out);
  }
  return out;
}

void unify_line_ends(std::string& text) {
  size_t out = 0;
  for (size_t i = 0; i < text.size(); ++i) {
    if (text[i] == '\r') {
      text[out++] = '\n';
      if (i + 1 < text.size() && text[i + 1] == '\n') ++i;
    } else {
      text[out++] = text[i];
    }
  }
  text.resize(out);
}

}  // namespace

bool valid_utf8(std::string_view bytes) { return utf8::is_valid(bytes); }

Result<Text> text_of(std::string_view bytes) {
  Text text;
  if (bytes.starts_with("\xFF\xFE") || bytes.starts_with("\xFE\xFF")) {
    auto decoded = from_utf16(bytes.substr(2), bytes[0] == '\xFE');
    if (!decoded) return tl::unexpected(decoded.error());
    text.utf8 = std::move(*decoded);
  } else if (const bool big = looks_like_utf16(bytes, true);
             big || looks_like_utf16(bytes, false)) {
    auto decoded = from_utf16(bytes, big);
    if (!decoded) return tl::unexpected(decoded.error());
    text.utf8 = std::move(*decoded);
    text.note = "error.read_as_utf16";
  } else {
    if (bytes.starts_with("\xEF\xBB\xBF")) bytes.remove_prefix(3);
    if (valid_utf8(bytes)) {
      text.utf8 = bytes;
    } else {
      for (const char c : bytes) utf8::append(static_cast<char32_t>(of_windows_1252(c)), text.utf8);
      text.note = "error.read_as_latin1";
    }
  }
  while (text.utf8.ends_with('\x1A')) text.utf8.pop_back();  // DOS's end of file
  for (const char c : text.utf8)
    if (static_cast<unsigned char>(c) < 0x20 && c != '\n' && c != '\r' && c != '\t')
      return fail(Code::bad_input, "error.no_text_file");
  unify_line_ends(text.utf8);
  return text;
}

Result<std::string> read_file(const std::string& path) {
  std::error_code none;
  if (!std::filesystem::exists(path, none))
    return fail(Code::not_found, "error.no_such_file_check_name", path);
  std::ifstream in(path, std::ios::binary);
  if (!in) return fail(Code::failed, "error.file_not_opened_permission", path);
  std::ostringstream bytes;
  bytes << in.rdbuf();
  if (in.bad()) return fail(Code::failed, "error.file_not_read_to_end", path);
  return std::move(bytes).str();
}

std::string_view trimmed(std::string_view text) {
  const auto blank = [](char c) { return c == ' ' || c == '\t' || c == '\n'; };
  while (!text.empty() && blank(text.front())) text.remove_prefix(1);
  while (!text.empty() && blank(text.back())) text.remove_suffix(1);
  return text;
}

void replace_all(std::string& text, std::string_view from, std::string_view to) {
  for (size_t at = text.find(from); at != std::string::npos; at = text.find(from, at + to.size()))
    text.replace(at, from.size(), to);
}

std::string lower_ascii(std::string_view text) {
  std::string out(text);
  for (char& c : out)
    if (c >= 'A' && c <= 'Z') c += 'a' - 'A';
  return out;
}

namespace {
bool runs_as_formula(std::string_view text) {
  return !text.empty() && std::string_view("=+-@\t\r\n").find(text[0]) != std::string_view::npos;
}
}  // namespace

std::string csv_text(std::string_view text) {
  // A text that begins with apostrophes before such a sign gets one more, so that all come back.
  const auto first = text.find_first_not_of('\'');
  const bool escape = first != std::string_view::npos && runs_as_formula(text.substr(first));
  return (escape ? "'" : "") + std::string(text);
}
std::string without_apostrophe(std::string_view cell) {
  const auto first = cell.find_first_not_of('\'');
  const bool escaped =
      first != std::string_view::npos && first > 0 && runs_as_formula(cell.substr(first));
  return std::string(escaped ? cell.substr(1) : cell);
}
std::string without_controls(std::string_view text) {
  std::string clean;
  for (const char c : text)
    if (static_cast<unsigned char>(c) >= 0x20 || c == '\t' || c == '\n') clean += c;
  return clean;
}

std::string csv_field(std::string_view text) {
  if (text.find_first_of(",;\t\"\r\n#") == std::string_view::npos && !text.starts_with(' ') &&
      !text.ends_with(' '))
    return std::string(text);
  std::string field = "\"";
  for (const char c : text) field += c == '"' ? std::string("\"\"") : std::string(1, c);
  return field + "\"";
}

std::optional<double> number_of(std::string_view field) {
  std::string text(trimmed(field));
  if (text.starts_with("\xE2\x88\x92")) text.replace(0, 3, "-");  // the minus sign U+2212
  for (char& c : text)
    if (c == ',') c = '.';
  // strtod also reads "nan", "inf" and hexadecimal; none is a field reading.
  if (text.empty() || text.find_first_not_of("0123456789.eE+-") != std::string::npos)
    return std::nullopt;
  char* end = nullptr;
  const double value = std::strtod(text.c_str(), &end);
  if (end != text.c_str() + text.size() || !std::isfinite(value)) return std::nullopt;
  return value;
}

}  // namespace survey
