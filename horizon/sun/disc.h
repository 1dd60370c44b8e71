// horizon/sun/disc.h: how much of the sun's disc stands above the skyline.
// Units:    degrees; share of the disc's area, 0 to 1
// Frame:    true azimuth, elevation as seen
// Accuracy: exact for a circle in the plane that touches the sky at its centre, cut by straight
//           edges and steps; 0.001 up to 80 degrees. The flattening by refraction near a flat
//           horizon is left out
#pragma once

#include "horizon/skyline/mask.h"

namespace horizon {

double disc_fraction_above(const Mask& mask, double azimuth_deg, double elevation_deg,
                           double semidiameter_deg);

}  // namespace horizon
