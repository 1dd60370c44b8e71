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
  enum class Of { unsaid, degrees, gon, percent, metres, kilometres, feet } of = Of::unsaid;
  std::string name;  // of the column, without the unit
};

// "(m)", "[gon]", "_deg" or " in %" at the end of a column's name.
Unit unit_of(std::string_view field) {
  std::string text = lower_ascii(trimmed(field));
  const auto cut = text.find_first_of("([");
  std::string unit;
  if (cut != std::string::npos) {
    unit = text.substr(cut + 1);
    text = text.substr(0, cut);
    if (const auto end = unit.find_first_of(")]"); end != std::string::npos) unit.resize(end);
  } else if (const auto gap = text.find_last_of("_ ");
             gap != std::string::npos &&
             is_any(text.substr(gap + 1), {"deg", "degrees", "grad", "gon", "m", "km", "ft", "%",
                                           "percent", "prozent", "metres", "meters", "meter"})) {
    unit = text.substr(gap + 1);
    text = text.substr(0, gap);
  }
  unit = std::string(trimmed(unit));
  Unit out{Unit::Of::unsaid, plain_word(text)};
  if (is_any(unit, {"gon", "grades", "gr", "g", "neugrad"})) out.of = Unit::Of::gon;
  if (is_any(unit, {"%", "percent", "prozent"})) out.of = Unit::Of::percent;
  if (is_any(unit, {"m", "metres", "meters", "meter"})) out.of = Unit::Of::metres;
  if (unit == "km") out.of = Unit::Of::kilometres;
  if (is_any(unit, {"ft", "feet"})) out.of = Unit::Of::feet;
  if (is_any(unit, {"deg", "degrees", "grad", "°", "degres"})) out.of = Unit::Of::degrees;
  return out;
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
  const bool metres =
      unit.of == Unit::Of::metres || unit.of == Unit::Of::kilometres || unit.of == Unit::Of::feet;
  const bool percent = unit.of == Unit::Of::percent;
  const double to_deg = unit.of == Unit::Of::gon ? 0.9 : 1;
  const double to_m = unit.of == Unit::Of::kilometres ? 1000
                      : unit.of == Unit::Of::feet     ? 0.3048
                                                      : 1;
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
    return {about_bearing     ? C::bearing_sigma
            : about_elevation ? C::elevation_sigma
                              : C::sigma,
            {},
            to_deg};
  if (is({"backbearing", "back", "ruckwarts", "ruckpeilung", "visearriere"}))
    return {C::back_bearing};
  if (contains(name, "reference") ||
      is({"north", "ref", "northref", "nord", "nordbezug", "bezug", "nordrichtung"}))
    return {C::north};
  if (about_bearing) {
    MarkHeading heading{C::bearing, {}, to_deg, percent};
    if (contains(name, "mag") || contains(name, "missweis"))
      heading.north = Reference::magnetic;
    else if (contains(name, "grid") || contains(name, "gitter") || name == "gisement")
      heading.north = Reference::grid;
    else if (contains(name, "true") || contains(name, "rechtweis") || contains(name, "geogr") ||
             contains(name, "vrai"))
      heading.north = Reference::true_north;
    return heading;
  }
  if (about_elevation) return {C::elevation, {}, to_deg, percent};
  if (is({"kind", "type", "what", "class", "art", "was", "typ", "genre", "nature", "quoi"}))
    return {C::kind};
  if (is({"label", "name", "obstacle", "bezeichnung", "hindernis", "nom", "libelle",
          "designation"}))
    return {C::label};
  if (is({"distance", "distancem", "dist", "distm", "range", "entfernung", "distanz", "abstand"}))
    return {C::distance, {}, to_m};
  if (is({"width", "widthdeg", "breite", "largeur"})) return {C::width, {}, to_deg};
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
