// A photograph of 12 Mpx, and a frame of a film 640 wide that begins from the last one's line.
#include <benchmark/benchmark.h>

#include <cmath>
#include <random>

#include "horizon/photo/photo_line.h"

namespace {

std::vector<std::uint8_t> ridge(int width, int height) {
  std::vector<std::uint8_t> rgb(static_cast<size_t>(width) * height * 3);
  std::mt19937 random(1);
  size_t at = 0;
  for (int y = 0; y < height; ++y)
    for (int x = 0; x < width; ++x) {
      const double t = 1000.0 * x / width;
      const double line = height * (0.4 + 0.1 * std::sin(t / 100) + 0.03 * std::sin(t / 17));
      const unsigned noise = static_cast<unsigned>(random());
      for (unsigned c = 0; c < 3; ++c)
        rgb[at++] = static_cast<std::uint8_t>(y < line ? 150 + 25 * c - 60 * y / height +
                                                             (noise >> (8 * c) & 3)
                                                       : 70 + (noise >> (8 * c) & 31));
    }
  return rgb;
}

void photograph_12_mpx(benchmark::State& state) {
  const auto rgb = ridge(4000, 3000);
  for (auto _ : state) benchmark::DoNotOptimize(horizon::photo_line({4000, 3000, 3, rgb.data()}));
}
BENCHMARK(photograph_12_mpx)->Unit(benchmark::kMillisecond);

void frame_640(benchmark::State& state) {
  const auto rgb = ridge(640, 480);
  const horizon::PictureView view{640, 480, 3, rgb.data()};
  horizon::LineHelp help;
  help.work_width = horizon::kFilmWidth;
  const auto first = horizon::photo_line(view, help);
  help.last = &*first;
  for (auto _ : state) benchmark::DoNotOptimize(horizon::photo_line(view, help));
}
BENCHMARK(frame_640)->Unit(benchmark::kMillisecond);

}  // namespace
