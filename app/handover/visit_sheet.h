// app/handover/visit_sheet.h: what to do on a visit in the time at hand, and what to bring.
// Units:  minutes; a sheet of paper in points
// Source: the durations are [common practice], for one person who has practised once
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "app/drawing/charts/acts.h"
#include "app/handover/pages.h"
#include "horizon/result.h"

namespace app {

inline constexpr int kVisitTimes_min[] = {20, 45, 90, 180};

struct VisitStep {
  std::string key;  // of its words: "visit.KEY", "visit.KEY.how"
  int minutes = 0;
  std::optional<HowTo> act;  // how its tool is held
};
// The steps that fit, in the order of the walk; a longer time holds all that a shorter one does.
std::vector<VisitStep> visit_plan(int minutes);
std::vector<std::string> visit_kit(int minutes);  // keys of words: "bring.KEY"

// One page as the bytes of a PDF, in that language.
horizon::Result<std::string> visit_sheet(int minutes, const std::string& language, Paper paper);

}  // namespace app
