// app/touch/script/png.cpp: a frame as a PNG file.
#define STB_IMAGE_WRITE_STATIC
#define STB_IMAGE_WRITE_IMPLEMENTATION
#pragma GCC diagnostic push
#pragma GCC diagnostic ignored "-Wunused-function"
#include <stb/stb_image_write.h>
#pragma GCC diagnostic pop

#include "app/touch/window.h"

namespace app {

bool write_png(const std::string& path, const Bitmap& bitmap) {
  std::vector<unsigned char> rgb;
  rgb.reserve(bitmap.pixels.size() * 3);
  for (const std::uint32_t p : bitmap.pixels) {
    rgb.push_back(static_cast<unsigned char>(p >> 16));
    rgb.push_back(static_cast<unsigned char>(p >> 8));
    rgb.push_back(static_cast<unsigned char>(p));
  }
  return stbi_write_png(path.c_str(), bitmap.width, bitmap.height, 3, rgb.data(),
                        bitmap.width * 3) != 0;
}

}  // namespace app
