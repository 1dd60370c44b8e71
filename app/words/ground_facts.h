// app/words/ground_facts.h: the ground findings in words, as rows of name, value and evidence: the
// same on screens and in the report.
#pragma once

#include <string>
#include <vector>

#include "app/words/quantity.h"
#include "survey/assess/ground_findings.h"
#include "survey/assess/plot_findings.h"

namespace app {

struct FactRow {
  std::string name, value, from;  // from: empty where the group's own says it
};
struct FactGroup {
  std::string title, from;
  std::vector<FactRow> rows;
  std::vector<std::string> notes;     // explain
  std::vector<std::string> cautions;  // of what can hurt
};

FactGroup pit_facts(const survey::PitFinding& pit, Units units);
FactGroup percolation_facts(const survey::PercolationFinding& test, Units units);
FactGroup frost_facts(const survey::GroundFindings& findings, Units units);
FactGroup temperature_facts(const survey::GroundFindings& findings, Units units);
FactGroup cold_facts(const survey::GroundFindings& findings, Units units);
FactGroup wind_facts(const survey::GroundFindings& findings, Units units);
FactGroup snow_facts(const survey::GroundFindings& findings, Units units);
FactGroup form_facts(const survey::SiteNote& form, Units units);        // as answered
FactGroup things_facts(const survey::PlotFindings& plot, Units units);  // what stands where
FactGroup places_facts(const survey::PlotFindings& plot,
                       Units units);  // best places, what hides there
// All that are not empty, in the order of the report; without pits and tests.
FactGroup later_facts(const survey::PlotFindings& plot);  // of the stations in 10 and 20 years
std::vector<FactGroup> weather_facts(const survey::GroundFindings& findings, Units units);

std::string spot_name(const horizon::SpotVerdict& spot);  // of its station, or "Sunniest place"
// A line of the verdict in the reader's language and units.
std::string verdict_words(const horizon::VerdictLine& line, Units units);

std::string length(double metres, Units units);  // "1.8 m", "1.25 m", "5.9 ft"
std::string fall_rate(const horizon::PercolationResult& result, Units units);  // "36 ± 4 mm/h"

}  // namespace app
