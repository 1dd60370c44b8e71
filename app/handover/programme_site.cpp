#include "app/handover/programme_site.h"

#include <algorithm>
#include <cmath>

#include "app/words/ground_facts.h"
#include "app/words/sentence.h"
#include "app/words/words.h"
#include "horizon/light/uncertainty.h"
#include "horizon/light/winter_gain.h"
#include "survey/assess/ground_findings.h"
#include "survey/assess/house_input.h"
#include "survey/assess/light_json.h"
#include "survey/assess/plot_findings.h"
#include "survey/assess/progress.h"
#include "survey/book/forms.h"
#include "survey/exchange/programme_copy.h"

namespace app {
namespace {

using horizon::Result;
using survey::Figure;
using survey::ProgrammeState;
using survey::rounded;
using survey::Topic;

Figure figure(const horizon::Ranged& range, int decimals) {
  return {rounded(range.value, decimals), rounded(range.low, decimals),
          rounded(range.high, decimals)};
}

struct Site {
  const survey::FieldBook& book;
  const ProgrammeOptions& options;
  ProgrammeState& out;

  void ask(std::string_view about, const std::string& text, const std::string& key = {}) {
    for (const auto& known : out.questions)
      if (known.text == text) return;
    out.questions.push_back({std::string(about), text, key});
  }
  void missing(const horizon::Error& error) { ask("findings", in_words(error)); }
};

Result<void> describe_visit(Site& site, const survey::StationSkyline* main) {
  survey::ProgrammeSite& row = site.out.site;
  const auto visits = site.book.all<survey::Visit>();
  const auto sightings = site.book.all<survey::Sighting>();
  const auto photos = site.book.all<survey::Photo>();
  const auto steps = survey::progress_of(site.book, main);
  if (!visits) return tl::unexpected(visits.error());
  if (!sightings) return tl::unexpected(sightings.error());
  if (!photos) return tl::unexpected(photos.error());
  if (!steps) return tl::unexpected(steps.error());
  row.visits = static_cast<int>(visits->size());
  row.visit_ended = !visits->empty();
  for (const auto& visit : *visits) {
    row.visit_ended = row.visit_ended && visit.ended;
    if (!row.last_visit || visit.begun.utc_s > row.last_visit->utc_s) row.last_visit = visit.begun;
  }
  row.sightings = static_cast<int>(
      std::ranges::count_if(*sightings, [](const auto& each) { return !each.voided; }));
  row.photos = static_cast<int>(photos->size());
  for (const auto& photo : *photos) {
    survey::ProgrammePhoto each{photo.id, photo.label, photo.time, {}, {}, {}, photo.sha256};
    if (photo.position) {
      each.latitude_deg = photo.position->latitude_deg;
      each.longitude_deg = photo.position->longitude_deg;
    }
    if (photo.reference == survey::Reference::true_north) each.bearing_deg = photo.bearing_deg;
    site.out.photos.push_back(std::move(each));
  }
  double* const shares[] = {&row.arrive_done, &row.skyline_done, &row.ground_done, &row.light_done,
                            &row.hand_over_done};
  for (const auto& stop : *steps) {
    *shares[static_cast<int>(stop.stop)] = rounded(stop.done_share(), 3);
    for (const auto& task : stop.tasks)
      if (!task.done) site.ask(name_of(stop.stop), tr(task.key), task.key);
  }
  return {};
}

void describe_house(Site& site, const survey::SiteSettings& settings,
                    const horizon::StationInput& input, const horizon::StationFindings& found) {
  auto asked = survey::house_input(settings, input, found.best_facing.value, site.options.weather);
  if (!asked) return site.missing(asked.error());
  asked->preview = true;
  asked->winters = site.options.winters;
  const auto house = horizon::house_findings(*asked);
  if (!house) return site.missing(house.error());
  survey::ProgrammeSite& row = site.out.site;
  row.coldest_inside_c = figure(house->coldest_inside_c, 2);
  row.coldest_outside_c = figure(house->outside_low_c, 2);
  constexpr double kNineOfTen = 0.9;
  double living = 0, low = 0, high = 0;
  for (const auto& crop : house->crops) {
    const int lives = static_cast<int>(std::lround(crop.lives_share * house->winters));
    const horizon::ShareRange range = horizon::wilson_90(lives, house->winters);
    living += crop.lives_share >= kNineOfTen;
    low += range.low >= kNineOfTen;
    high += range.high >= kNineOfTen;
    site.out.crops.push_back({std::string(crop.crop.crop), rounded(crop.lives_share, 4),
                              rounded(range.low, 4), rounded(range.high, 4), house->winters});
  }
  row.crops_asked = static_cast<int>(house->crops.size());
  row.crops_living = {living, std::min(low, living), std::max(high, living)};
}

// The sunniest of the stations, as the report's page 1 has it.
std::optional<horizon::StationInput> sunniest(Site& site, const survey::Assessment& assessed) {
  std::optional<horizon::StationInput> best;
  double most_h = -1;
  for (const auto& station : assessed.stations) {
    if (station.skyline().points.empty() || station.station.position == survey::Position{})
      continue;
    auto input = survey::station_input(assessed.settings, station);
    input.draws = 0;
    if (site.options.weather) {
      input.sky.weather = site.options.weather;
      input.sky.source = horizon::SkySource::weather;
    }
    if (auto sound = horizon::check_station(input); !sound) {
      site.missing(sound.error());
      continue;
    }
    const double hours = horizon::findings_of(input).hours.winter_h_a_day.value;
    if (hours <= most_h) continue;
    most_h = hours;
    best = std::move(input);
    site.out.site.station = station.station.name;
  }
  return best;
}

void describe_light(Site& site, const survey::Assessment& assessed) {
  survey::ProgrammeSite& row = site.out.site;
  auto input = sunniest(site, assessed);
  if (!input) return;
  input->draws = site.options.draws;
  const auto found = horizon::findings_of(*input);
  row.sighted_share = rounded(found.closed_fraction, 4);
  row.headings_disagree = found.headings_disagree;
  row.sky = name_of(found.sky);
  row.sky_source = found.sky_source;
  row.winter_sun_h = figure(found.hours.winter_h_a_day, 3);
  row.shortest_day_h = figure(found.hours.shortest_day_h, 3);
  row.gain_kwh_m2 = figure(horizon::winter_gain_kwh_m2(found), 3);
  row.facing_deg = {rounded(found.best_facing.value.degrees(), 1),
                    rounded(found.best_facing.low.degrees(), 1),
                    rounded(found.best_facing.high.degrees(), 1)};
  row.tilt_deg = figure(found.best_tilt_deg, 1);
  if (found.headings_disagree) site.ask("skyline", tr("programme.headings_disagree"));
  describe_house(site, assessed.settings, *input, found);
}

std::optional<double> number_in(const survey::GroundFindings& ground, Topic topic,
                                std::string_view key) {
  const auto* form = ground.form(topic);
  const auto kept = form ? answer_to(*form, key) : std::nullopt;
  const auto* field = field_of(topic, key);
  if (!kept || !field) return std::nullopt;
  const auto value = kept_value(*field, *kept);
  return value ? std::optional(*value) : std::nullopt;
}
std::string word_in(const survey::GroundFindings& ground, Topic topic, std::string_view key) {
  const auto* form = ground.form(topic);
  return form ? text_of(answer_to(*form, key)) : std::string();
}
std::optional<bool> yes_in(const survey::GroundFindings& ground, Topic topic,
                           std::string_view key) {
  const std::string word = word_in(ground, topic, key);
  return word == "yes" ? std::optional(true) : word == "no" ? std::optional(false) : std::nullopt;
}

void describe_forms(Site& site, const survey::GroundFindings& ground) {
  survey::ProgrammeSite& row = site.out.site;
  row.water_source = word_in(ground, Topic::water, "source");
  row.water_distance_m = number_in(ground, Topic::water, "distance_m");
  row.water_flow_l_min = number_in(ground, Topic::water, "water_flow_l_min");
  row.water_in_winter = yes_in(ground, Topic::water, "runs_in_winter");
  row.access_way = word_in(ground, Topic::access, "way");
  row.access_distance_m = number_in(ground, Topic::access, "access_distance_m");
  row.access_slope_percent = number_in(ground, Topic::access, "access_slope_percent");
  row.lane_width_m = number_in(ground, Topic::access, "lane_width_m");
  row.access_in_winter = yes_in(ground, Topic::access, "cleared_in_winter");
  row.power_distance_m = number_in(ground, Topic::services, "power_distance_m");
  row.drain_distance_m = number_in(ground, Topic::services, "drain_distance_m");
  row.permit_needed = word_in(ground, Topic::permission, "permit_needed");
  row.setback_m = number_in(ground, Topic::permission, "setback_m");
  row.ground_snow_kn_m2 = number_in(ground, Topic::snow, "ground_snow_kn_m2");
}

void describe_pits(Site& site, const survey::GroundFindings& ground,
                   const std::vector<survey::SoilPit>& pits) {
  survey::ProgrammeSite& row = site.out.site;
  const auto highest = [](std::optional<double>& of, const std::optional<double>& other) {
    if (other) of = std::min(of.value_or(*other), *other);
  };
  for (const auto& pit : pits) {
    highest(row.water_table_m, pit.water_m);
    highest(row.rock_m, pit.rock_m);
    if (!row.slope_deg) row.slope_deg = pit.slope_deg;
  }
  for (const auto& pit : ground.pits) {
    if (!pit.frost_depth) continue;
    const double shallow = rounded(pit.frost_depth->shallow_m, 2),
                 deep = rounded(pit.frost_depth->deep_m, 2);
    row.frost_depth_m = {rounded((shallow + deep) / 2, 3), shallow, deep};
    break;
  }
}

std::string figures_of(const horizon::VerdictLine& line) {
  survey::Json list = survey::Json::array();
  for (const double value : line.values) list.push_back(rounded(value, 4));
  return list.dump();
}

Result<void> describe_ground(Site& site, const survey::Assessment& assessed) {
  const survey::GroundOptions options{site.options.weather.get(), {}, {}, &assessed};
  const auto ground = ground_findings(site.book, options);
  if (!ground) return tl::unexpected(ground.error());
  const auto pits = site.book.all<survey::SoilPit>();
  if (!pits) return tl::unexpected(pits.error());
  describe_forms(site, *ground);
  describe_pits(site, *ground, *pits);
  for (const auto& what : ground->missing) site.ask("ground", words_of(what));
  const auto input = plot_input(site.book, *ground, &assessed);
  if (!input) return tl::unexpected(input.error());
  const auto verdicts = station_verdicts(*input);
  if (!verdicts) return {};  // no station has aims: the tasks say so
  survey::ProgrammeSite& row = site.out.site;
  const auto same = std::ranges::find(*verdicts, row.station, &horizon::SpotVerdict::name);
  const auto& verdict = same == verdicts->end() ? verdicts->front() : *same;
  using horizon::Stance;
  row.speaks_for = verdict.count(Stance::speaks_for);
  row.speaks_against = verdict.count(Stance::against);
  row.unsure = verdict.count(Stance::unsure);
  row.not_known = verdict.count(Stance::unknown);
  for (const auto& line : verdict.lines)
    site.out.verdict.push_back({std::string(name_of(line.criterion)),
                                std::string(name_of(line.stance)),
                                verdict_words(line, site.options.units), words_of(line.evidence),
                                line.weight, std::string(line.about), figures_of(line)});
  return {};
}

}  // namespace

Result<ProgrammeState> programme_state(const survey::FieldBook& book,
                                       const ProgrammeOptions& options) {
  ProgrammeState out;
  Site site{book, options, out};
  const auto assessed = survey::assess(book);
  if (!assessed) return tl::unexpected(assessed.error());
  const survey::Site& of = assessed->settings.site;
  survey::ProgrammeSite& row = out.site;
  row.site_id = of.id;
  row.name = of.name;
  row.software = options.software;
  row.language = language();
  row.stations = static_cast<int>(assessed->stations.size());
  survey::Position at = of.position;
  if (at == survey::Position{} && assessed->main()) at = assessed->main()->station.position;
  if (at != survey::Position{}) {
    row.latitude_deg = at.latitude_deg;
    row.longitude_deg = at.longitude_deg;
    row.height_m = at.height_m;
  }
  auto content = survey::content_sha256(book);
  if (!content) return tl::unexpected(content.error());
  row.content_sha256 = std::move(*content);
  if (auto ok = describe_visit(site, assessed->main()); !ok) return tl::unexpected(ok.error());
  describe_light(site, *assessed);
  if (auto ok = describe_ground(site, *assessed); !ok) return tl::unexpected(ok.error());
  row.questions = static_cast<int>(out.questions.size());
  return out;
}

void add_conflicts(ProgrammeState& state, const std::vector<survey::Conflict>& conflicts,
                   const std::vector<survey::ProgrammeQuestion>& still) {
  std::vector<survey::ProgrammeQuestion> all = still;
  for (const auto& each : conflicts) {
    std::erase_if(all, [&](const auto& one) { return one.key == each.key(); });
    all.push_back(
        {"copies",
         tr("programme.conflict", {each.table, each.row_name, each.column, each.mine, each.theirs}),
         each.key()});
  }
  state.site.conflicts = static_cast<int>(all.size());
  state.questions.insert(state.questions.end(), all.begin(), all.end());
  state.site.questions = static_cast<int>(state.questions.size());
}

}  // namespace app
