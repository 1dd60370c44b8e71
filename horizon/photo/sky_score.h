// horizon/photo/sky_score.h: how much each spot of a picture looks like sky.
// Units:  log odds of sky against all else; a coarse grid of at most kSkyWide columns
// Method: colour, roughness at three scales, how hard the way is from the top and from the bottom
//         of the picture, and what lies above and below, into a small network trained on
//         photographs traced by hand (tests/photo)
#pragma once

#include "horizon/photo/picture_grid.h"
#include "horizon/photo/small_net.h"

namespace horizon {

inline constexpr int kSkyWide = 160;
inline constexpr int kSkyFeatures = 24;
using SkyNet = SmallNet<kSkyFeatures, 24, 12>;
SkyNet trained_sky_net();

// The features of every spot, column after column, kSkyFeatures each.
std::vector<float> sky_features(const WorkPicture& work, const Grid& roughness, int& width,
                                int& height);
Grid sky_score(const WorkPicture& work, const Grid& roughness, const SkyNet& net);

}  // namespace horizon
