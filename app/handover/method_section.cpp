#include <algorithm>

#include "app/handover/sections.h"
#include "app/words/sentence.h"
#include "app/words/words.h"

namespace app {
namespace {

std::string kind_words(horizon::Kind kind) {
  return tr("kind." + std::string(horizon::name_of(kind)));
}

void corrections(Pages& pages, const StationReport& station) {
  const auto& derived = station.derived;
  std::vector<std::pair<std::string, std::string>> facts;
  if (derived.declination_deg) {
    facts.emplace_back(tr("report.declination"),
                       tr("report.declination_value",
                          {degrees(*derived.declination_deg, 2),
                           degrees(derived.declination_sigma_deg, 2), derived.declination_source}));
  }
  if (derived.convergence_deg) {
    facts.emplace_back(tr("report.convergence"), degrees(*derived.convergence_deg, 3));
  }
  for (const auto& heading : derived.instruments) {
    const auto& c = heading.correction;
    const std::string name =
        heading.instrument.empty() ? tr("report.instrument") : heading.instrument;
    std::string words = c.used > 0 ? tr_count("report.heading_value", c.used,
                                              {degrees(c.offset_deg, 2), degrees(c.sigma_deg, 2)})
                                   : tr("report.heading_none", {degrees(c.sigma_deg, 1)});
    if (!c.rejected.empty()) {
      words += "; " + tr_count("report.rejected", static_cast<long>(c.rejected.size()));
    }
    if (c.disputed) words += "; " + tr("report.disputed");
    facts.emplace_back(name, words);
  }
  for (const auto& note : derived.notes) {
    facts.emplace_back(words_of_place(note.where), words_of(note));
  }
  if (facts.empty()) return;
  pages.heading(tr("report.corrections", {station.name()}), 40);
  pages.facts(facts);
  std::vector<std::vector<std::string>> rows;
  for (const auto& check : station.checks) {
    rows.push_back({tr("check." + std::string(horizon::name_of(check.kind))), check.label,
                    degrees(check.bearing_deg, 1) + " " +
                        tr("reference." + std::string(horizon::name_of(check.reference))),
                    degrees(check.known_true_deg, 2),
                    check.voided ? tr("report.voided", {check.void_reason}) : ""});
  }
  if (!rows.empty()) {
    pages.table({{tr("report.check"), 1.6f},
                 {tr("report.label"), 2.4f},
                 {tr("report.read"), 1.8f},
                 {tr("report.known"), 1.2f},
                 {tr("report.note"), 2.6f}},
                rows, 7.5f);
  }
}

// What is the same for all stands once above the table, and two tables stand side by side where
// nothing but the short columns is left.
void raw_sightings(Pages& pages, const StationReport& station) {
  if (station.sightings.empty()) return;
  const auto same = [&](auto text_of) {
    const std::string first = text_of(station.sightings.front());
    return std::all_of(station.sightings.begin(), station.sightings.end(),
                       [&](const auto& sighting) { return text_of(sighting) == first; });
  };
  const auto reference = [](const survey::Sighting& s) {
    return tr("reference." + std::string(horizon::name_of(s.reference)));
  };
  const auto sigmas = [](const survey::Sighting& s) {
    return "±" + number(s.bearing_sigma_deg, 1) + " / ±" + number(s.elevation_sigma_deg, 1);
  };
  const bool one_reference = same(reference), one_sigma = same(sigmas);
  const bool plain =
      std::none_of(station.sightings.begin(), station.sightings.end(),
                   [](const auto& sighting) { return sighting.voided || !sighting.note.empty(); });
  const bool in_two = plain && one_reference && one_sigma;
  constexpr std::size_t kHalf = 20;  // rows; short enough to stay on one page
  const auto height_of = [](std::size_t count) { return static_cast<float>(count) * 13.2f + 20; };
  pages.heading(tr("report.raw", {station.name()}),
                in_two ? 24 + height_of(std::min(kHalf, (station.sightings.size() + 1) / 2)) : 60);
  std::string shared;
  if (one_reference)
    shared += tr("report.bearing") + ": " + reference(station.sightings.front()) + ". ";
  if (one_sigma) shared += tr("report.sigma") + ": " + sigmas(station.sightings.front()) + ".";
  if (!shared.empty()) pages.small(shared);
  std::vector<std::vector<std::string>> rows;
  const bool layers = !same([](const auto& s) { return std::to_string(s.layer); });
  int row = 0;
  for (const auto& sighting : station.sightings) {
    ++row;
    std::string note = sighting.note;
    if (sighting.voided) {
      note = tr("report.voided", {sighting.void_reason}) + (note.empty() ? "" : " " + note);
    }
    rows.push_back({std::to_string(row),
                    horizon::format_clock(sighting.time.utc_s, sighting.time.utc_offset_h),
                    degrees(sighting.bearing_deg, 1) +
                        (one_reference ? "" : " " + reference(sighting)) +
                        (sighting.back_bearing ? " " + tr("report.back") : ""),
                    degrees(sighting.elevation_deg, 1), one_sigma ? "" : sigmas(sighting),
                    kind_words(sighting.kind), sighting.label,
                    layers ? std::to_string(sighting.layer) : "", note});
  }
  const std::vector<TableColumn> columns = {
      {"", 0.6f, Align::right},
      {tr("report.time"), 0.9f, Align::right},
      {tr("report.bearing"), one_reference ? 1.2f : 1.9f, Align::right},
      {tr("report.elevation"), 1.2f, Align::right},
      {tr("report.sigma"), 1.4f, Align::right},
      {tr("report.kind"), 1.4f},
      {tr("report.label"), 2.2f},
      {tr("report.layer"), 0.8f, Align::right},
      {tr("report.note"), 2.2f}};
  if (!in_two) return pages.table(columns, rows, 7);
  std::vector<TableColumn> twice = columns;
  twice.insert(twice.end(), columns.begin(), columns.end());
  for (std::size_t begin = 0; begin < rows.size(); begin += 2 * kHalf) {
    const std::size_t half = std::min(kHalf, (rows.size() - begin + 1) / 2);
    std::vector<std::vector<std::string>> side_by_side(
        rows.begin() + static_cast<long>(begin), rows.begin() + static_cast<long>(begin + half));
    for (std::size_t i = begin + half; i < std::min(rows.size(), begin + 2 * half); ++i) {
      auto& left = side_by_side[i - begin - half];
      left.insert(left.end(), rows[i].begin(), rows[i].end());
    }
    pages.need(height_of(half));
    pages.table(twice, side_by_side, 7);
  }
}

}  // namespace

void method_section(Pages& pages, const ReportContext& context) {
  const auto& site = context.site;
  pages.section(tr("report.method_section"));
  for (int i = 1; has_words("report.method." + std::to_string(i)); ++i) {
    pages.bullet(tr("report.method." + std::to_string(i)));
  }
  const auto& main = site.stations.front();
  const auto& input = main.input;
  std::vector<std::pair<std::string, std::string>> facts;
  facts.emplace_back(tr("report.year_used"), std::to_string(input.year));
  facts.emplace_back(tr("report.sky"),
                     main.findings.sky == horizon::SkySource::clear
                         ? tr("report.sky.clear_long")
                         : tr("report.sky.typical_long", {main.findings.sky_source}));
  facts.emplace_back(tr("report.glazing"), tr(input.glazing.name));
  facts.emplace_back(tr("report.frames"), percent(input.frames_and_dirt));
  facts.emplace_back(tr("report.draws"), std::to_string(main.findings.draws));
  std::string winter;
  for (int month = 1; month <= 12; ++month) {
    if (main.findings.winter_months >> (month - 1) & 1) {
      winter += (winter.empty() ? "" : ", ") + month_name(month);
    }
  }
  facts.emplace_back(tr("report.winter_months"), winter);
  facts.emplace_back(tr("report.software"), context.options.software_version);
  facts.emplace_back(tr("report.made"), horizon::format_utc(context.options.time_utc_s));
  pages.facts(facts);
  for (const auto& station : site.stations) corrections(pages, station);
  pages.heading(tr("report.sources"), 40);
  for (int i = 1; has_words("report.source." + std::to_string(i)); ++i) {
    pages.bullet(tr("report.source." + std::to_string(i)));
  }
  pages.heading(tr("report.limits"), 40);
  for (int i = 1; has_words("report.limit." + std::to_string(i)); ++i) {
    pages.bullet(tr("report.limit." + std::to_string(i)));
  }
  for (const auto& station : site.stations) raw_sightings(pages, station);
}

}  // namespace app
