#include "app/handover/programme_rank.h"

#include <algorithm>
#include <array>
#include <nlohmann/json.hpp>
#include <unordered_map>

#include "app/words/ground_facts.h"
#include "app/words/words.h"
#include "survey/book/text.h"
#include "survey/exchange/programme_rows.h"

namespace app {
namespace {

using survey::Figure;
using survey::ProgrammeSite;
using survey::ProgrammeState;

constexpr std::array<std::string_view, kSortByCount> kNames = {
    "hours", "shortest_day", "gain", "cold", "crops", "water", "access", "name"};

Figure figure_of(const ProgrammeSite& site, SortBy by) {
  switch (by) {
    case SortBy::hours:
      return site.winter_sun_h;
    case SortBy::shortest_day:
      return site.shortest_day_h;
    case SortBy::gain:
      return site.gain_kwh_m2;
    case SortBy::cold:
      return site.coldest_inside_c;
    case SortBy::crops:
      return site.crops_living;
    case SortBy::water:
      return {site.water_distance_m, {}, {}};
    case SortBy::access:
      return {site.access_distance_m, {}, {}};
    case SortBy::name:
      break;
  }
  return {};
}
bool less_is_better(SortBy by) { return by == SortBy::water || by == SortBy::access; }

struct Spread {  // larger is better
  std::size_t site = 0;
  double value = 0, low = 0, high = 0;
};

// Each with the ends that its neighbours may reach; `of` is sorted, best first.
void add_likes(const std::vector<Spread>& of, std::vector<Ranked>& out) {
  constexpr std::size_t kNamed = 4, kLookAt = 60;
  std::vector<double> lows, highs;
  for (const Spread& each : of) {
    lows.push_back(each.low);
    highs.push_back(each.high);
  }
  std::ranges::sort(lows);
  std::ranges::sort(highs);
  std::unordered_map<std::size_t, std::size_t> place;  // in the order, by site
  for (std::size_t i = 0; i < of.size(); ++i) place[of[i].site] = i;
  const auto n = static_cast<long>(of.size());
  for (std::size_t i = 0; i < of.size(); ++i) {
    const Spread& me = of[i];
    Ranked rank{.site = me.site};
    const long ahead = lows.end() - std::ranges::upper_bound(lows, me.high);
    const long behind = std::ranges::lower_bound(highs, me.low) - highs.begin();
    rank.first = static_cast<int>(ahead + 1);
    rank.last = static_cast<int>(n - behind);
    rank.like_count = static_cast<int>(n - ahead - behind - 1);
    const auto like = [&](std::size_t k) { return of[k].low <= me.high && me.low <= of[k].high; };
    rank.as_the_one_above = i > 0 && like(i - 1);
    for (std::size_t away = 1; away < kLookAt && rank.like.size() < kNamed; ++away) {
      if (away <= i && like(i - away)) rank.like.push_back(of[i - away].site);
      if (i + away < of.size() && like(i + away)) rank.like.push_back(of[i + away].site);
    }
    std::ranges::sort(rank.like, {}, [&](std::size_t site) { return place[site]; });
    out.push_back(std::move(rank));
  }
}

horizon::Ranged ranged(const Figure& figure) {
  const double value = figure.value.value_or(0);
  return {value, figure.low.value_or(value), figure.high.value_or(value)};
}

// The number without its unit, which the figure before it has.
std::string bare(const std::string& words) { return words.substr(0, words.find("\u00A0")); }

// "3.05 kWh/m² (3.00 to 3.10)", in the reader's units.
std::string with_range(const Figure& figure, const std::string& value, const std::string& low,
                       const std::string& high) {
  return figure.low && figure.high && low != high
             ? tr("programme.ranged", {value, bare(low), bare(high)})
             : value;
}

std::string csv_cell(const survey::Cell& cell) {
  if (const auto* text = std::get_if<std::string>(&cell))
    return survey::csv_field(survey::csv_text(*text));
  const auto* real = std::get_if<double>(&cell);
  if (!real) return survey::words_of(cell);
  char digits[40];
  std::snprintf(digits, sizeof digits, "%.10g", *real);
  return digits;
}

}  // namespace

std::string_view name_of(SortBy by) { return kNames[static_cast<std::size_t>(by)]; }

std::optional<SortBy> sort_named(std::string_view name) {
  const auto found = std::ranges::find(kNames, name);
  if (found == kNames.end()) return std::nullopt;
  return static_cast<SortBy>(found - kNames.begin());
}

std::vector<Ranked> ranked(std::span<const ProgrammeState> sites, SortBy by) {
  std::vector<Spread> known;
  std::vector<std::size_t> rest;
  const double sign = less_is_better(by) ? -1 : 1;
  for (std::size_t i = 0; i < sites.size(); ++i) {
    const Figure figure = figure_of(sites[i].site, by);
    if (!figure.value) {
      rest.push_back(i);
      continue;
    }
    const double value = sign * *figure.value, a = sign * figure.low.value_or(*figure.value),
                 b = sign * figure.high.value_or(*figure.value);
    known.push_back({i, value, std::min({a, b, value}), std::max({a, b, value})});
  }
  const auto named = [&](std::size_t i) {
    return std::pair<const std::string&, const std::string&>(sites[i].site.name,
                                                             sites[i].site.site_id);
  };
  std::ranges::sort(known, [&](const Spread& a, const Spread& b) {
    return a.value != b.value ? a.value > b.value : named(a.site) < named(b.site);
  });
  std::ranges::sort(rest, [&](std::size_t a, std::size_t b) { return named(a) < named(b); });
  std::vector<Ranked> out;
  out.reserve(sites.size());
  add_likes(known, out);
  for (const std::size_t i : rest) out.push_back({.site = i});
  return out;
}

std::string figure_words(const ProgrammeSite& site, SortBy by, Units units) {
  const Figure figure = figure_of(site, by);
  if (!figure.value) return tr("programme.not_known");
  const horizon::Ranged r = ranged(figure);
  switch (by) {
    case SortBy::hours:
    case SortBy::shortest_day:
      return with_range(figure, hours_decimal(r.value), number(r.low, 1), number(r.high, 1));
    case SortBy::gain:
      return with_range(figure, energy(r.value, units), energy(r.low, units),
                        energy(r.high, units));
    case SortBy::cold:
      return with_range(figure, temperature(r.value, units), temperature(r.low, units),
                        temperature(r.high, units));
    case SortBy::crops:
      return tr("programme.of_crops",
                {r.low < r.high ? number(r.low) + "–" + number(r.high) : number(r.value),
                 number(site.crops_asked.value_or(0))});
    default:
      return distance(r.value, units);
  }
}

std::string rank_words(const Ranked& rank) {
  if (!rank.known()) return "–";
  const std::string first = number(rank.first);
  return rank.first == rank.last ? first : first + "–" + number(rank.last);
}

std::string like_words(std::span<const ProgrammeState> sites, const Ranked& rank) {
  if (rank.like_count == 0) return {};
  std::string names;
  for (const std::size_t other : rank.like) add_listed(names, sites[other].site.name);
  const int more = rank.like_count - static_cast<int>(rank.like.size());
  return more > 0 ? tr("programme.like_more", {names, number(more)})
                  : tr("programme.like", {names});
}

std::vector<std::string> doubts_of(std::span<const ProgrammeState> sites, SortBy by) {
  std::vector<std::string> out;
  int clear = 0, weather = 0, disputed = 0, conflicts = 0;
  for (const auto& state : sites) {
    const auto& site = state.site;
    if (site.winter_sun_h.value) ++(site.sky == "clear sky" ? clear : weather);
    disputed += site.headings_disagree;
    conflicts += site.conflicts > 0;
  }
  const auto many = [](int count) { return number(count); };
  if ((by == SortBy::gain || by == SortBy::cold) && clear > 0 && weather > 0)
    out.push_back(tr("programme.skies_differ", {many(clear), many(weather)}));
  if (disputed > 0) out.push_back(tr_count("programme.disputed", disputed));
  if (conflicts > 0) out.push_back(tr_count("programme.copies_differ", conflicts));
  return out;
}

std::vector<std::string> cost_words(const ProgrammeSite& site, Units units) {
  std::vector<std::string> out;
  const auto far = [&](const char* key, const std::optional<double>& metres) {
    if (metres) out.push_back(tr(key, {distance(*metres, units)}));
  };
  far("programme.cost.way", site.access_distance_m);
  if (site.access_slope_percent)
    out.push_back(tr("programme.cost.steep", {number(*site.access_slope_percent)}));
  if (site.access_in_winter && !*site.access_in_winter)
    out.push_back(tr("programme.cost.no_winter"));
  far("programme.cost.water", site.water_distance_m);
  if (site.water_in_winter && !*site.water_in_winter)
    out.push_back(tr("programme.cost.water_winter"));
  far("programme.cost.power", site.power_distance_m);
  far("programme.cost.drain", site.drain_distance_m);
  if (site.frost_depth_m.high)
    out.push_back(tr("programme.cost.frost", {depth(*site.frost_depth_m.high, units)}));
  if (site.rock_m) out.push_back(tr("programme.cost.rock", {depth(*site.rock_m, units)}));
  if (site.ground_snow_kn_m2)
    out.push_back(tr("programme.cost.snow", {snow_load(*site.ground_snow_kn_m2, units)}));
  if (site.slope_deg) out.push_back(tr("programme.cost.slope", {degrees(*site.slope_deg)}));
  if (site.permit_needed == "permit" || site.permit_needed == "unclear")
    out.push_back(tr("programme.cost.permit_" + site.permit_needed));
  return out;
}

std::string verdict_text(const survey::ProgrammeVerdict& line, Units units) {
  const auto list = nlohmann::json::parse(line.figures, nullptr, false);
  if (line.about.empty() || !list.is_array() || !has_words("verdict." + line.about))
    return line.text;
  horizon::VerdictLine said;
  said.about = line.about;
  for (const auto& value : list) said.values.push_back(value.is_number() ? value.get<double>() : 0);
  return verdict_words(said, units);
}

std::string question_text(const survey::ProgrammeQuestion& question) {
  return question.key.starts_with("task.") && has_words(question.key) ? tr(question.key)
                                                                      : question.text;
}

std::string state_words(const ProgrammeSite& site) {
  std::string out;
  const std::pair<const char*, double> stops[] = {{"touch.arrive", site.arrive_done},
                                                  {"touch.skyline", site.skyline_done},
                                                  {"app.ground", site.ground_done},
                                                  {"touch.light", site.light_done},
                                                  {"touch.hand_over", site.hand_over_done}};
  for (const auto& [name, share] : stops)
    out += (out.empty() ? "" : " · ") + tr(name) + " " + percent(share);
  return out;
}

std::string programme_csv(std::span<const ProgrammeState> sites, std::span<const Ranked> order) {
  std::string out = "rank_first,rank_last,not_told_apart_from";
  for (const auto& column : survey::programme_columns<ProgrammeSite>()) out += "," + column.name;
  out += "\r\n";
  for (const Ranked& rank : order) {
    std::string names;
    for (const std::size_t other : rank.like) add_clause(names, sites[other].site.name);
    if (rank.like_count > static_cast<int>(rank.like.size())) names += "; ...";
    if (rank.known())
      out += std::to_string(rank.first) + "," + std::to_string(rank.last);
    else
      out += ",";
    out += "," + survey::csv_field(survey::csv_text(names));
    for (const survey::Cell& cell : survey::programme_cells(sites[rank.site].site))
      out += "," + csv_cell(cell);
    out += "\r\n";
  }
  return out;
}

}  // namespace app
