// Horizons and winter hours over grids of growing size: cells times directions a second.
#include <benchmark/benchmark.h>

#include "horizon/terrain/valley_sun.h"
#include "tests/horizon/terrain/metric_reliefs.h"

namespace {

void sweep(benchmark::State& state) {
  const auto grid = rough_relief(static_cast<int>(state.range(0)), 0.5);
  std::vector<double> azimuths;
  for (int i = 0; i < 72; ++i) azimuths.push_back(i * 5.0);
  for (auto _ : state)
    horizon::horizon_sweep(grid, azimuths, {}, [](double, std::span<const float> t) {
      benchmark::DoNotOptimize(t.data());
      return true;
    });
  state.counters["cell_directions_per_s"] = benchmark::Counter(
      double(grid.heights_m.size()) * 72 * double(state.iterations()), benchmark::Counter::kIsRate);
}
BENCHMARK(sweep)
    ->Arg(317)
    ->Arg(1024)
    ->Arg(3601)
    ->Unit(benchmark::kSecond)
    ->UseRealTime()
    ->Iterations(1);

void winter_hours(benchmark::State& state) {
  const auto grid = rough_relief(static_cast<int>(state.range(0)), 0.5);
  for (auto _ : state)
    benchmark::DoNotOptimize(horizon::valley_sun(grid,
                                                 [](double, double) {
                                                   return horizon::GridSpot{{46.62, 10.35, 0}, 0};
                                                 },
                                                 {}));
}
BENCHMARK(winter_hours)->Arg(1000)->Unit(benchmark::kSecond)->UseRealTime()->Iterations(1);

}  // namespace

BENCHMARK_MAIN();
