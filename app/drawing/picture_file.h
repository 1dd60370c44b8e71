// app/drawing/picture_file.h: a picture file (JPEG, PNG) as pixels.
// Errors: an empty image where the bytes are no picture, or one of more than 120 million pixels
#pragma once

#include <string_view>

#include "app/drawing/canvas.h"

namespace app {

// At most `most` pixels on the longer side; turned upright by the EXIF orientation.
Image decoded(std::string_view bytes, int orientation, int most);

}  // namespace app
