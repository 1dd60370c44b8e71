// app/handover/valley_page.h: a valley's winter sun on one page: shaded relief with hours, candidates numbered.
// Relief:  light from the north-west, 45 degrees high, as maps are shaded [common practice]; colours by
//          whole hours as in winter_sun_classes.tif
// Frame:   the valley's own transverse Mercator grid; its north is true north to a degree or two
// Says     where the heights are from, the size of a cell, and what a grid of bare heights leaves out
#pragma once

#include <array>
#include <optional>
#include <span>
#include <string>
#include <vector>

#include "app/drawing/canvas.h"
#include "app/handover/pages.h"
#include "horizon/result.h"
#include "survey/exchange/valley_files.h"

namespace app {

struct ValleyPage {
  const horizon::ValleySun& sun;
  double cell_m = 30;
  std::span<const survey::Terrace> best_first;
  std::vector<std::optional<double>> exact_winter_h;  // of the first ones
  std::vector<std::string> sources;                   // names of the grids
  survey::TerraceRule rule;
  int year = 2026;
  Paper paper = Paper::a4;
  Units units = Units::metric;
  std::string language = "en", software;
  double time_utc_s = 0;
};

// By whole hours, from 1; 0 = not known.
inline constexpr std::array<std::array<std::uint8_t, 3>, 10> kSunClasses = {{{{0, 0, 0}},
                                                                             {{38, 50, 66}},
                                                                             {{66, 80, 98}},
                                                                             {{104, 112, 120}},
                                                                             {{150, 142, 126}},
                                                                             {{196, 164, 110}},
                                                                             {{226, 176, 84}},
                                                                             {{242, 190, 70}},
                                                                             {{250, 208, 92}},
                                                                             {{255, 226, 140}}}};
// 0 to 9; of NaN 0.
int sun_class(float winter_h);

// At most `most_px` on the longer side; what is not known is white.
Image shaded_relief(const horizon::ValleySun& sun, int most_px);
horizon::Result<std::string> valley_page_pdf(const ValleyPage& page);
horizon::Result<std::string> valley_page_png(const ValleyPage& page);  // 150 pixels an inch

}  // namespace app
