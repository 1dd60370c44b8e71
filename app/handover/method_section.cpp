#include <algorithm>

#include "app/handover/sections.h"
#include "app/words/sentence.h"
#include "app/words/words.h"

namespace app {
namespace {

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

}  // namespace

void method_section(Pages& pages, const ReportContext& context) {
  const auto& site = context.site;
  pages.section(tr("report.annex", {tr("report.method_section")}), 170);
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
      add_listed(winter, month_name(month));
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
  pages.small(tr("report.raw_where"));
}

}  // namespace app
