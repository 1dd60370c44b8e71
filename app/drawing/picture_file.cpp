#include "app/drawing/picture_file.h"

#include <algorithm>
#include <cstdint>

#define STB_IMAGE_STATIC
#define STB_IMAGE_IMPLEMENTATION
#define STBI_ONLY_JPEG
#define STBI_ONLY_PNG
#define STBI_NO_STDIO
#define STBI_MAX_DIMENSIONS 20000
#pragma GCC diagnostic push
#pragma GCC diagnostic ignored "-Wunused-function"
#include <stb/stb_image.h>
#pragma GCC diagnostic pop

namespace app {

Image decoded(std::string_view bytes, int orientation, int most) {
  Image image;
  int w = 0, h = 0, channels = 0;
  const auto* data = reinterpret_cast<const stbi_uc*>(bytes.data());
  // Its size is looked at before it is unpacked: a small file may claim a huge picture.
  if (!stbi_info_from_memory(data, int(bytes.size()), &w, &h, &channels) || w < 1 || h < 1 ||
      std::int64_t(w) * h > 120'000'000)
    return image;
  stbi_uc* pixels = stbi_load_from_memory(data, int(bytes.size()), &w, &h, &channels, 4);
  if (!pixels) return image;
  const bool turned = orientation >= 5;
  const int full_w = turned ? h : w, full_h = turned ? w : h;
  const double scale = std::max(1.0, double(std::max(full_w, full_h)) / most);
  image.width = std::max(1, int(full_w / scale));
  image.height = std::max(1, int(full_h / scale));
  image.rgba.resize(std::size_t(image.width) * image.height * 4);
  for (int y = 0; y < image.height; ++y)
    for (int x = 0; x < image.width; ++x) {
      const int fx = std::min(full_w - 1, int((x + 0.5) * scale)),
                fy = std::min(full_h - 1, int((y + 0.5) * scale));
      int sx = fx, sy = fy;  // EXIF 2.32, table 6: which corner row 0, column 0 is
      switch (orientation) {
        case 2:
          sx = w - 1 - fx;
          break;
        case 3:
          sx = w - 1 - fx;
          sy = h - 1 - fy;
          break;
        case 4:
          sy = h - 1 - fy;
          break;
        case 5:
          sx = fy;
          sy = fx;
          break;
        case 6:
          sx = fy;
          sy = h - 1 - fx;
          break;
        case 7:
          sx = w - 1 - fy;
          sy = h - 1 - fx;
          break;
        case 8:
          sx = w - 1 - fy;
          sy = fx;
          break;
        default:
          break;
      }
      std::copy_n(pixels + (std::size_t(sy) * w + sx) * 4, 4,
                  &image.rgba[(std::size_t(y) * image.width + x) * 4]);
    }
  stbi_image_free(pixels);
  return image;
}

}  // namespace app
