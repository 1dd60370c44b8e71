#include "survey/exchange/coordinates.h"

#include <algorithm>
#include <cmath>
#include <cstdio>
#include <optional>
#include <regex>
#include <vector>

#include "horizon/angle.h"
#include "survey/book/text.h"
#include "survey/exchange/grid.h"

namespace survey {
namespace {

using horizon::Code;
using horizon::fail;
using horizon::Place;
using horizon::Result;

constexpr size_t kLongest = 160;  // also bounds the depth of std::regex

tl::unexpected<horizon::Error> doubt(horizon::Sentence message) {
  return fail(Code::bad_input, std::move(message));
}

// Lower case; typographic signs become plain ones: '*' degrees, ' minutes, " seconds.
std::string plain(std::string_view raw) {
  std::string text(trimmed(raw));
  for (const std::string_view sign : {"\xE2\x88\x92", "\xE2\x80\x93", "\xE2\x80\x90"})
    replace_all(text, sign, "-");
  for (const std::string_view blank : {"\xC2\xA0", "\xE2\x80\xAF", "\xE2\x80\x89", "\t"})
    replace_all(text, blank, " ");
  for (const std::string_view sign : {"\xC2\xB0", "\xC2\xBA", "\xCB\x9A", "*"})
    replace_all(text, sign, "*");
  for (const std::string_view sign : {"\xE2\x80\xB3", "\xE2\x80\x9D", "\xE2\x80\x9C", "''"})
    replace_all(text, sign, "\"");
  for (const std::string_view sign :
       {"\xE2\x80\xB2", "\xE2\x80\x99", "\xE2\x80\x98", "\xC2\xB4", "`"})
    replace_all(text, sign, "'");
  replace_all(text, "''", "\"");
  text = lower_ascii(text);
  for (const std::string_view word : {"degrees", "degree", "deg"}) replace_all(text, word, "*");
  for (const std::string_view word : {"minutes", "minute", "min"}) replace_all(text, word, "'");
  for (const std::string_view word : {"seconds", "second", "sec"}) replace_all(text, word, "\"");
  replace_all(text, "north", "n");
  replace_all(text, "south", "s");
  replace_all(text, "east", "e");
  replace_all(text, "west", "w");
  return text;
}

bool digit(char c) { return c >= '0' && c <= '9'; }

Result<ReadPosition> checked(double latitude, double longitude, std::optional<double> height_m,
                             std::string system) {
  if (!(std::abs(latitude) <= 90))
    return doubt(std::abs(longitude) <= 90 && std::abs(latitude) <= 180 ? "error.latitude_over_90"
                                                                        : "error.latitude_between");
  if (!(longitude >= -180 && longitude <= 360)) return doubt("error.longitude_between");
  if (height_m && !(*height_m >= -500 && *height_m <= 9000))
    return doubt("error.third_number_is_height");
  return ReadPosition{{latitude, horizon::wrap_180(longitude), height_m.value_or(0)},
                      height_m.has_value(),
                      std::move(system)};
}

// ---- degrees ----

struct Number {
  double value = 0;
  int sign = 0;   // -1 or 1 where one is written
  char mark = 0;  // '*', '\'' or '"' behind it
  bool fraction = false;
};
struct Token {
  enum Kind { number, letter, separator } kind;
  Number n;
  char letter_or_sign = 0;
};

// Which commas are decimal ones: those between two digits, unless points are used or nothing else
// parts the numbers.
Result<std::string> with_points(std::string text) {
  const auto tight = [&](size_t i) {
    return text[i] == ',' && i > 0 && digit(text[i - 1]) && i + 1 < text.size() &&
           digit(text[i + 1]);
  };
  size_t commas = 0;
  for (size_t i = 0; i < text.size(); ++i) commas += tight(i);
  const bool has_point = text.find('.') != std::string::npos;
  const bool parted = text.find_first_not_of("0123456789,+-") != std::string::npos ||
                      text.find("-", 1) != std::string::npos;
  if (commas == 0 || has_point) return text;
  if (!parted && commas == 3) return doubt("error.commas_ambiguous");
  if (!parted) return text;
  for (size_t i = 0; i < text.size(); ++i)
    if (tight(i)) text[i] = '.';
  return text;
}

Result<std::vector<Token>> tokens_of(std::string_view text) {
  std::vector<Token> tokens;
  const auto last_number = [&]() -> Number* {
    return tokens.empty() || tokens.back().kind != Token::number ? nullptr : &tokens.back().n;
  };
  int sign = 0;
  for (size_t i = 0; i < text.size();) {
    const char c = text[i];
    if (digit(c) || c == '.') {
      size_t end = i;
      while (end < text.size() && (digit(text[end]) || text[end] == '.')) ++end;
      const auto value = number_of(text.substr(i, end - i));
      if (!value) return doubt({"error.number_unreadable", {std::string(text.substr(i, end - i))}});
      const bool fraction = text.substr(i, end - i).find('.') != std::string_view::npos;
      tokens.push_back({Token::number, {*value, sign, 0, fraction}, 0});
      sign = 0;
      i = end;
      continue;
    }
    if (sign != 0 && c != ' ') return doubt("error.sign_without_number");
    ++i;
    // "46d37m16s": letters that touch their number are marks; a later s is south.
    const bool touches = i >= 2 && (digit(text[i - 2]) || text[i - 2] == '.');
    Number* before = last_number();
    if (c == ' ') continue;
    if (c == '*' || c == '\'' || c == '"' || (touches && (c == 'd' || c == 'm'))) {
      if (!before || before->mark) return doubt("error.degree_sign_without_number");
      before->mark = c == 'd' ? '*' : c == 'm' ? '\'' : c;
      continue;
    }
    if (c == 's' && touches && before && tokens.size() >= 2 &&
        tokens[tokens.size() - 2].kind == Token::number &&
        tokens[tokens.size() - 2].n.mark == '\'') {
      before->mark = '"';
      continue;
    }
    if (c == ':') {
      if (!before || before->mark) return doubt("error.colon_without_number");
      const bool second = tokens.size() >= 2 && tokens[tokens.size() - 2].kind == Token::number &&
                          tokens[tokens.size() - 2].n.mark == '*';
      before->mark = second ? '\'' : '*';
      continue;
    }
    if (c == '+' || c == '-') {
      sign = c == '-' ? -1 : 1;
      continue;
    }
    if (c == ',' || c == ';' || c == '/' || c == '|' || c == '\n') {
      tokens.push_back({Token::separator, {}, c});
      continue;
    }
    if (c == 'n' || c == 's' || c == 'e' || c == 'w') {
      tokens.push_back({Token::letter, {}, c});
      continue;
    }
    if (c == 'o') return doubt("error.letter_o_ambiguous");
    return doubt("error.position_unreadable");
  }
  if (sign != 0) return doubt("error.sign_without_number");
  return tokens;
}

Result<double> angle_of(const std::vector<Number>& parts) {
  if (parts.empty() || parts.size() > 3) return doubt("error.angle_parts");
  constexpr char kMarks[] = {'*', '\'', '"'};
  double degrees = 0, unit = 1;
  for (size_t i = 0; i < parts.size(); ++i) {
    if (parts[i].mark && parts[i].mark != kMarks[i]) return doubt("error.angle_order");
    if (i > 0 && (parts[i].value >= 60 || parts[i].sign)) return doubt("error.minutes_below_60");
    if (i + 1 < parts.size() && parts[i].fraction) return doubt("error.decimals_in_last_only");
    degrees += parts[i].value * unit;
    unit /= 60;
  }
  return parts[0].sign < 0 ? -degrees : degrees;
}

Result<ReadPosition> with_letters(const std::vector<Token>& tokens) {
  std::vector<std::vector<Number>> groups(1);
  std::vector<char> letters;
  const bool letter_first = tokens.front().kind == Token::letter;
  if (letter_first) groups.clear();
  for (const Token& token : tokens) {
    if (token.kind == Token::letter) {
      letters.push_back(token.letter_or_sign);
      groups.emplace_back();
    } else if (token.kind == Token::number) {
      groups.back().push_back(token.n);
    } else if (letter_first && groups.size() == 2 && !groups.back().empty()) {
      groups.emplace_back();  // behind the second angle: a height
    }
  }
  if (letters.size() != 2) return doubt("error.letters_for_both");
  std::optional<double> height_m;
  if (groups.size() == 3) {
    if (groups[2].size() > 1) return doubt("error.too_many_numbers");
    if (groups[2].size() == 1) height_m = groups[2][0].value * (groups[2][0].sign < 0 ? -1 : 1);
  }
  std::optional<double> latitude, longitude;
  for (size_t i = 0; i < 2; ++i) {
    const auto angle = angle_of(groups[i]);
    if (!angle) return tl::unexpected(angle.error());
    if (groups[i][0].sign) return doubt("error.sign_or_letter");
    const char letter = letters[i];
    (letter == 'n' || letter == 's' ? latitude : longitude) =
        letter == 's' || letter == 'w' ? -*angle : *angle;
  }
  if (!latitude || !longitude) return doubt("error.letters_ns_ew");
  return checked(*latitude, *longitude, height_m, "degrees");
}

Result<ReadPosition> without_letters(const std::vector<Token>& tokens) {
  std::vector<std::vector<Number>> groups(1);
  bool separated = false, marked = false;
  for (const Token& token : tokens) {
    separated |= token.kind == Token::separator;
    marked |= token.kind == Token::number && token.n.mark == '*';
  }
  for (const Token& token : tokens) {
    if (token.kind == Token::separator) {
      if (!groups.back().empty()) groups.emplace_back();
      continue;
    }
    const bool next =
        !separated && !groups.back().empty() && (marked ? token.n.mark == '*' : token.n.sign != 0);
    if (next) groups.emplace_back();
    groups.back().push_back(token.n);
  }
  if (groups.back().empty()) groups.pop_back();
  if (groups.size() == 1 && !separated && !marked) {  // "46 37 10 20": the same number for each
    const std::vector<Number> all = groups[0];
    if (all.size() == 2 || all.size() == 4 || all.size() == 6) {
      const auto middle = all.begin() + static_cast<std::ptrdiff_t>(all.size() / 2);
      groups = {{all.begin(), middle}, {middle, all.end()}};
    } else if (all.size() == 3 && all[0].fraction && all[1].fraction) {
      groups = {{all[0]}, {all[1]}, {all[2]}};
    }
  }
  if (groups.size() < 2 || groups.size() > 3 || (groups.size() == 3 && groups[2].size() != 1))
    return doubt("error.position_is_two_numbers");
  const auto latitude = angle_of(groups[0]);
  if (!latitude) return tl::unexpected(latitude.error());
  const auto longitude = angle_of(groups[1]);
  if (!longitude) return tl::unexpected(longitude.error());
  std::optional<double> height_m;
  if (groups.size() == 3) height_m = groups[2][0].value * (groups[2][0].sign < 0 ? -1 : 1);
  return checked(*latitude, *longitude, height_m, "degrees");
}

Result<ReadPosition> degrees_position(std::string text) {
  text = std::regex_replace(
      text, std::regex("\\b(latitude|longitude|lat|long|lon|lng|breite|laenge)\\b\\s*[.:=]?"), " ");
  // A height's unit.
  text = std::regex_replace(text, std::regex("([0-9])\\s*m$"), "$1");
  auto pointed = with_points(std::move(text));
  if (!pointed) return tl::unexpected(pointed.error());
  const auto tokens = tokens_of(*pointed);
  if (!tokens) return tl::unexpected(tokens.error());
  bool numbers = false, letters = false;
  for (const Token& token : *tokens) {
    numbers |= token.kind == Token::number;
    letters |= token.kind == Token::letter;
  }
  if (!numbers) return doubt("error.no_position");
  return letters ? with_letters(*tokens) : without_letters(*tokens);
}

// ---- standards' compact forms ----

// ISO 6709 annex H: +DD.d, +DDMM.m or +DDMMSS.s, the longitude with three digits of degrees.
double iso_angle(const std::string& sign, const std::string& digits, int degree_digits) {
  const size_t whole = std::min(digits.find('.'), digits.size());
  const double value = number_of(digits).value_or(0);
  double degrees = value;
  if (static_cast<int>(whole) == degree_digits + 2)
    degrees = std::floor(value / 100) + std::fmod(value, 100) / 60;
  if (static_cast<int>(whole) == degree_digits + 4)
    degrees = std::floor(value / 10000) + std::fmod(std::floor(value / 100), 100) / 60 +
              std::fmod(value, 100) / 3600;
  return sign == "-" ? -degrees : degrees;
}

std::optional<Result<ReadPosition>> iso_6709(const std::string& text) {
  static const std::regex form(
      "([+-])(\\d{2}(?:\\d{2}){0,2}(?:\\.\\d+)?)([+-])(\\d{3}(?:\\d{2}){0,2}(?:\\.\\d+)?)"
      "([+-]\\d+(?:\\.\\d+)?)?(?:crs[a-z0-9_:]+)?/?");
  std::smatch m;
  if (!std::regex_match(text, m, form)) return std::nullopt;
  std::optional<double> height_m;
  if (m[5].matched) height_m = number_of(m[5].str());
  return checked(iso_angle(m[1], m[2], 2), iso_angle(m[3], m[4], 3), height_m, "ISO 6709");
}

Result<ReadPosition> geo_uri(const std::string& text) {
  static const std::regex form("geo:(-?[0-9.]+),(-?[0-9.]+)(?:,(-?[0-9.]+))?(;.*)?");
  std::smatch m;
  if (!std::regex_match(text, m, form)) return doubt("error.geo_address");
  const auto latitude = number_of(m[1].str()), longitude = number_of(m[2].str());
  std::optional<double> height_m;
  if (m[3].matched) height_m = number_of(m[3].str());
  const std::string rest = m[4].str();
  if (rest.find("crs=") != std::string::npos && rest.find("crs=wgs84") == std::string::npos)
    return doubt("error.geo_wgs84_only");
  return checked(latitude.value_or(NAN), longitude.value_or(NAN), height_m, "geo address");
}

// ---- map grids ----

double metres_of(std::string text) {
  text.erase(std::remove_if(text.begin(), text.end(), [](char c) { return c == '\'' || c == ' '; }),
             text.end());
  return number_of(text).value_or(NAN);
}

Result<ReadPosition> grid_position(const std::string& text) {
  static const std::regex form("epsg\\s*:?\\s*(\\d+)[\\s,;:]+(-?[\\d'.]+)[\\s,;]+(-?[\\d'.]+)");
  std::smatch m;
  if (!std::regex_match(text, m, form)) return doubt("error.grid_position");
  const std::string code = "EPSG:" + m[1].str();
  const auto grid = Grid::open(code);
  if (!grid) return tl::unexpected(grid.error());
  const auto place = grid->place_of(metres_of(m[2]), metres_of(m[3]));
  if (!place) return tl::unexpected(place.error());
  return ReadPosition{*place, false, code};
}

constexpr std::string_view kBands = "cdefghjklmnpqrstuvwx";  // 8 degrees each from 80 S, X 12

std::optional<Result<ReadPosition>> utm_position(const std::string& text) {
  static const std::regex form(
      "(?:utm[\\s:]*)?(?:zone\\s*)?(\\d{1,2})\\s*([a-z])[\\s,;]+"
      "([en]?)\\s*(\\d{5,8}(?:[.,]\\d+)?)\\s*m?\\s*([en]?)[\\s,;]+"
      "([en]?)\\s*(\\d{5,8}(?:[.,]\\d+)?)\\s*m?\\s*([en]?)");
  std::smatch m;
  if (!std::regex_match(text, m, form)) return std::nullopt;
  Utm utm{.zone = static_cast<int>(number_of(m[1].str()).value_or(0))};
  std::string first = m[3].str() + m[5].str(), second = m[6].str() + m[8].str();
  if (m[3].matched && first.size() == 2 && second.empty()) {  // "E 597000 N 5163000"
    second = first.substr(1);
    first.pop_back();
  }
  if (first.size() > 1 || second.size() > 1 || (!first.empty() && first == second))
    return doubt("error.easting_northing_letters");
  const bool northing_first = first == "n" || second == "e";
  utm.easting_m = metres_of(m[northing_first ? 7 : 4]);
  utm.northing_m = metres_of(m[northing_first ? 4 : 7]);
  const char letter = m[2].str()[0];
  if (kBands.find(letter) == std::string_view::npos) return doubt("error.zone_letter");
  utm.north = letter >= 'n';
  if (letter == 's') {
    utm.north = false;
    // Band S is 32 to 40 N; the same numbers in the south are a place at 50 to 58 S.
    if (utm.northing_m > 3.53e6 && utm.northing_m < 4.44e6)
      return doubt({"error.zone_s_ambiguous", {m[1].str()}});
  }
  const auto place = place_of(utm);
  if (!place) return tl::unexpected(place.error());
  return ReadPosition{*place, false, "UTM " + std::to_string(utm.zone) + (utm.north ? "N" : "S")};
}

std::optional<Result<ReadPosition>> mgrs_position(const std::string& text) {
  static const std::regex form(
      "(?:mgrs[\\s:]*)?(\\d{1,2})\\s*([c-x])\\s*([a-z])([a-z])\\s*(\\d*)\\s*(\\d*)");
  std::smatch m;
  if (!std::regex_match(text, m, form)) return std::nullopt;
  const std::string digits = m[5].str() + m[6].str();
  const bool halves = m[6].str().empty() || m[5].str().size() == m[6].str().size();
  if (digits.size() % 2 != 0 || digits.size() > 10 || !halves) return doubt("error.mgrs_digits");
  constexpr std::string_view kColumns[] = {"stuvwxyz", "abcdefgh", "jklmnpqr"};  // by zone % 3
  constexpr std::string_view kRows = "abcdefghjklmnpqrstuv";
  Utm utm{.zone = static_cast<int>(number_of(m[1].str()).value_or(0))};
  const size_t column = utm.zone >= 1 && utm.zone <= 60 ? kColumns[utm.zone % 3].find(m[3].str()[0])
                                                        : std::string_view::npos;
  const size_t row = kRows.find(m[4].str()[0]), band = kBands.find(m[2].str()[0]);
  if (column == std::string_view::npos || row == std::string_view::npos ||
      band == std::string_view::npos)
    return doubt("error.mgrs_square_unknown");
  const size_t half = digits.size() / 2;
  const double unit_m = std::pow(10.0, 5.0 - static_cast<double>(half));
  const double east = half ? metres_of(digits.substr(0, half)) : 0;
  const double north = half ? metres_of(digits.substr(half)) : 0;
  utm.north = band >= 10;
  utm.easting_m = (static_cast<double>(column) + 1) * 1e5 + (east + 0.5) * unit_m;
  // Row letters repeat every 2000 km and start five further on in even zones.
  const double in_cycle =
      std::fmod(static_cast<double>(row) + (utm.zone % 2 == 0 ? 15 : 0), 20) * 1e5 +
      (north + 0.5) * unit_m;
  const double band_south = -80 + 8.0 * static_cast<double>(band);
  const double band_north = band_south + (band == 19 ? 12 : 8);
  for (int cycle = 0; cycle < 5; ++cycle) {
    utm.northing_m = in_cycle + 2e6 * cycle;
    const auto place = place_of(utm);
    // A square may reach over the band's edge: 100 km are less than one degree.
    if (place && place->latitude_deg > band_south - 1 && place->latitude_deg < band_north + 1)
      return ReadPosition{*place, false, "MGRS"};
  }
  return doubt("error.mgrs_square_not_in_band");
}

std::string angle_text(double degrees, AngleStyle style, const char* letters) {
  const char letter = letters[degrees < 0 ? 1 : 0];
  const double size = std::abs(degrees);
  char text[64];
  if (style == AngleStyle::decimal) {
    std::snprintf(text, sizeof text, "%.5f\xC2\xB0 %c", size, letter);
  } else if (style == AngleStyle::minutes) {
    const auto thousandths = std::llround(size * 60000);
    std::snprintf(text, sizeof text, "%lld\xC2\xB0%06.3f' %c", thousandths / 60000,
                  static_cast<double>(thousandths % 60000) / 1000, letter);
  } else {
    const auto tenths = std::llround(size * 36000);
    std::snprintf(text, sizeof text, "%lld\xC2\xB0%02lld'%04.1f\" %c", tenths / 36000,
                  tenths / 600 % 60, static_cast<double>(tenths % 600) / 10, letter);
  }
  return text;
}

}  // namespace

Result<ReadPosition> position_of(std::string_view raw) {
  if (raw.size() > kLongest) return doubt("error.position_too_long");
  const std::string text = plain(raw);
  if (text.empty()) return doubt("error.no_position");
  if (text.starts_with("geo:")) return geo_uri(text);
  if (text.starts_with("epsg")) return grid_position(text);
  if (const auto iso = iso_6709(text)) return *iso;
  if (const auto utm = utm_position(text)) return *utm;
  if (const auto mgrs = mgrs_position(text)) return *mgrs;
  return degrees_position(text);
}

std::string format_position(const Place& place, AngleStyle style) {
  return angle_text(place.latitude_deg, style, "NS") + ", " +
         angle_text(place.longitude_deg, style, "EW");
}

}  // namespace survey
