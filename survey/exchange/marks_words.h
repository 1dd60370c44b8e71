// survey/exchange/marks_words.h: what the words at the head and in the cells of a sightings table mean.
// Reads   English, German and French names in any case, with or without accents and units
// Units   a column's own unit is taken into account: gon, radians, kilometres, feet; a column in metres
//         is no elevation angle, one in percent or mils no angle that could be taken
#pragma once

#include <optional>
#include <string>
#include <string_view>

#include "horizon/bearing/correction.h"
#include "horizon/skyline/skyline.h"

namespace survey {

enum class MarkColumn {
  unknown,
  bearing,
  north,
  elevation,
  kind,
  label,
  distance,
  sigma,
  bearing_sigma,
  elevation_sigma,
  width,
  layer,
  edge,
  station,
  time,
  instrument,
  back_bearing,
  group,
  note
};

struct MarkHeading {
  MarkColumn column = MarkColumn::unknown;
  std::optional<horizon::Reference> north = {};  // said by the name of the bearing's column
  double factor = 1;                             // to degrees or metres
  std::string unusable_unit = {};                // "mil", "%": the column cannot be taken
  bool unclear = false;                          // what stands in brackets is not known
};

MarkHeading mark_heading_of(std::string_view field);
std::optional<horizon::Reference> north_named(std::string_view field);
std::optional<horizon::Kind> kind_in_words(std::string_view field);
// "yes", "ja", "oui", "1" and their opposites.
std::optional<bool> yes_or_no(std::string_view field);
// Lower-case letters and digits, accents taken off: "Höhenwinkel (°)" is "hohenwinkel".
std::string plain_word(std::string_view field);

}  // namespace survey
