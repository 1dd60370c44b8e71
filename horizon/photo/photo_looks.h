// horizon/photo/photo_looks.h: what sky and ground look like in one picture, learned from a line.
// Units: looks are cells of a histogram of colour and roughness; likelihoods are log odds of sky
#pragma once

#include <vector>

#include "horizon/photo/picture_grid.h"

namespace horizon {

// Each pixel's cell, column after column.
std::vector<int> look_cells(const WorkPicture& work, const Grid& roughness);
// log p(sky) - log p(ground) of every pixel, limited to 3 either way; columns may count
// more than once.
void look_likelihood(const std::vector<int>& cells, const std::vector<int>& line,
                     const std::vector<float>& column_weight, Grid& out);

}  // namespace horizon
