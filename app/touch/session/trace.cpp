#include "app/touch/session/trace.h"

#include <algorithm>
#include <cmath>

#include "horizon/angle.h"

namespace app {

std::vector<int> thinned(std::span<const Aim> trace, double tolerance_deg, double widest_deg) {
  const int n = int(trace.size());
  if (n == 0) return {};
  std::vector<double> x(trace.size()), y(trace.size());  // unwrapped, so that north is no step
  for (int i = 0; i < n; ++i) {
    const double turn =
        i == 0 ? 0 : horizon::wrap_180(trace[i].azimuth_deg - trace[i - 1].azimuth_deg);
    x[i] = i == 0 ? trace[0].azimuth_deg : x[i - 1] + turn;
    y[i] = trace[i].elevation_deg;
  }
  std::vector<bool> keep(trace.size(), false);
  keep[0] = keep[n - 1] = true;
  std::vector<std::pair<int, int>> parts{{0, n - 1}};
  while (!parts.empty()) {
    const auto [from, to] = parts.back();
    parts.pop_back();
    double worst = tolerance_deg;
    int at = -1;
    for (int i = from + 1; i < to; ++i) {
      const double shrink = std::cos(y[i] * horizon::kDegree);
      const double bx = (x[to] - x[from]) * shrink, by = y[to] - y[from];
      const double px = (x[i] - x[from]) * shrink, py = y[i] - y[from];
      const double length = bx * bx + by * by;
      const double t = length > 0 ? std::clamp((px * bx + py * by) / length, 0.0, 1.0) : 0;
      const double off = std::hypot(px - t * bx, py - t * by);
      if (off > worst) {
        worst = off;
        at = i;
      }
    }
    if (at < 0) continue;
    keep[at] = true;
    parts.push_back({from, at});
    parts.push_back({at, to});
  }
  std::vector<int> kept;
  for (int i = 0; i < n; ++i) {
    // The last point before the gap would grow too wide.
    if (!kept.empty() && std::fabs(x[i] - x[kept.back()]) > widest_deg && i - 1 > kept.back())
      kept.push_back(i - 1);
    if (keep[i] && (kept.empty() || kept.back() != i)) kept.push_back(i);
  }
  return kept;
}

}  // namespace app
