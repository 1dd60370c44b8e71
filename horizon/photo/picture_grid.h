// horizon/photo/picture_grid.h: a picture at working size, column after column.
// Units: pixels of the working size; luma and colour differences 0 to 255, 128 the neutral middle
//        (Rec. ITU-R BT.601)
#pragma once

#include <cstddef>
#include <vector>

namespace horizon {

struct PictureView;

struct Grid {
  int width = 0, height = 0;
  std::vector<float> values;
  Grid() = default;
  Grid(int w, int h) : width(w), height(h), values(static_cast<std::size_t>(w) * h) {}
  // Column after column: the line is sought down each.
  float& at(int x, int y) { return values[static_cast<std::size_t>(x) * height + y]; }
  float at(int x, int y) const { return values[static_cast<std::size_t>(x) * height + y]; }
};

struct WorkPicture {
  Grid luma, blue, red;
  double scale = 1;  // photograph pixels in a working pixel
};

// Averaged down to at most this width; never enlarged.
WorkPicture shrunk(const PictureView& picture, int width);
// Mean over a (2r+1) square, the window cut at the edges.
Grid box_mean(const Grid& in, int r);
// How much the picture changes from one pixel to the next, averaged nearby.
Grid roughness_of(const WorkPicture& work);

}  // namespace horizon
