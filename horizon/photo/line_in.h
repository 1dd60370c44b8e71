// horizon/photo/line_in.h: photo_line for who has the picture at working size. Inside horizon/photo only.
// Units: as photo_line.h and picture_grid.h
#pragma once

#include "horizon/photo/photo_line.h"
#include "horizon/photo/picture_grid.h"

namespace horizon {

// `rough` of `work`; the picture at least 32 by 32.
PhotoLine line_in(const PictureView& picture, const WorkPicture& work, const Grid& rough,
                  const LineHelp& help);

}  // namespace horizon
