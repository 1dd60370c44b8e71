#include "app/handover/printable.h"

#include <hb.h>

#include <algorithm>
#include <memory>

#include "app/drawing/fonts.h"
#include "survey/book/store_internal.h"
#include "survey/book/table.h"

namespace app {
namespace {

// Joiners, marks of direction, variation selectors and blanks are drawn as nothing.
bool is_drawn(char32_t letter) {
  const auto of = hb_unicode_general_category(hb_unicode_funcs_get_default(), letter);
  return of != HB_UNICODE_GENERAL_CATEGORY_CONTROL && of != HB_UNICODE_GENERAL_CATEGORY_FORMAT &&
         of != HB_UNICODE_GENERAL_CATEGORY_SPACE_SEPARATOR &&
         of != HB_UNICODE_GENERAL_CATEGORY_LINE_SEPARATOR &&
         !(letter >= 0xFE00 && letter <= 0xFE0F);
}

std::string cut(const std::string& text) {
  std::size_t most = 60;
  if (text.size() <= most) return text;
  while (most > 0 && (static_cast<unsigned char>(text[most]) & 0xC0) == 0x80) --most;
  return text.substr(0, most) + "…";
}

}  // namespace

std::string letters_without_font(std::string_view utf8) {
  if (std::ranges::all_of(utf8, [](char c) { return static_cast<unsigned char>(c) < 0x80; }))
    return {};
  const std::unique_ptr<hb_buffer_t, void (*)(hb_buffer_t*)> buffer(hb_buffer_create(),
                                                                    hb_buffer_destroy);
  hb_buffer_add_utf8(buffer.get(), utf8.data(), static_cast<int>(utf8.size()), 0, -1);
  unsigned count = 0;
  const hb_glyph_info_t* letters = hb_buffer_get_glyph_infos(buffer.get(), &count);
  std::string missing;
  for (unsigned i = 0; i < count; ++i) {
    const char32_t letter = letters[i].codepoint;
    if (letter < 0x250 || !is_drawn(letter)) continue;
    const std::size_t end = i + 1 < count ? letters[i + 1].cluster : utf8.size();
    const std::string_view bytes = utf8.substr(letters[i].cluster, end - letters[i].cluster);
    if (missing.find(bytes) != std::string::npos) continue;
    const int face = Fonts::shared().face_for(letter, Weight::regular);
    hb_codepoint_t glyph = 0;
    if (face < 0 ||
        !hb_font_get_nominal_glyph(Fonts::shared().shaping_font(face), letter, &glyph) ||
        glyph == 0)
      missing += bytes;
  }
  return missing;
}

std::vector<Unprintable> unprintable_texts(const survey::FieldBook& book) {
  std::vector<Unprintable> found;
  for (const survey::Table* table : survey::all_tables())
    survey::each_row(book.store(), *table, [&](const survey::Statement& row) {
      for (int i = 1; i < static_cast<int>(table->columns.size()); ++i) {
        const std::string_view text = row.view(survey::kFirstCell + i);
        if (const std::string letters = letters_without_font(text); !letters.empty())
          found.push_back({table->name, cut(std::string(text)), letters});
      }
    });
  return found;
}

}  // namespace app
