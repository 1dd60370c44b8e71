// app/handover/handover.h: everything for the designer, out of one field book: the report, and one
// zip with site file, report, charts, tables, shading surfaces, photographs and a README.
// Whole:  all is written into a hidden folder first, flushed to the device and moved into place at
//         the end; a failure or a cancel leaves the folder as it was
// Same:   the same site and options (time included) give the same bytes
// Errors: no sightings; folder not writable, disk full; weather file that does not fit
// Used by the app's Hand over stop and by `adret-cli handover`.
#pragma once

#include <cstdint>
#include <string>
#include <vector>

#include "app/handover/report.h"
#include "app/handover/tables.h"
#include "survey/book/durable.h"

namespace app {

struct HandoverOptions {
  ReportOptions report;
  std::string out_folder;    // made where it is missing
  std::string weather_path;  // an EPW file to adjust to each station's skyline; empty: none
  bool photos = true;        // originals into the package, copies into the report
  bool people = true;        // names, telephones and consents; else none anywhere
  bool unpacked = false;     // the package's files also as a folder beside the zip
  int draws = 200;           // of the uncertainty
  // keep: an earlier hand-over stays, this one is numbered: "larkholm-2-package.zip"
  survey::Existing existing = survey::Existing::keep;
};

struct Handover {
  std::string report_path, package_path;
  std::string unpacked_path;       // empty unless asked for
  std::vector<PackageFile> files;  // of the package
  std::uint64_t package_bytes = 0;
};

horizon::Result<Handover> make_handover(const survey::FieldBook& book,
                                        const HandoverOptions& options, const Progress& progress,
                                        const Cancelled& cancelled);

}  // namespace app
