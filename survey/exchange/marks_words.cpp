#include "survey/exchange/marks_words.h"

#include <algorithm>
#include <array>
#include <utility>

#include "survey/book/text.h"

namespace survey {
namespace {

using horizon::Kind;
using horizon::Reference;

struct Letter {
  std::string_view utf8, plain;
};
constexpr Letter kAccents[] = {
    {"ä", "a"}, {"ö", "o"}, {"ü", "u"}, {"Ä", "a"}, {"Ö", "o"}, {"Ü", "u"}, {"ß", "ss"},
    {"é", "e"}, {"è", "e"}, {"ê", "e"}, {"ë", "e"}, {"É", "e"}, {"È", "e"}, {"Ê", "e"},
    {"à", "a"}, {"â", "a"}, {"À", "a"}, {"Â", "a"}, {"î", "i"}, {"ï", "i"}, {"Î", "i"},
    {"ô", "o"}, {"Ô", "o"}, {"û", "u"}, {"ù", "u"}, {"ç", "c"}, {"Ç", "c"}, {"œ", "oe"},
};

bool contains(std::string_view text, std::string_view part) {
  return text.find(part) != std::string_view::npos;
}

bool is_any(std::string_view name, std::initializer_list<std::string_view> names) {
  return std::find(names.begin(), names.end(), name) != names.end();
}

struct Unit {
  enum class Of { unsaid, angle, length, unusable, unclear } of = Of::unsaid;
  double factor = 1;                             // to degrees or metres
  std::optional<horizon::Reference> north = {};  // in brackets as well: "(magnetic)", "[° M]"
  std::string name;                              // of the column, without the unit
  std::string word;                              // as it stands there
};

struct UnitWord {
  std::string_view word;
  Unit::Of of;
  double factor = 1;
};
// What a unit of angle named "mil" is depends on its maker: 6400, 6300 or 6000 to the turn.
constexpr UnitWord kUnitWords[] = {
    {"deg", Unit::Of::angle},
    {"degree", Unit::Of::angle},
    {"degrees", Unit::Of::angle},
    {"degre", Unit::Of::angle},
    {"degres", Unit::Of::angle},
    {"grad", Unit::Of::angle},
    {"altgrad", Unit::Of::angle},
    {"gon", Unit::Of::angle, 0.9},
    {"grade", Unit::Of::angle, 0.9},
    {"grades", Unit::Of::angle, 0.9},
    {"gr", Unit::Of::angle, 0.9},
    {"g", Unit::Of::angle, 0.9},
    {"neugrad", Unit::Of::angle, 0.9},
    {"rad", Unit::Of::angle, 57.29577951308232},
    {"radian", Unit::Of::angle, 57.29577951308232},
    {"radians", Unit::Of::angle, 57.29577951308232},
    {"radiant", Unit::Of::angle, 57.29577951308232},
    {"mrad", Unit::Of::angle, 0.05729577951308232},
    {"m", Unit::Of::length},
    {"metre", Unit::Of::length},
    {"metres", Unit::Of::length},
    {"meter", Unit::Of::length},
    {"meters", Unit::Of::length},
    {"km", Unit::Of::length, 1000},
    {"cm", Unit::Of::length, 0.01},
    {"ft", Unit::Of::length, 0.3048},
    {"feet", Unit::Of::length, 0.3048},
    {"yd", Unit::Of::length, 0.9144},
    {"yards", Unit::Of::length, 0.9144},
    {"mi", Unit::Of::length, 1609.344},
    {"miles", Unit::Of::length, 1609.344},
    {"percent", Unit::Of::unusable},
    {"prozent", Unit::Of::unusable},
    {"mil", Unit::Of::unusable},
    {"mils", Unit::Of::unusable},
    {"strich", Unit::Of::unusable},
    {"millieme", Unit::Of::unusable},
    {"milliemes", Unit::Of::unusable},
    {"slope", Unit::Of::unusable},
    {"ratio", Unit::Of::unusable},
    {"tan", Unit::Of::unusable},
    {"tangent", Unit::Of::unusable},
    {"min", Unit::Of::unusable},
    {"minutes", Unit::Of::unusable},
    {"arcmin", Unit::Of::unusable},
    {"sec", Unit::Of::unusable},
    {"arcsec", Unit::Of::unusable},
};

const UnitWord* unit_word(std::string_view word) {
  const auto found = std::ranges::find(kUnitWords, word, &UnitWord::word);
  return found == std::end(kUnitWords) ? nullptr : found;
}

// One word of what stands in brackets, or the last of a name.
void take_unit_word(Unit& unit, std::string_view raw) {
  if (raw == "%" || contains(raw, ":") || contains(raw, "/")) {
    unit.of = Unit::Of::unusable;
    return;
  }
  const std::string plain = plain_word(raw);
  const UnitWord* known = unit_word(plain);
  const auto north = north_named(raw);
  if (north && (!known || unit.of == Unit::Of::angle)) {
    unit.north = north;  // "m" and "g" too, after a degree
  } else if (known) {
    // Two units in one place ("km m"): neither.
    unit.of = unit.of == Unit::Of::unsaid ? known->of : Unit::Of::unusable;
    unit.factor = known->factor;
  } else if (!plain.empty() && unit.of == Unit::Of::unsaid) {
    unit.of = Unit::Of::unclear;
  }
}

// "(m)", "[gon]", "[° M]", "_deg" or " in %" at the end of a column's name.
Unit unit_of(std::string_view field) {
  std::string text = lower_ascii(trimmed(field));
  const auto cut = text.find_first_of("([");
  Unit unit;
  if (cut != std::string::npos) {
    unit.word = text.substr(cut + 1);
    text.resize(cut);
    if (const auto end = unit.word.find_first_of(")]"); end != std::string::npos)
      unit.word.resize(end);
    std::string words = unit.word;
    // "°" stands for degrees also where a north follows it: "°M".
    if (contains(words, "\u00B0")) replace_all(words, "\u00B0", " deg ");
    for (std::size_t at = 0; at < words.size();) {
      const auto end = std::min(words.find_first_of(" ,;", at), words.size());
      if (end > at) take_unit_word(unit, std::string_view(words).substr(at, end - at));
      at = end + 1;
    }
  } else if (const auto gap = text.find_last_of("_ "); gap != std::string::npos) {
    const std::string last = text.substr(gap + 1);
    if (last == "%" || (last != "g" && unit_word(plain_word(last)))) {
      unit.word = last;
      take_unit_word(unit, last);
      text.resize(gap);
    }
  }
  unit.word = std::string(trimmed(unit.word));
  unit.name = plain_word(text);
  return unit;
}

// In German a "Grad" is a degree; to others a "grad" is a gon.
bool grad_in_doubt(const Unit& unit) {
  return plain_word(unit.word) == "grad" &&
         (contains(unit.name, "azimuth") || contains(unit.name, "bearing") ||
          contains(unit.name, "elevation") || contains(unit.name, "inclination") ||
          contains(unit.name, "heading"));
}

}  // namespace

std::string plain_word(std::string_view field) {
  std::string text(trimmed(field));
  for (const auto& [utf8, plain] : kAccents) replace_all(text, utf8, plain);
  std::string name;
  for (const char c : lower_ascii(text))
    if ((c >= 'a' && c <= 'z') || (c >= '0' && c <= '9')) name += c;
  return name;
}

MarkHeading mark_heading_of(std::string_view field) {
  using C = MarkColumn;
  const Unit unit = unit_of(field);
  const std::string& name = unit.name;
  const auto is = [&](std::initializer_list<std::string_view> names) {
    return is_any(name, names);
  };
  const bool metres = unit.of == Unit::Of::length;
  // A heading in that unit; where it is none of such figures, the word says what cannot be taken.
  const auto in = [&](C column, Unit::Of wanted) {
    MarkHeading heading{column};
    heading.factor = unit.of == wanted ? unit.factor : 1;
    if (unit.of == Unit::Of::unclear)
      heading.unclear = true;
    else if ((unit.of != wanted && unit.of != Unit::Of::unsaid) ||
             (wanted == Unit::Of::angle && grad_in_doubt(unit)))
      heading.unusable_unit = unit.word;
    return heading;
  };
  const bool about_error = contains(name, "sigma") || contains(name, "uncert") ||
                           contains(name, "accuracy") || contains(name, "error") ||
                           contains(name, "unsicher") || contains(name, "genauigkeit") ||
                           contains(name, "incertitude");
  const bool about_bearing = contains(name, "bearing") || contains(name, "azimut") ||
                             contains(name, "heading") || contains(name, "peilung") ||
                             is({"az", "brg", "richtung", "cap", "gisement", "relevement"});
  const bool about_elevation =
      !metres && (contains(name, "elev") || contains(name, "altitude") ||
                  contains(name, "inclination") || contains(name, "verticalangle") ||
                  contains(name, "hohenwinkel") || contains(name, "vertikalwinkel") ||
                  contains(name, "anglevertical") || contains(name, "angledehauteur") ||
                  is({"el", "alt", "angle", "hauteurangulaire", "erhebung"}));
  if (about_error)
    return in(about_bearing     ? C::bearing_sigma
              : about_elevation ? C::elevation_sigma
                                : C::sigma,
              Unit::Of::angle);
  if (is({"backbearing", "back", "ruckwarts", "ruckpeilung", "visearriere"}))
    return {C::back_bearing};
  if (contains(name, "reference") ||
      is({"north", "ref", "northref", "nord", "nordbezug", "bezug", "nordrichtung"}))
    return {C::north};
  if (about_bearing) {
    MarkHeading heading = in(C::bearing, Unit::Of::angle);
    heading.north = unit.north;
    if (contains(name, "mag") || contains(name, "missweis"))
      heading.north = Reference::magnetic;
    else if (contains(name, "grid") || contains(name, "gitter") || name == "gisement")
      heading.north = Reference::grid;
    else if (contains(name, "true") || contains(name, "rechtweis") || contains(name, "geogr") ||
             contains(name, "vrai"))
      heading.north = Reference::true_north;
    return heading;
  }
  if (about_elevation) return in(C::elevation, Unit::Of::angle);
  if (is({"kind", "type", "what", "class", "art", "was", "typ", "genre", "nature", "quoi"}))
    return {C::kind};
  if (is({"label", "name", "obstacle", "bezeichnung", "hindernis", "nom", "libelle",
          "designation"}))
    return {C::label};
  if (is({"distance", "distancem", "dist", "distm", "range", "entfernung", "distanz", "abstand"}))
    return in(C::distance, Unit::Of::length);
  if (is({"width", "widthdeg", "breite", "largeur"})) return in(C::width, Unit::Of::angle);
  if (is({"layer", "ebene", "couche"})) return {C::layer};
  if (is({"edge", "kante", "arete"})) return {C::edge};
  if (is({"station", "standpunkt", "standort", "poste"})) return {C::station};
  if (is({"time", "timeutc", "utc", "zeit", "zeitutc", "uhrzeitutc", "heureutc"})) return {C::time};
  if (is({"instrument", "gerat", "appareil"})) return {C::instrument};
  if (is({"group", "gruppe", "groupe"})) return {C::group};
  if (is({"note", "notes", "remark", "remarks", "bemerkung", "bemerkungen", "notiz", "anmerkung",
          "remarque", "remarques"}))
    return {C::note};
  return {};
}

std::optional<Reference> north_named(std::string_view field) {
  const std::string name = plain_word(field);
  for (const auto& [text, north] : {std::pair{"true", Reference::true_north},
                                    {"t", Reference::true_north},
                                    {"truenorth", Reference::true_north},
                                    {"geographic", Reference::true_north},
                                    {"geographisch", Reference::true_north},
                                    {"geografisch", Reference::true_north},
                                    {"rechtweisend", Reference::true_north},
                                    {"geographique", Reference::true_north},
                                    {"vrai", Reference::true_north},
                                    {"magnetic", Reference::magnetic},
                                    {"mag", Reference::magnetic},
                                    {"m", Reference::magnetic},
                                    {"magneticnorth", Reference::magnetic},
                                    {"magnetisch", Reference::magnetic},
                                    {"missweisend", Reference::magnetic},
                                    {"magnetique", Reference::magnetic},
                                    {"grid", Reference::grid},
                                    {"g", Reference::grid},
                                    {"gridnorth", Reference::grid},
                                    {"gitter", Reference::grid},
                                    {"gitternord", Reference::grid},
                                    {"cartographique", Reference::grid},
                                    {"device", Reference::device},
                                    {"gerat", Reference::device},
                                    {"appareil", Reference::device}})
    if (name == text) return north;
  return std::nullopt;
}

std::optional<Kind> kind_in_words(std::string_view field) {
  const std::string name = plain_word(field);
  if (name.empty()) return trimmed(field).empty() ? std::optional(Kind::ridge) : std::nullopt;
  struct Word {
    Kind kind;
    std::initializer_list<std::string_view> words;
  };
  static const std::array<Word, 5> kWords = {
      {{Kind::ridge,
        {"mountain", "hill", "terrain", "berg", "bergkamm", "kamm", "grat", "gelande", "hang",
         "gipfel", "hugel", "crete", "montagne", "colline", "relief"}},
       {Kind::evergreen,
        {"conifer", "spruce", "pine", "fir", "evergreentree", "nadelbaum", "nadelwald", "fichte",
         "tanne", "kiefer", "immergrun", "conifere", "resineux", "sapin", "epicea", "persistant"}},
       {Kind::leafy,
        {"leafytree", "deciduous", "broadleaf", "laubbaum", "laub", "laubwald", "feuillu", "caduc",
         "arbrefeuillu"}},
       {Kind::building,
        {"house", "roof", "barn", "wall", "gebaude", "haus", "dach", "scheune", "mauer", "stadel",
         "batiment", "maison", "toit", "grange", "mur"}},
       {Kind::pole,
        {"mast", "post", "pylon", "pfosten", "pfahl", "stange", "poteau", "mat", "pylone"}}}};
  for (const Word& each : kWords)
    if (std::find(each.words.begin(), each.words.end(), name) != each.words.end()) return each.kind;
  return horizon::kind_named(name);
}

std::optional<bool> yes_or_no(std::string_view field) {
  const std::string name = plain_word(field);
  if (is_any(name, {"yes", "true", "1", "ja", "oui", "x", "wahr", "vrai"})) return true;
  if (is_any(name, {"no", "false", "0", "nein", "non", "falsch", "faux"})) return false;
  return std::nullopt;
}

}  // namespace survey
