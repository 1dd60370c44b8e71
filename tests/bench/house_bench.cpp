// tests/bench/house_bench.cpp: what an unheated house costs on one core.
// Limits: one house-year 20 ms; the whole card (100 winters, ranking, summers) 2 s; the sentence
//         after a changed input 0.3 s.
#include <benchmark/benchmark.h>

#include "horizon/house/house_draws.h"
#include "tests/horizon/house/cold_valley.h"

namespace {

using namespace horizon;

void house_year(benchmark::State& state) {
  const HouseInput input = cold_valley();
  const HouseClimate c = *house_climate(input);
  const HouseWeather year = c.draws->draw(1, 0, 365);
  for (auto _ : state) benchmark::DoNotOptimize(run_house(input.house, c.sun, year));
}
BENCHMARK(house_year)->Unit(benchmark::kMillisecond)->MeasureProcessCPUTime();

void whole_card(benchmark::State& state) {
  const HouseInput input = cold_valley();
  for (auto _ : state) benchmark::DoNotOptimize(house_findings(input));
}
BENCHMARK(whole_card)->Unit(benchmark::kMillisecond)->MeasureProcessCPUTime();

void sentence(benchmark::State& state) {
  HouseInput input = cold_valley();
  input.preview = true;
  input.winters = kSoonWinters;
  for (auto _ : state) benchmark::DoNotOptimize(house_findings(input));
}
BENCHMARK(sentence)->Unit(benchmark::kMillisecond)->MeasureProcessCPUTime();

}  // namespace
