#include "horizon/photo/photo_looks.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <utility>

namespace horizon {
namespace {

constexpr int kLuma = 20, kColour = 16, kRough = 6;
constexpr int kCells = kLuma * kColour * kColour * kRough;
constexpr float kMost = 3.0F;

// Spreads counts over neighbouring cells along each axis: 1 2 1.
void smooth(std::vector<float>& counts) {
  const std::array<std::pair<int, int>, 4> axes = {{{1, kRough},
                                                    {kRough, kColour},
                                                    {kRough * kColour, kColour},
                                                    {kRough * kColour * kColour, kLuma}}};
  for (const auto& [stride, length] : axes)
    for (int block = 0; block < kCells; block += stride * length)
      for (int first = block; first < block + stride; ++first) {
        float left = counts[first];
        for (int k = 0, i = first; k < length; ++k, i += stride) {
          const float here = counts[i], right = k + 1 < length ? counts[i + stride] : here;
          counts[i] = 0.25F * left + 0.5F * here + 0.25F * right;
          left = here;
        }
      }
}

}  // namespace

std::vector<int> look_cells(const WorkPicture& work, const Grid& roughness) {
  std::vector<int> cells(work.luma.values.size());
  const auto bin = [](float v, int bins) {
    return std::clamp(static_cast<int>(v * static_cast<float>(bins) / 256), 0, bins - 1);
  };
  for (std::size_t i = 0; i < cells.size(); ++i) {
    const float v = roughness.values[i];
    const int r = v < 1 ? 0 : v < 2.5F ? 1 : v < 5 ? 2 : v < 10 ? 3 : v < 20 ? 4 : 5;
    // Colour differences are small numbers round 128: stretch them.
    const int b = bin(128 + 2.5F * (work.blue.values[i] - 128), kColour);
    const int c = bin(128 + 2.5F * (work.red.values[i] - 128), kColour);
    cells[i] = ((bin(work.luma.values[i], kLuma) * kColour + b) * kColour + c) * kRough + r;
  }
  return cells;
}

void look_likelihood(const std::vector<int>& cells, const std::vector<int>& line,
                     const std::vector<float>& column_weight, Grid& out) {
  std::vector<float> sky(kCells, 0), ground(kCells, 0);
  double skies = 0, grounds = 0;
  for (int x = 0; x < out.width; ++x) {
    for (int y = 0; y < out.height; ++y) {
      // Pixels on the line are half of each; far ones are surer.
      const int from_line = line[x] - y;
      if (std::abs(from_line - 0.5) < 3) continue;
      const int cell = cells[static_cast<std::size_t>(x) * out.height + y];
      const float weight =
          column_weight[x] * std::min(1.0F, std::abs(from_line) / (0.15F * out.height));
      if (from_line > 0) {
        sky[cell] += weight;
        skies += weight;
      } else {
        ground[cell] += weight;
        grounds += weight;
      }
    }
  }
  smooth(sky);
  smooth(ground);
  std::vector<float> ratio(kCells);
  for (int i = 0; i < kCells; ++i)
    ratio[i] = std::clamp(std::log(static_cast<float>((sky[i] + 1.0) / (skies + 400)) /
                                   static_cast<float>((ground[i] + 1.0) / (grounds + 400))),
                          -kMost, kMost);
  for (std::size_t i = 0; i < cells.size(); ++i) out.values[i] = ratio[cells[i]];
}

}  // namespace horizon
