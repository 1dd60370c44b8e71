#include "app/words/light_words.h"

#include <algorithm>
#include <array>

#include "app/words/quantity.h"
#include "app/words/ranges.h"
#include "app/words/words.h"

namespace app {
namespace {

constexpr double kTold_h = 0.05;  // less is not worth a word: three minutes a day

std::string hours_words(const horizon::Ranged& hours) {
  if (hours.high < kTold_h) return tr("light.say.no_sun");
  const std::string head = hours_headline(hours);
  const std::string range =
      number(hours.low, 1) + "–" + number(hours.high, 1) + "\u00A0" + tr("unit.h");
  const bool one = !hours_spread(hours).empty() && number(hours.low, 1) != number(hours.high, 1);
  return tr("light.say.sun", {one ? head + " (" + range + ")" : head});
}

// One day, or from a third of a month to another where the range is wider.
std::string when(int day, int low, int high, int year) {
  const std::string from = part_of_month(low > 0 ? low : day, year),
                    to = part_of_month(high > 0 ? high : day, year);
  return from == to ? part_of_month(day, year) : tr("light.say.between", {from, to});
}

std::string crop_words(const horizon::StationFindings& f, int year) {
  const auto* found = leaf_crop(f.growing);
  if (!found) return {};
  const auto& crop = *found;
  const std::string name = tr(crop.need.crop);
  const auto* spell = horizon::longest(crop.spells, 365);
  if (!spell) return tr("light.say.never", {name});
  if (crop.days >= 365) return tr("light.say.always", {name});
  return tr("light.say.from",
            {name, when(spell->from_day, crop.from_low_day, crop.from_high_day, year),
             when(spell->to_day, crop.to_low_day, crop.to_high_day, year)});
}

constexpr double kAllRound_deg = 200;

double width_of(const horizon::LedgerRow& row) {
  return horizon::wrap_360(row.to_deg - row.from_deg);
}

// "the evergreens, in the afternoon"
std::string taken_words(const horizon::LedgerRow& row, double latitude_deg) {
  const double from_noon =
      horizon::wrap_180(row.from_deg + width_of(row) / 2 - (latitude_deg < 0 ? 0 : 180));
  const double east = latitude_deg < 0 ? from_noon : -from_noon;  // of the noon sun
  constexpr double kNoon_deg = 25;
  const char* time = width_of(row) > kAllRound_deg ? "light.say.all_day"
                     : east > kNoon_deg            ? "light.say.morning"
                     : east < -kNoon_deg           ? "light.say.afternoon"
                                                   : "light.say.midday";
  const std::string name = row.label.empty()
                               ? tr("light.say.kind." + std::string(horizon::name_of(row.kind)))
                               : row.label;
  return tr("light.say.taken", {name, tr(time)});
}

}  // namespace

const horizon::CropSeason* leaf_crop(const horizon::GrowingLight& growing) {
  const auto& crops = growing.crops;
  const auto leaf = std::find_if(crops.begin(), crops.end(), [](const auto& c) {
    return c.need.crop.find("leafy greens") != std::string::npos;
  });
  return leaf != crops.end() ? &*leaf : crops.empty() ? nullptr : &crops.front();
}

std::string part_of_month(int day, int year) {
  const horizon::Date date = horizon::date_of_day(year, std::clamp(day, 1, 365));
  const unsigned in_month = unsigned(date.day());
  return tr(in_month <= 10   ? "light.early"
            : in_month <= 20 ? "light.mid"
                             : "light.late",
            {month_name(int(unsigned(date.month())))});
}

std::string light_sentence(const horizon::StationFindings& f, int year) {
  const std::string hours = hours_words(f.hours.shortest_day_h), crops = crop_words(f, year);
  std::string words =
      crops.empty() ? tr("light.say.end", {hours}) : tr("light.say.both", {hours, crops});
  // Which sky it rests on stands in the same line.
  return words + " " +
         (f.sky == horizon::SkySource::clear ? tr("light.say.clear")
                                             : tr("light.say.sky", {sky_words(f)}));
}

std::string light_rest(const horizon::StationFindings& f, double latitude_deg) {
  const horizon::LedgerRow *most = nullptr, *next = nullptr;
  for (const auto& row : f.ledger)
    if (row.obstacle >= 0 && (!most || row.takes_h > most->takes_h)) most = &row;
  for (const auto& row : f.ledger)
    if (row.obstacle >= 0 && &row != most && (!next || row.takes_h > next->takes_h)) next = &row;
  double days = 0;
  for (int m = 0; m < 12; ++m)
    if (f.winter_months >> m & 1) days += f.months[std::size_t(m)].days;
  if (!most || most->takes_h < kTold_h * std::max(days, 1.0)) return {};
  const std::string words = taken_words(*most, latitude_deg);
  // Where one ridge stands all round, it is the next thing that can be done something about.
  constexpr double kShare = 0.1;
  if (next && width_of(*most) > kAllRound_deg && next->takes_h > kShare * most->takes_h)
    return tr("light.say.rest_two", {words, taken_words(*next, latitude_deg)});
  return tr("light.say.rest", {words});
}

std::string light_doubt(const horizon::StationFindings& f) {
  std::string words;
  if (f.headings_disagree) words = tr("light.say.disagree");
  const auto& h = f.hours;
  constexpr double kUnaimed = 0.02;  // of the winter sun's way
  if (h.winter_flat_h > 0 && h.winter_unaimed_h > kUnaimed * h.winter_flat_h)
    words += (words.empty() ? "" : " ") +
             tr("light.say.unaimed", {percent(h.winter_unaimed_h / h.winter_flat_h)});
  return words;
}

}  // namespace app
