// survey/assess/progress.h: how far the walk has come, stop by stop, and what each stop still lacks.
// The only list of what is missing: the rings of the touch app, its Hand over and `check` read it.
// The five stops are those of the walk: Arrive, Skyline, Ground, Light, Hand over.
#pragma once

#include <array>
#include <string>
#include <vector>

#include "survey/assess/station_skyline.h"
#include "survey/book/store.h"

namespace survey {

enum class Stop : std::uint8_t { arrive, skyline, ground, light, hand_over };
inline constexpr int kStopCount = 5;
std::string_view name_of(Stop stop);  // "arrive", "skyline", ...

struct Task {
  std::string key;  // of its words: what to do, "task.heading_checks"
  bool done = false;
  double part = done ? 1 : 0;  // of it, where it is more than a yes or no
};
struct StopProgress {
  Stop stop = Stop::arrive;
  std::vector<Task> tasks;
  double done_share() const;  // 0 to 1
};
// The skyline of the main station may be given where it is known already.
horizon::Result<std::array<StopProgress, kStopCount>> progress_of(
    const FieldBook& book, const StationSkyline* main = nullptr);

}  // namespace survey
