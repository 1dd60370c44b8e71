// app/drawing/srgb_profile.h: which colours do the numbers of a document stand for?
// An ICC profile of sRGB, version 2, for displays; the same bytes each time
// Source: IEC 61966-2-1 (curve, primaries); ICC.1:2001-04 (layout, D50 and its adaptation)
#pragma once

#include <string>

namespace app {

std::string srgb_profile();

}  // namespace app
