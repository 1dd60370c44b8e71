// app/handover/programme_site.h: what does a programme keep of this one site?
// Figures: of the main station, as screens and report have them; low and high hold 90 %
// Gain:    light on the shown plane outside the glazing, mean winter day; its range is that of the
//          hours, each hour of direct sun taken as worth what the month's are worth on average
// Crops:   the range of an odd is Wilson's for a count of so many winters (E. B. Wilson, Journal of
//          the American Statistical Association 22, 1927, p. 209), 90 %
// Cost:    a second or two a site
#pragma once

#include <memory>

#include "app/words/quantity.h"
#include "horizon/light/weather_year.h"
#include "survey/book/merge.h"
#include "survey/book/store.h"
#include "survey/exchange/programme.h"

namespace app {

struct ProgrammeOptions {
  int draws = 200, winters = 100;  // as the report
  Units units = Units::metric;     // of the texts
  std::string software;
  std::shared_ptr<const horizon::WeatherYear> weather;  // hourly, of the place; or null
};

// Fails only where the file cannot be read: what is missing becomes an open question.
horizon::Result<survey::ProgrammeState> programme_state(const survey::FieldBook& book,
                                                        const ProgrammeOptions& options);
// Entries in which two copies differ, as open questions; beside those that stayed open before.
void add_conflicts(survey::ProgrammeState& state, const std::vector<survey::Conflict>& conflicts,
                   const std::vector<survey::ProgrammeQuestion>& still);

}  // namespace app
