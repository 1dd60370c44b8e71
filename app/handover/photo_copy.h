// app/handover/photo_copy.h: a photograph made upright and small enough for a page.
// Valid:  JPEG and PNG up to 120 megapixels
// Errors: what cannot be decoded
#pragma once

#include <string_view>

#include "app/drawing/canvas.h"
#include "horizon/result.h"

namespace app {

// orientation: 1 to 8 as in EXIF. The result is a JPEG of at most `longest_px` on its longer side.
horizon::Result<Image> photo_copy(std::string_view bytes, int orientation, int longest_px);

// The same, as pixels to work with instead of JPEG.
horizon::Result<Image> photo_pixels(std::string_view bytes, int orientation, int longest_px);

}  // namespace app
