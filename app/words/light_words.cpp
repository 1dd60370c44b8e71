#include "app/words/light_words.h"

#include <algorithm>
#include <array>

#include "app/words/quantity.h"
#include "app/words/ranges.h"
#include "app/words/words.h"
#include "app/words/year_words.h"

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

// A range of days is told so wide that 8 of 10 winters lie in it too.
void widen(const horizon::DayOfYears& winters, int day, int& low, int& high) {
  const auto off = [&](int other) {
    const int d = (other - day + 2 * 365) % 365;
    return d > 182 ? d - 365 : d;
  };
  if (low == 0) low = day;
  if (high == 0) high = day;
  if (winters.p10 && off(*winters.p10) < off(low)) low = *winters.p10;
  if (winters.p90 && off(*winters.p90) > off(high)) high = *winters.p90;
}

std::string crop_words(const horizon::StationFindings& f, int year) {
  const auto* found = leaf_crop(f.growing);
  if (!found) return {};
  const auto& crop = *found;
  const std::string name = tr_of("crop", crop.need.crop);
  const auto* spell = horizon::longest(crop.spells, 365);
  if (!spell) return tr("light.say.never", {name});
  if (crop.days >= 365) return tr("light.say.always", {name});
  int from_low = crop.from_low_day, from_high = crop.from_high_day, to_low = crop.to_low_day,
      to_high = crop.to_high_day;
  if (const auto* years = crop_years(f, crop)) {
    widen(years->first, spell->from_day, from_low, from_high);
    widen(years->last, spell->to_day, to_low, to_high);
  }
  return tr("light.say.from", {name, when(spell->from_day, from_low, from_high, year),
                               when(spell->to_day, to_low, to_high, year)});
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

const horizon::CropYears* crop_years(const horizon::StationFindings& f,
                                     const horizon::CropSeason& crop) {
  const auto at = static_cast<std::size_t>(&crop - f.growing.crops.data());
  return f.years && at < f.years->crops.size() ? &f.years->crops[at] : nullptr;
}

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
  const std::string words =
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
