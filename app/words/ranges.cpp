#include "app/words/ranges.h"

#include <cmath>

#include "app/words/quantity.h"
#include "app/words/words.h"

namespace app {
namespace {

std::string hour_range(const horizon::Ranged& hours) {
  const std::string low = number(hours.low, 1), high = number(hours.high, 1);
  return (low == high ? low : low + "–" + high) + "\u00A0" + tr("unit.h");
}
bool has_range(const horizon::Ranged& hours) { return hours.high > hours.low; }

}  // namespace

std::string hours_headline(const horizon::Ranged& hours) {
  return hours.bears_a_number(kBearable_h) ? hours_minutes(hours.value) : hour_range(hours);
}

std::string sky_words(const horizon::StationFindings& findings) {
  const std::string source =
      findings.sky_source.empty() ? tr("sky.no_source") : findings.sky_source;
  switch (findings.sky) {
    case horizon::SkySource::normals:
      return tr("sky.normals", {source});
    case horizon::SkySource::weather:
      return tr("sky.weather", {source});
    case horizon::SkySource::clear:
      break;
  }
  return tr("sky.clear");
}

std::string hours_spread(const horizon::Ranged& hours) {
  const double minutes = (hours.high - hours.low) * 30;
  if (!has_range(hours) || minutes < 0.5 || !hours.bears_a_number(kBearable_h)) return "";
  return "± " + number(minutes) + "\u00A0" + tr("unit.min");
}

std::string hours_a_day_headline(const horizon::Ranged& hours) {
  return hours.bears_a_number() ? hours_decimal(hours.value) : hour_range(hours);
}

std::string facing_band(const horizon::FacingBand& band) {
  if (band.width_deg() > 359) return tr("range.all_round");
  return degree_range(band.from.degrees(), band.to.degrees());
}

std::string tilt_band(const horizon::TiltBand& band) {
  if (band.to_deg - band.from_deg > 89) return tr("range.any");
  return degree_range(band.from_deg, band.to_deg);
}

std::string day_with_range(horizon::Date date, int low_day, int high_day) {
  if (low_day == 0 || high_day == 0 || low_day == high_day) return day_month(date);
  const int year = static_cast<int>(date.year());
  const auto day = [&](int d) { return day_month(horizon::date_of_day(year, d)); };
  return day_month(date) + " (" + day(low_day) + " – " + day(high_day) + ")";
}

std::string spell_with_ranges(const horizon::NoSunSpell& spell) {
  return day_with_range(spell.first, spell.first_low_day, spell.first_high_day) + " " +
         tr("range.to") + " " + day_with_range(spell.last, spell.last_low_day, spell.last_high_day);
}

}  // namespace app
