// tests/bench/light_bench.cpp: what the light findings of a station cost on one core.
// Limits: findings_of with 200 draws 500 ms a station; LiveStation::update 16 ms; linear in
// stations.
#include <benchmark/benchmark.h>

#include <cmath>

#include "horizon/light/findings.h"

namespace {

using namespace horizon;

// Sixty marks of five kinds, two layers, as a thorough hour on the plot gives.
StationInput station(double shift_deg = 0) {
  StationInput input;
  input.place = {46.6213, 10.3478, 1482};
  input.utc_offset_h = 1;
  Skyline& s = input.skyline;
  s.heading_sigma_deg = 1;
  s.obstacles = {{Kind::ridge, "ridge", Edge::straight, {}, {}},
                 {Kind::evergreen, "spruces", Edge::straight, {}, {}},
                 {Kind::leafy, "ash", Edge::straight, {}, {}},
                 {Kind::building, "barn", Edge::great_circle, {}, {}},
                 {Kind::pole, "mast", Edge::straight, {}, {}}};
  const auto add = [&](int obstacle, int layer, double az, double el) {
    SkylinePoint p;
    p.azimuth = TrueAzimuth::degrees(az + shift_deg);
    p.elevation = Elevation::degrees(el);
    p.obstacle = obstacle;
    p.layer = layer;
    if (obstacle) p.distance_m = 30;
    s.points.push_back(p);
  };
  for (int i = 0; i < 40; ++i)
    add(0, i >= 22 && i <= 26 ? 1 : 0, i * 9, 12 + 7 * std::sin(i * 0.7) + 2 * std::sin(i * 2.1));
  for (int i = 0; i < 10; ++i) add(1, 0, 198 + i * 3, 21 + i % 3);
  for (int i = 0; i < 5; ++i) add(2, 0, 230 + i * 3, 20 + i % 2);
  add(3, 0, 146, 12);
  add(3, 0, 156, 12);
  add(4, 0, 175, 22);
  return input;
}

void findings(benchmark::State& state) {
  StationInput input = station();
  input.draws = static_cast<int>(state.range(0));
  for (auto _ : state) benchmark::DoNotOptimize(findings_of(input));
}
BENCHMARK(findings)->Arg(0)->Arg(200)->Unit(benchmark::kMillisecond)->MeasureProcessCPUTime();

void stations(benchmark::State& state) {
  for (auto _ : state)
    for (int i = 0; i < state.range(0); ++i) benchmark::DoNotOptimize(findings_of(station(i)));
  state.SetComplexityN(state.range(0));
}
BENCHMARK(stations)
    ->Arg(1)
    ->Arg(2)
    ->Arg(4)
    ->Unit(benchmark::kMillisecond)
    ->MeasureProcessCPUTime()
    ->Complexity(benchmark::oN);

void one_more_sighting(benchmark::State& state) {
  const StationInput input = station();
  const LiveStation live(input);
  Skyline skyline = input.skyline;
  for (auto _ : state) {
    skyline.points.back().elevation = Elevation::degrees(20 + state.iterations() % 3);
    benchmark::DoNotOptimize(live.update(skyline));
  }
}
BENCHMARK(one_more_sighting)->Unit(benchmark::kMillisecond)->MeasureProcessCPUTime();

}  // namespace
