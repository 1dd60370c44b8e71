// app/handover/programme_gather.h: how do site files get into a programme, again and again, from many hands?
// Copies:  a copy that was taken in before is passed over; else it is merged with what the programme
//          keeps of its site (survey/book/merge.h), and the figures are worked out of the whole.
//          Where both changed one entry the first stands, and the difference is an open question
// Files:   only read, through the door for files from others; their raw data never change
// Errors:  of one site: named, and the others go on. Of the programme itself (server gone): the end
#pragma once

#include <functional>
#include <string>
#include <vector>

#include "app/handover/programme_site.h"

namespace app {

enum class Gathered : std::uint8_t { added, brought_up, unchanged, skipped };
inline constexpr int kGatheredCount = 4;
std::string_view name_of(Gathered what);  // "added", ...

struct GatheredSite {
  Gathered what = Gathered::skipped;
  std::string file, site;
  std::vector<horizon::Error> said;  // why it was skipped; rows that were refused
  int conflicts = 0;
};

struct GatherOptions {
  ProgrammeOptions site;
  bool use_weather = true;  // files kept beside the sites
  bool again = false;       // work out anew what has not changed, too
  int thumbnail_px = 320;
  std::function<bool()> cancelled;
};

// The sites in the order in which they were done.
horizon::Result<void> gather(survey::Programme& programme, std::vector<std::string> files,
                             const GatherOptions& options,
                             const std::function<void(const GatheredSite&)>& done);

}  // namespace app
