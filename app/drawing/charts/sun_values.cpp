#include "app/drawing/charts/sun_values.h"

#include <algorithm>
#include <cmath>

namespace app {
namespace {

using horizon::SunWindows;

// Spread a stretch over the local days it touches.
void put(SunYearChart& chart, const horizon::SunPath& path, const horizon::SunWindow& window,
         SunState state) {
  const double start = path.day_start_utc_s(0);
  int day = std::max(0, static_cast<int>((window.from_utc_s - start) / 86400));
  for (; day < path.days() && path.day_start_utc_s(day) < window.to_utc_s; ++day) {
    const double midnight = path.day_start_utc_s(day);
    const auto from = static_cast<float>((window.from_utc_s - midnight) / 3600);
    const auto to = static_cast<float>((window.to_utc_s - midnight) / 3600);
    if (to - from < 1.0f / 3600) continue;
    chart.days[day].push_back({std::max(0.f, from), std::min(24.f, to), state});
  }
}

}  // namespace

DayPath day_path(const horizon::SunPath& path, int day, bool strong) {
  DayPath out;
  out.label = day_month(path.date(day));
  out.strong = strong;
  const double midnight = path.day_start_utc_s(day);
  constexpr double kStep = 300;
  for (double t = midnight; t <= midnight + 86400; t += kStep) {
    const auto seen = path.at(t);
    if (seen.elevation_deg < 0) continue;
    out.points.push_back({seen.azimuth_deg, seen.elevation_deg});
    const int minute = static_cast<int>(std::lround((t - midnight) / 60));
    if (minute % 60 == 0)
      out.hours.push_back({{seen.azimuth_deg, seen.elevation_deg}, minute / 60});
  }
  return out;
}

std::vector<DayPath> day_paths(const horizon::SunPath& path) {
  const bool southern = path.place().latitude_deg < 0;
  std::vector<DayPath> out;
  for (int day = 0; day < path.days(); ++day) {
    const horizon::Date date = path.date(day);
    const auto month = static_cast<unsigned>(date.month());
    if (static_cast<unsigned>(date.day()) != 21) continue;
    if ((month >= 7 && month <= 11) || month == 5) continue;  // as 21 May and before, mirrored
    out.push_back(day_path(path, day, month == (southern ? 6u : 12u)));
  }
  return out;
}

SunYearChart sun_year_chart(const horizon::SunPath& path, const horizon::Masks& masks,
                            const horizon::Skyline& skyline) {
  SunYearChart chart;
  chart.year = static_cast<int>(path.date(0).year());
  chart.days.resize(static_cast<std::size_t>(path.days()));
  const SunWindows up = horizon::windows_above(path, horizon::Mask());
  const SunWindows seen = horizon::windows_above(path, masks.all);
  for (const auto& stretch : horizon::by_obstacle(path, seen, masks.all)) {
    put(chart, path, stretch.window, stretch.open ? SunState::open : SunState::in_view);
  }
  const SunWindows hidden = horizon::difference(up, seen);
  for (const auto& stretch : horizon::by_obstacle(path, hidden, masks.all)) {
    SunState state = SunState::open;
    if (!stretch.open && stretch.obstacle >= 0) {
      state = static_cast<SunState>(1 + static_cast<int>(skyline.obstacles[stretch.obstacle].kind));
    }
    put(chart, path, stretch.window, state);
  }
  for (auto& day : chart.days) {
    std::sort(day.begin(), day.end(),
              [](const SunBand& a, const SunBand& b) { return a.from_h < b.from_h; });
    // One thing after another of the same sort is one band.
    std::vector<SunBand> joined;
    for (const SunBand& band : day) {
      if (!joined.empty() && joined.back().state == band.state &&
          band.from_h - joined.back().to_h < 1.0f / 600) {
        joined.back().to_h = band.to_h;
      } else {
        joined.push_back(band);
      }
    }
    day = std::move(joined);
  }
  return chart;
}

}  // namespace app
