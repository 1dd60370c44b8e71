#include "app/drawing/text_layout.h"

#include <fribidi.h>
#include <hb.h>
#include <utf8.h>

#include <algorithm>
#include <unordered_map>

#include "app/drawing/fonts.h"

namespace app {
namespace {

struct Decoded {
  std::vector<FriBidiChar> letters;
  std::vector<std::uint32_t> offsets;  // byte offset of each letter, and the end
};

// Wrong bytes become U+FFFD one by one; line breaks and tabs become spaces: this is one line.
Decoded decode(std::string_view text) {
  Decoded out;
  for (auto at = text.begin(); at != text.end();) {
    out.offsets.push_back(static_cast<std::uint32_t>(at - text.begin()));
    char32_t letter = 0xFFFD;
    try {
      letter = utf8::next(at, text.end());
    } catch (const utf8::exception&) {
      ++at;
    }
    if (letter < 0x20 || letter == 0x7F || letter == 0x2028 || letter == 0x2029) letter = ' ';
    out.letters.push_back(letter);
  }
  out.offsets.push_back(static_cast<std::uint32_t>(text.size()));
  return out;
}

struct Run {
  int from, to;  // letters
  int face;
  FriBidiLevel level;
  hb_script_t script;
};

std::vector<Run> runs_of(const Decoded& text, Weight weight) {
  const int count = static_cast<int>(text.letters.size());
  std::vector<FriBidiCharType> types(count);
  std::vector<FriBidiBracketType> brackets(count);
  std::vector<FriBidiLevel> levels(count, 0);
  fribidi_get_bidi_types(text.letters.data(), count, types.data());
  fribidi_get_bracket_types(text.letters.data(), count, types.data(), brackets.data());
  FriBidiParType direction = FRIBIDI_PAR_ON;
  if (!fribidi_get_par_embedding_levels_ex(types.data(), brackets.data(), count, &direction,
                                           levels.data())) {
    std::fill(levels.begin(), levels.end(), FriBidiLevel(0));  // out of memory: left to right
  }
  auto& fonts = Fonts::shared();
  auto* unicode = hb_unicode_funcs_get_default();
  std::vector<Run> runs;
  for (int i = 0; i < count; ++i) {
    const char32_t letter = text.letters[i];
    const bool neutral_letter = letter == ' ' || letter == 0xA0 || letter == 0x202F ||
                                letter == 0x200D || letter == 0x200C || letter == 0xFE0F;
    hb_script_t script = hb_unicode_script(unicode, letter);
    const bool common = script == HB_SCRIPT_COMMON || script == HB_SCRIPT_INHERITED;
    int face = fonts.face_for(letter, weight);
    if (!runs.empty()) {
      Run& last = runs.back();
      // A space or a joining mark stays with the letters before it, if their face has it at all.
      if (neutral_letter || script == HB_SCRIPT_INHERITED) {
        hb_codepoint_t glyph = 0;
        if (letter < 0x200B || letter >= 0xFE00 ||
            hb_font_get_nominal_glyph(fonts.shaping_font(last.face), letter, &glyph)) {
          face = last.face;
        }
      }
      const bool last_common = last.script == HB_SCRIPT_COMMON;
      if (last.face == face && last.level == levels[i] &&
          (common || last_common || last.script == script)) {
        last.to = i + 1;
        if (last_common && !common) last.script = script;
        continue;
      }
    }
    runs.push_back({i, i + 1, face, levels[i], common ? HB_SCRIPT_COMMON : script});
  }
  // Rule L2 of UAX #9 on whole runs: reverse every stretch at or above each level.
  FriBidiLevel highest = 0, lowest_odd = 127;
  for (const Run& run : runs) {
    highest = std::max(highest, run.level);
    if (run.level % 2 == 1) lowest_odd = std::min(lowest_odd, run.level);
  }
  for (int level = highest; level >= lowest_odd; --level) {
    for (auto it = runs.begin(); it != runs.end();) {
      auto end = std::find_if(it, runs.end(), [&](const Run& run) { return run.level < level; });
      std::reverse(it, end);
      it = end == runs.end() ? end : end + 1;
    }
  }
  return runs;
}

// At text size 1.
TextLine shape(std::string_view utf8, Weight weight, bool tabular) {
  TextLine line;
  auto& fonts = Fonts::shared();
  if (utf8.empty() || fonts.base_face(weight) < 0) return line;
  const Decoded text = decode(utf8);
  const hb_feature_t figures = {HB_TAG('t', 'n', 'u', 'm'), 1, HB_FEATURE_GLOBAL_START,
                                HB_FEATURE_GLOBAL_END};
  hb_buffer_t* buffer = hb_buffer_create();
  float pen = 0;
  for (const Run& run : runs_of(text, weight)) {
    hb_buffer_reset(buffer);
    hb_buffer_add_utf32(buffer, text.letters.data(), static_cast<int>(text.letters.size()),
                        static_cast<unsigned>(run.from), run.to - run.from);
    hb_buffer_set_direction(buffer, run.level % 2 ? HB_DIRECTION_RTL : HB_DIRECTION_LTR);
    hb_buffer_set_script(buffer, run.script);
    hb_buffer_guess_segment_properties(buffer);
    hb_shape(fonts.shaping_font(run.face), buffer, &figures, tabular ? 1 : 0);
    unsigned count = 0;
    const hb_glyph_info_t* info = hb_buffer_get_glyph_infos(buffer, &count);
    const hb_glyph_position_t* at = hb_buffer_get_glyph_positions(buffer, &count);
    const float unit = 1 / fonts.units_per_em(run.face);
    for (unsigned i = 0; i < count; ++i) {
      line.glyphs.push_back({run.face, info[i].codepoint, pen + at[i].x_offset * unit,
                             -at[i].y_offset * unit, text.offsets[info[i].cluster]});
      pen += at[i].x_advance * unit;
    }
  }
  hb_buffer_destroy(buffer);
  line.width = pen;
  return line;
}

// Screens draw the same words in every frame.
const TextLine& shaped(std::string_view utf8, const TextStyle& style) {
  thread_local std::unordered_map<std::string, TextLine> known;
  std::string key(utf8);
  key += style.weight == Weight::semibold ? 'b' : 'r';
  key += style.tabular ? 't' : 'p';
  if (auto it = known.find(key); it != known.end()) return it->second;
  if (known.size() >= 4096) known.clear();
  return known[key] = shape(utf8, style.weight, style.tabular);
}

// Byte offsets at which a line may be cut: before every letter that is no combining mark.
std::vector<std::size_t> cuts(std::string_view text) {
  auto* unicode = hb_unicode_funcs_get_default();
  const Decoded letters = decode(text);
  std::vector<std::size_t> at;
  for (std::size_t i = 0; i < letters.letters.size(); ++i) {
    if (i > 0 && hb_unicode_script(unicode, letters.letters[i]) == HB_SCRIPT_INHERITED) continue;
    at.push_back(letters.offsets[i]);
  }
  at.push_back(text.size());
  return at;
}

// The longest piece from the start that fits; at least one letter.
std::size_t fitting(std::string_view text, const TextStyle& style, float width) {
  const auto at = cuts(text);
  std::size_t low = 1, high = at.size() - 1;
  while (low < high) {
    const std::size_t middle = (low + high + 1) / 2;
    if (text_width(text.substr(0, at[middle]), style) <= width) {
      low = middle;
    } else {
      high = middle - 1;
    }
  }
  return at[std::min(low, at.size() - 1)];
}

// A number and its unit stay on one line: "15 %", "3.5 m", "−7 °C".
bool before_unit(std::string_view words, std::size_t space) {
  if (space == 0 || words[space - 1] < '0' || words[space - 1] > '9') return false;
  constexpr std::string_view kUnits[] = {"%",  "h",  "min", "s", "m",  "cm", "mm",   "km",    "ft",
                                         "in", "°C", "°F",  "K", "m²", "m³", "mm/h", "kWh/m²"};
  std::string_view next = words.substr(space + 1, words.find(' ', space + 1) - space - 1);
  while (!next.empty() && std::string_view(".,;:)").find(next.back()) != std::string_view::npos)
    next.remove_suffix(1);
  return std::find(std::begin(kUnits), std::end(kUnits), next) != std::end(kUnits);
}

// Where the lines of a paragraph end. Shaped as a whole it shows about where; each line shaped by
// itself, and the line that is a word longer, show exactly.
class LineEnds {
 public:
  LineEnds(std::string_view words, const TextStyle& style, float width)
      : words_(words), style_(style), width_(width) {
    for (std::size_t i = 0; i <= words.size(); ++i)
      if (i < words.size() ? words[i] == ' ' && !before_unit(words, i)
                           : i > 0 && words[i - 1] != ' ')
        ends_.push_back(i);
    for (const PlacedGlyph& glyph : shaped(words, style).glyphs)
      x_.emplace_back(glyph.cluster, glyph.x * style.size);
    std::sort(x_.begin(), x_.end());
  }
  // Of the line from there; the same place where not even one word fits.
  std::size_t after(std::size_t at) const {
    const auto fits = [&](std::size_t end) {
      return text_width(words_.substr(at, end - at), style_) <= width_;
    };
    const auto first = std::upper_bound(ends_.begin(), ends_.end(), at);
    const float room = x_of(at) + width_;
    auto end = std::partition_point(first, ends_.end() - 1,
                                    [&](std::size_t e) { return x_of(e) <= room; });
    while (end != first && !fits(*end)) --end;
    if (end == first && !fits(*end)) return at;
    while (end + 1 != ends_.end() && fits(*(end + 1))) ++end;
    return *end;
  }

 private:
  float x_of(std::size_t offset) const {
    const auto it = std::lower_bound(x_.begin(), x_.end(),
                                     std::pair(static_cast<std::uint32_t>(offset), -1e9f));
    return it == x_.end() ? x_.empty() ? 0 : x_.back().second : it->second;
  }
  std::string_view words_;
  const TextStyle& style_;
  float width_;
  std::vector<std::size_t> ends_;  // of words
  std::vector<std::pair<std::uint32_t, float>> x_;
};

}  // namespace

TextLine lay_out(std::string_view utf8, const TextStyle& style) {
  TextLine line = shaped(utf8, style);
  for (auto& glyph : line.glyphs) {
    glyph.x *= style.size;
    glyph.y *= style.size;
  }
  line.width *= style.size;
  return line;
}

float text_width(std::string_view utf8, const TextStyle& style) {
  return shaped(utf8, style).width * style.size;
}

float paragraph(Canvas& canvas, Point at, float width, std::string_view words,
                const TextStyle& style) {
  for (const std::string& row : wrapped(words, style, width)) {
    at.y += style.size * 1.33f;
    canvas.text(at, row, style);
  }
  return at.y;
}

bool right_to_left(std::string_view utf8) {
  const Decoded text = decode(utf8);
  const auto count = static_cast<FriBidiStrIndex>(text.letters.size());
  std::vector<FriBidiCharType> types(text.letters.size());
  fribidi_get_bidi_types(text.letters.data(), count, types.data());
  return FRIBIDI_IS_RTL(fribidi_get_par_direction(types.data(), count));
}

std::vector<std::string> wrapped(std::string_view utf8, const TextStyle& style, float width) {
  std::vector<std::string> lines;
  std::size_t start = 0;
  while (start <= utf8.size()) {  // paragraphs
    const std::size_t end = std::min(utf8.find('\n', start), utf8.size());
    const std::string_view words = utf8.substr(start, end - start);
    const std::size_t first_line = lines.size();
    const LineEnds ends(words, style, width);
    std::string line;
    for (std::size_t at = 0; at < words.size();) {
      if (words[at] == ' ') {
        ++at;
        continue;
      }
      if (const std::size_t to = ends.after(at); to > at) {
        line = words.substr(at, to - at);
        at = to + 1;
        if (at < words.size()) lines.push_back(std::move(line)), line.clear();
      } else {
        const std::string_view word = words.substr(at, words.find(' ', at) - at);
        const std::size_t cut = fitting(word, style, width);
        lines.emplace_back(word.substr(0, cut));
        at += cut == word.size() ? cut + 1 : cut;
      }
    }
    lines.push_back(std::move(line));
    if (right_to_left(words)) {
      for (std::size_t i = first_line; i < lines.size(); ++i) lines[i].insert(0, "\u200F");
    }
    start = end + 1;
  }
  // A word cut at its end leaves an empty line behind it.
  while (lines.size() > 1 && lines.back().empty()) lines.pop_back();
  return lines;
}

std::string shortened(std::string_view utf8, const TextStyle& style, float width) {
  if (text_width(utf8, style) <= width) return std::string(utf8);
  constexpr std::string_view kDots = "…";
  const float room = width - text_width(kDots, style);
  if (room <= 0 || utf8.empty()) return std::string(kDots);
  std::size_t cut = fitting(utf8, style, room);
  while (cut > 0 && utf8[cut - 1] == ' ') --cut;
  return std::string(utf8.substr(0, cut)) + std::string(kDots);
}

}  // namespace app
