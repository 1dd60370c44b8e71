// app/touch/session/pictures.h: photos as pixels.
// Cost: a thumbnail is decoded once and kept while the program runs, at most 200 of them
#pragma once

#include <string>
#include <string_view>

#include "app/drawing/canvas.h"

namespace app {

class Session;

// At most `most` pixels on the longer side; turned upright by the EXIF orientation. Empty where the
// bytes are no picture.
Image decoded(std::string_view bytes, int orientation, int most);
const Image& thumbnail(Session& session, const std::string& photo_id);

}  // namespace app
