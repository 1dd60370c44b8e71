// app/handover/zip.h: files of a folder into one zip archive.
// Same files and same time give the same bytes: entries in the order given, no owner, no zone.
// Valid:  times from 1980 to 2107 (the format's own), to 2 seconds
// Errors: disk full, unreadable files, cancelled; the unfinished archive is removed
// Source: libzip; APPNOTE.TXT 6.3 (ZIP file format)
#pragma once

#include <string>
#include <vector>

#include "app/handover/site_report.h"
#include "horizon/result.h"

namespace app {

struct ZipEntry {
  std::string name;             // in the archive, with '/'
  std::string path;             // on the disk
  bool packed_already = false;  // pictures: stored as they are
};
horizon::Result<void> write_zip(const std::string& path, const std::vector<ZipEntry>& entries,
                                double time_utc_s, const Progress& progress,
                                const Cancelled& cancelled);

}  // namespace app
