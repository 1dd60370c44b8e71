// tests/bench/plot_bench.cpp: what the map of a plot and a skyline out of terrain cost on one core.
// Limits: 100 x 100 m at 0.5 m with ranges 1.5 s; 50 km round at 0.1 degree from one arc second 1 s.
// plot_map_with_ranges: the map as people see it, 40 draws at every spot; with the number of things.
// plot_map_exact: marks near by, the exact sum at every spot, no ranges.
#include <benchmark/benchmark.h>

#include <cmath>

#include "horizon/terrain/terrain.h"
#include "tests/horizon/plot/made_plots.h"
#include "tests/horizon/plot/wooded_valley.h"

namespace {

using namespace horizon;

constexpr MapGrid kHectare{-49.75, -49.75, 0.5, 200, 200, 1};

void plot_map_exact(benchmark::State& state) {
  const PlacedPlot plot = wooded::valley();
  const SunSamples sun(SunPath::of_year(wooded::kPlot, 2026), wooded::kWinter);
  for (auto _ : state) benchmark::DoNotOptimize(hours_map(plot, kHectare, sun));
}
BENCHMARK(plot_map_exact)->Unit(benchmark::kMillisecond)->MeasureProcessCPUTime();

void plot_map_with_ranges(benchmark::State& state) {
  made::Maker maker(42);
  const auto plot = place_marks(maker.plot(3, static_cast<int>(state.range(0)), 1).survey);
  const SunSamples sun(SunPath::of_year(wooded::kPlot, 2026), wooded::kWinter);
  for (auto _ : state) {
    const auto map = hours_map(*plot, kHectare, sun, ridge_lifts(*plot, sun));
    if (!map || !map->ranged) state.SkipWithError("no ranges");
    benchmark::DoNotOptimize(map);
  }
}
BENCHMARK(plot_map_with_ranges)
    ->Arg(1)
    ->Arg(4)
    ->Arg(8)
    ->Unit(benchmark::kMillisecond)
    ->MeasureProcessCPUTime();

void skyline_of_terrain(benchmark::State& state) {
  constexpr int kSide = 4001;
  constexpr double kStep = 1 / 3600.0;
  std::vector<float> heights;
  heights.reserve(std::size_t{kSide} * kSide);
  for (int r = 0; r < kSide; ++r)
    for (int c = 0; c < kSide; ++c) {
      const double north = (kSide / 2 - r) * 30.9, east = (c - kSide / 2) * 21.2;
      heights.push_back(static_cast<float>(1500 +
                                           300 * std::sin(east / 700) * std::sin(north / 900) +
                                           0.02 * std::hypot(east, north)));
    }
  const TerrainGrid grid =
      geographic_grid(kSide, kSide, std::move(heights), 46.6213 + kSide / 2 * kStep,
                      10.3478 - kSide / 2 * kStep, kStep, kStep);
  for (auto _ : state) benchmark::DoNotOptimize(terrain_skyline(grid, {46.6213, 10.3478, 0}, 1.6));
}
BENCHMARK(skyline_of_terrain)->Unit(benchmark::kMillisecond)->MeasureProcessCPUTime();

}  // namespace
