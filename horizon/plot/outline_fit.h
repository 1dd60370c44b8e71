// horizon/plot/outline_fit.h: how well a shape explains an outline as it was aimed at.
// Units:    metres, degrees
// Frame:    the plot's east, north, up
// Method:   each mark gives two residuals, across and up, in sigmas. A side is the outermost corner
//           or the crown's tangent; a mark where the measured line bends is the nearest corner in
//           view; any other lies somewhere on the line
// Source:   the project's own; see docs/decisions.md
#pragma once

#include "horizon/plot/shape.h"

namespace horizon {

// Sums of a fit: minus the log of the likelihood, up to a constant that all shapes share.
struct Residuals {
  std::vector<double> values;  // in sigmas
  double log_sigmas = 0;       // sum of the logs of the sigmas, in degrees
  void add(double off_deg, double sigma_deg) {
    values.push_back(off_deg / sigma_deg);
    log_sigmas += std::log(sigma_deg);
  }
  // Anywhere within a range is as likely: the normal density's own height at 0 counts against it.
  void anywhere(double range_deg, double sigma_deg, double beyond_deg = 0) {
    constexpr double kSigmas = 2.5066;  // the root of two pi
    values.push_back(beyond_deg / sigma_deg);
    log_sigmas += std::log(range_deg / kSigmas + sigma_deg);
  }
  double energy() const;
};

// What of an outline does not change during the fit.
struct OutlineView {
  const PlotOutline* outline = nullptr;
  std::vector<bool> bends;  // by mark: the line turns here
  int top = 0;              // the highest mark
  double width_deg = 0;
};
OutlineView outline_view(const PlotOutline& outline);

// heading_deg: what the station's bearings are off. foot_up_m: the ground under the thing.
void outline_residuals(const OutlineView& view, const Shape& shape, const Enu& eye,
                       double heading_deg, double foot_up_m, Residuals& out);

}  // namespace horizon
