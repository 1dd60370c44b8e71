// app/handover/report.h: the report that a designer reads who was never on the plot.
// Page 1 the site at a glance; then each station, the stations side by side, the ground, the
// photographs, and how all of it was measured and worked out.
// Units:  metric or imperial, as asked; angles in degrees, true unless said
#pragma once

#include <functional>
#include <string>

#include "app/handover/pages.h"
#include "app/handover/site_report.h"
#include "app/words/quantity.h"

namespace app {

struct ReportOptions {
  std::string language = "en";
  Paper paper = Paper::a4;
  Units units = Units::metric;
  double time_utc_s = 0;         // printed as the time of making
  std::string software_version;  // "Adret 0.1.0"
};

// The original bytes of a photograph.
using PhotoBytes = std::function<horizon::Result<std::string>(const survey::Photo&)>;

// The bytes of a PDF. A photograph that cannot be read leaves a line that says so.
horizon::Result<std::string> make_report(const SiteReport& site, const ReportOptions& options,
                                         const PhotoBytes& photos, const Progress& progress,
                                         const Cancelled& cancelled);

}  // namespace app
