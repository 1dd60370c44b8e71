// app/handover/printable.h: which names and notes hold letters that no font here has?
// For the moment before a hand-over: in the report they would be boxes.
// Cost: one pass over the texts of the site
#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "survey/book/store.h"

namespace app {

struct Unprintable {
  std::string table, text, letters;  // the text is cut to 60 bytes, at a letter
};

std::vector<Unprintable> unprintable_texts(const survey::FieldBook& book);
// Each once, in their order; empty where a font has them all.
std::string letters_without_font(std::string_view utf8);

}  // namespace app
