// survey/book/photo_file.h: what a photograph says of itself.
// Units:  pixels, degrees, metres, seconds
// Frame:  the bearing from the north that the file names (true or magnetic)
// Reads:  JPEG and PNG: size from the picture's own header, the rest from EXIF 2.3 (in PNG the
//         eXIf chunk). Nothing is decoded, so no picture can be a bomb
// Errors: what is neither JPEG nor PNG, is cut short or above 50 MB; damaged EXIF is left out
// Source: ITU-T T.81 annex B; PNG third edition, 11.3; CIPA DC-008 (EXIF), 4.6
#pragma once

#include <optional>
#include <string>
#include <string_view>

#include "horizon/result.h"
#include "survey/book/model.h"

namespace survey {

struct PhotoFacts {
  std::string media_type;
  int width_px = 0, height_px = 0;  // as stored
  int orientation = 1;
  std::optional<double> local_s;  // the camera's clock as if it were UTC
  std::optional<double> utc_offset_h;
  std::optional<double> satellite_utc_s;  // the receiver's time
  std::optional<Position> position;       // height above sea level
  std::optional<double> bearing_deg;
  bool bearing_magnetic = false;
  std::optional<double> view_width_deg;  // of the longer side, from the 35 mm equivalent
  std::string camera;                    // make and model
};

horizon::Result<PhotoFacts> photo_facts(std::string_view bytes);

// A row made of them. The offset stands in where the camera recorded none.
Photo photo_of(const PhotoFacts& facts, std::string file_name, double utc_offset_h);

}  // namespace survey
