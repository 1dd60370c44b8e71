#include "horizon/photo/picture_grid.h"

#include <algorithm>
#include <cmath>

#include "horizon/photo/photo_line.h"

namespace horizon {

WorkPicture shrunk(const PictureView& picture, int width) {
  WorkPicture work;
  work.scale = std::max(1.0, picture.width / static_cast<double>(width));
  const int w = static_cast<int>(picture.width / work.scale);
  const int h = static_cast<int>(picture.height / work.scale);
  work.luma = work.blue = work.red = Grid(w, h);
  const auto begin = [&](int i) { return static_cast<int>(i * work.scale); };
  for (int y = 0; y < h; ++y) {
    for (int x = 0; x < w; ++x) {
      const int y1 = std::max(begin(y) + 1, begin(y + 1)),
                x1 = std::max(begin(x) + 1, begin(x + 1));
      unsigned sum[3] = {0, 0, 0};
      for (int v = begin(y); v < y1; ++v) {
        const std::uint8_t* p =
            picture.pixels +
            (static_cast<std::size_t>(v) * picture.width + begin(x)) * picture.channels;
        for (int u = begin(x); u < x1; ++u, p += picture.channels)
          for (int c = 0; c < 3; ++c) sum[c] += p[picture.channels == 1 ? 0 : c];
      }
      const float n = static_cast<float>((y1 - begin(y)) * (x1 - begin(x)));
      const float r = sum[0] / n, g = sum[1] / n, b = sum[2] / n;
      const float luma = 0.299F * r + 0.587F * g + 0.114F * b;
      work.luma.at(x, y) = luma;
      work.blue.at(x, y) = 128 + 0.564F * (b - luma);
      work.red.at(x, y) = 128 + 0.713F * (r - luma);
    }
  }
  return work;
}

Grid box_mean(const Grid& in, int r) {
  Grid rows(in.width, in.height), out(in.width, in.height);
  // Along x: whole columns are added to and taken from a running column.
  std::vector<double> run(in.height, 0.0);
  int have = 0;
  for (int x = 0; x < std::min(r, in.width); ++x, ++have)
    for (int y = 0; y < in.height; ++y) run[y] += in.at(x, y);
  for (int x = 0; x < in.width; ++x) {
    if (x + r < in.width) {
      for (int y = 0; y < in.height; ++y) run[y] += in.at(x + r, y);
      ++have;
    }
    if (x - r - 1 >= 0) {
      for (int y = 0; y < in.height; ++y) run[y] -= in.at(x - r - 1, y);
      --have;
    }
    for (int y = 0; y < in.height; ++y) rows.at(x, y) = static_cast<float>(run[y] / have);
  }
  std::vector<double> sums(in.height + 1, 0.0);
  for (int x = 0; x < in.width; ++x) {
    for (int y = 0; y < in.height; ++y) sums[y + 1] = sums[y] + rows.at(x, y);
    for (int y = 0; y < in.height; ++y) {
      const int a = std::max(0, y - r), b = std::min(in.height, y + r + 1);
      out.at(x, y) = static_cast<float>((sums[b] - sums[a]) / (b - a));
    }
  }
  return out;
}

Grid roughness_of(const WorkPicture& work) {
  Grid change(work.luma.width, work.luma.height);
  for (int x = 0; x < change.width; ++x) {
    const int right = std::min(x + 1, change.width - 1);
    for (int y = 0; y < change.height; ++y) {
      const int down = std::min(y + 1, change.height - 1);
      change.at(x, y) = std::abs(work.luma.at(right, y) - work.luma.at(x, y)) +
                        std::abs(work.luma.at(x, down) - work.luma.at(x, y));
    }
  }
  return box_mean(change, 3);
}

}  // namespace horizon
