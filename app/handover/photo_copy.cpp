#include "app/handover/photo_copy.h"

#include <algorithm>
#include <cstdint>
#include <memory>
#include <vector>

#define STB_IMAGE_STATIC
#define STB_IMAGE_IMPLEMENTATION
#define STBI_ONLY_JPEG
#define STBI_ONLY_PNG
#define STBI_NO_STDIO
#define STB_IMAGE_WRITE_STATIC
#define STB_IMAGE_WRITE_IMPLEMENTATION
#define STBI_WRITE_NO_STDIO
#pragma GCC diagnostic push
#pragma GCC diagnostic ignored "-Wunused-function"
#pragma GCC diagnostic ignored "-Wshadow"
#include <stb/stb_image.h>
#include <stb/stb_image_write.h>
#pragma GCC diagnostic pop

namespace app {
namespace {

using horizon::Code;
using horizon::fail;

struct Pixels {
  int width = 0, height = 0;
  std::vector<std::uint8_t> rgb;
  std::uint8_t* at(int x, int y) { return &rgb[(static_cast<std::size_t>(y) * width + x) * 3]; }
};

// The mean of the pixels that each small one covers.
Pixels shrunk(const std::uint8_t* rgb, int width, int height, int longest_px) {
  const int longest = std::max(width, height);
  const double scale = std::min(1.0, static_cast<double>(longest_px) / longest);
  Pixels out;
  out.width = std::max(1, static_cast<int>(width * scale));
  out.height = std::max(1, static_cast<int>(height * scale));
  out.rgb.resize(static_cast<std::size_t>(out.width) * out.height * 3);
  for (int y = 0; y < out.height; ++y) {
    const auto y0 = static_cast<int>(static_cast<std::int64_t>(y) * height / out.height);
    const auto y1 =
        std::max(y0 + 1, static_cast<int>(static_cast<std::int64_t>(y + 1) * height / out.height));
    for (int x = 0; x < out.width; ++x) {
      const auto x0 = static_cast<int>(static_cast<std::int64_t>(x) * width / out.width);
      const auto x1 =
          std::max(x0 + 1, static_cast<int>(static_cast<std::int64_t>(x + 1) * width / out.width));
      unsigned sum[3] = {0, 0, 0};
      for (int v = y0; v < y1; ++v) {
        const std::uint8_t* from = rgb + (static_cast<std::size_t>(v) * width + x0) * 3;
        for (int u = x0; u < x1; ++u, from += 3) {
          for (int c = 0; c < 3; ++c) sum[c] += from[c];
        }
      }
      const auto count = static_cast<unsigned>((x1 - x0) * (y1 - y0));
      for (int c = 0; c < 3; ++c) out.at(x, y)[c] = static_cast<std::uint8_t>(sum[c] / count);
    }
  }
  return out;
}

// EXIF 2.3, tag 0x0112: where the stored picture's first row and column belong.
Pixels upright(Pixels in, int orientation) {
  if (orientation < 2 || orientation > 8) return in;
  Pixels out;
  const bool turned = orientation >= 5;
  out.width = turned ? in.height : in.width;
  out.height = turned ? in.width : in.height;
  out.rgb.resize(in.rgb.size());
  for (int y = 0; y < in.height; ++y) {
    for (int x = 0; x < in.width; ++x) {
      const int right = in.width - 1 - x, below = in.height - 1 - y;
      int u = x, v = y;
      switch (orientation) {
        case 2:
          u = right;
          break;
        case 3:
          u = right, v = below;
          break;
        case 4:
          v = below;
          break;
        case 5:
          u = y, v = x;
          break;
        case 6:
          u = below, v = x;
          break;
        case 7:
          u = below, v = right;
          break;
        default:
          u = y, v = right;
          break;
      }
      std::copy_n(in.at(x, y), 3, out.at(u, v));
    }
  }
  return out;
}

horizon::Result<Pixels> unpacked(std::string_view bytes, int orientation, int longest_px) {
  const auto* data = reinterpret_cast<const stbi_uc*>(bytes.data());
  const int size = static_cast<int>(std::min<std::size_t>(bytes.size(), 1u << 30));
  int width = 0, height = 0, channels = 0;
  if (!stbi_info_from_memory(data, size, &width, &height, &channels)) {
    return fail(Code::bad_input, "error.picture_unreadable");
  }
  if (static_cast<std::int64_t>(width) * height > 120'000'000) {
    return fail(Code::bad_input, "error.picture_too_large");
  }
  const std::unique_ptr<stbi_uc, void (*)(void*)> decoded(
      stbi_load_from_memory(data, size, &width, &height, &channels, 3), stbi_image_free);
  if (!decoded) return fail(Code::bad_input, "error.picture_damaged");
  return upright(shrunk(decoded.get(), width, height, longest_px), orientation);
}

}  // namespace

horizon::Result<Image> photo_pixels(std::string_view bytes, int orientation, int longest_px) {
  auto pixels = unpacked(bytes, orientation, longest_px);
  if (!pixels) return tl::unexpected(pixels.error());
  Image image;
  image.width = pixels->width;
  image.height = pixels->height;
  image.rgba.reserve(pixels->rgb.size() / 3 * 4);
  for (std::size_t i = 0; i + 2 < pixels->rgb.size(); i += 3)
    image.rgba.insert(image.rgba.end(),
                      {pixels->rgb[i], pixels->rgb[i + 1], pixels->rgb[i + 2], 255});
  return image;
}

horizon::Result<Image> photo_copy(std::string_view bytes, int orientation, int longest_px) {
  auto pixels = unpacked(bytes, orientation, longest_px);
  if (!pixels) return tl::unexpected(pixels.error());
  const Pixels& small = *pixels;
  Image image;
  image.width = small.width;
  image.height = small.height;
  stbi_write_jpg_to_func(
      [](void* into, void* piece, int length) {
        const auto* from = static_cast<const std::uint8_t*>(piece);
        auto& encoded = *static_cast<std::vector<std::uint8_t>*>(into);
        encoded.insert(encoded.end(), from, from + length);
      },
      &image.encoded, small.width, small.height, 3, small.rgb.data(), 82);
  if (image.encoded.empty()) return fail(Code::failed, "error.picture_not_written");
  return image;
}

}  // namespace app
