// app/handover/zip.h: files of a folder into one zip archive, and those of a received one.
// Same files and same time give the same bytes: entries in the order given, no owner, no zone.
// Valid:  times from 1980 to 2107 (the format's own), to 2 seconds
// Errors: disk full, unreadable files, cancelled; the unfinished archive is removed. Read: no zip
//         archive, more than 1000 entries, or more than a gigabyte once unpacked
// Source: libzip; APPNOTE.TXT 6.3 (ZIP file format)
#pragma once

#include <cstdint>
#include <functional>
#include <span>
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

struct Unzipped {
  std::string name;  // its last part alone: no folder, and no path is made of it
  std::vector<std::uint8_t> bytes;
};
// Only the entries whose name is `wanted`; damaged ones fail by name.
horizon::Result<std::vector<Unzipped>> read_zip(
    std::span<const std::uint8_t> archive,
    const std::function<bool(const std::string& name)>& wanted);

}  // namespace app
