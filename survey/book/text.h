// survey/book/text.h: bytes from anywhere to clean UTF-8 text.
// Reads UTF-8 and UTF-16 with or without mark, and falls back to Windows-1252 (Latin-1 with the
// signs Windows adds) for bytes that are no UTF-8. Line ends of all systems become '\n'.
#pragma once

#include <optional>
#include <string>
#include <string_view>

#include "horizon/result.h"

namespace survey {

struct Text {
  std::string utf8;
  std::string note;  // empty, or what was taken for granted: "read as Latin-1"
};

// Fails for what is no text at all (control bytes, half a UTF-16 file).
horizon::Result<Text> text_of(std::string_view bytes);
horizon::Result<std::string> read_file(const std::string& path);

std::string_view trimmed(std::string_view text);
std::string lower_ascii(std::string_view text);
void replace_all(std::string& text, std::string_view from, std::string_view to);
bool valid_utf8(std::string_view bytes);
// XML 1.0 knows no control characters but tab and line end: those others are left out.
std::string without_controls(std::string_view text);

// A text for a cell of a table: one that a spreadsheet would run as a formula (it begins with
// = + - @, tab or line end) gets a leading apostrophe, which our own readers take off again.
std::string csv_text(std::string_view text);
std::string without_apostrophe(std::string_view cell);
// Quoted where it needs it (RFC 4180; also for tables separated by semicolons or tabs).
std::string csv_field(std::string_view text);

// A number as people write it: "12.5", "12,5", "-3", "1e3"; nothing else in the field.
// Not a number, infinite or with rest: nullopt.
std::optional<double> number_of(std::string_view text);

}  // namespace survey
