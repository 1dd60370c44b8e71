// app/handover/programme_report.h: all sites of a programme on paper: ranking with reasons, map, one page a site.
// The ranking never says more than the ranges bear: see app/handover/programme_rank.h.
// Units: metric or imperial, as asked
#pragma once

#include <functional>
#include <span>

#include "app/handover/programme_rank.h"
#include "app/handover/report.h"
#include "horizon/result.h"
#include "horizon/terrain/terrain.h"

namespace app {

// The bytes of a JPEG by its photograph's hash; empty: there is none.
using ThumbnailOf = std::function<std::string(const std::string& sha256)>;

// ground: heights to shade the map with, where they are at hand. `name`: of the programme. most_pages: sites with a page of their own, in the order of the ranking.
horizon::Result<std::string> programme_report(const std::string& name,
                                              const std::vector<survey::ProgrammeState>& sites,
                                              SortBy by, const ReportOptions& options,
                                              const ThumbnailOf& thumbnail, int most_pages = 100,
                                              std::span<const horizon::TerrainGrid> ground = {});

}  // namespace app
