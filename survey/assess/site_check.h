// survey/assess/site_check.h: is the file sound, is what it holds likely, what is still missing.
// Each finding says where it is and what cures it.
// Source: OGC 12-128r18, requirements 1 to 18 (base), 19 to 34 (features), 118 (attributes), by
//         what they ask; limits of likely values are common practice
#pragma once

#include <string>
#include <vector>

#include "survey/book/store.h"

namespace survey {

enum class Weight : std::uint8_t {
  damage,    // the file itself: something is lost or breaks the standard
  doubtful,  // can be so, but look at it
  to_do,     // the walk is not finished
};
std::string_view name_of(Weight weight);  // "damage", "doubtful", "to do"

struct CheckItem {
  Weight weight = Weight::damage;
  std::string where;       // "sighting 12, \"spruce\"", "photo \"a.jpg\""
  horizon::Sentence what;  // what is wrong and the cure
};

struct CheckOptions {
  bool photos = true;    // hash every photograph: a second for 500 MB
  bool progress = true;  // unfinished stops
};

// Reads only. A file that does not open at all is for survey/book/recover.h.
horizon::Result<std::vector<CheckItem>> check_site(const FieldBook& book,
                                                   const CheckOptions& options = {});

}  // namespace survey
