// horizon/plot/shadow.h: where does the shadow of a thing lie on the ground?
// Units:    metres, degrees
// Frame:    east, north, up of the plot; the ground is its plane
// Valid:    the sun above the ground's own slope; nothing below it
// Accuracy: exact for the shapes: an upright wall under a line of tops, a cone (evergreen), a ball
//           on a stem (other round things)
// Source:   straight rays of a sun that is a point
#pragma once

#include <vector>

#include "horizon/plot/plot.h"
#include "horizon/plot/site_plan.h"

namespace horizon {

// Each part's outline (a wall has one a piece), anticlockwise; empty where there is none.
std::vector<std::vector<Eigen::Vector2d>> shadows_of(const PlanObstacle& thing,
                                                     const GroundPlane& ground,
                                                     TrueAzimuth sun_azimuth,
                                                     Elevation sun_elevation);

std::vector<Eigen::Vector2d> convex_hull(std::vector<Eigen::Vector2d> points);

}  // namespace horizon
