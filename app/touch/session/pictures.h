// app/touch/session/pictures.h: photos as pixels.
// Cost: a thumbnail is decoded once and kept while the program runs, at most 200 of them
#pragma once

#include <string>

#include "app/drawing/picture_file.h"

namespace app {

class Session;

const Image& thumbnail(Session& session, const std::string& photo_id);

}  // namespace app
