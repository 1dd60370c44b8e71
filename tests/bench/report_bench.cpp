// What handing over the Larkholm site costs, by part: working out, drawing the report, the whole
// package. Sizes are printed beside the times.

#include <benchmark/benchmark.h>

#include <filesystem>
#include <fstream>
#include <iterator>

#include "app/handover/handover.h"
#include "app/words/words.h"
#include "tests/app/larkholm_book.h"

namespace {

const std::filesystem::path kFolder = std::filesystem::temp_directory_path() / "adret_report_bench";

const survey::FieldBook& site() {
  static const survey::FieldBook book = [] {
    std::filesystem::remove_all(kFolder);
    std::filesystem::create_directories(kFolder);
    return larkholm::book((kFolder / "larkholm.gpkg").string());
  }();
  return book;
}

app::SiteReport worked_out() { return larkholm::good(app::site_report(site(), 200, {}, {})); }

horizon::Result<std::string> original(const survey::Photo&) {
  return tl::unexpected(horizon::Error{horizon::Code::not_found, "left out here", ""});
}

void work_out(benchmark::State& state) {
  for (auto _ : state) benchmark::DoNotOptimize(worked_out());
}

void draw_report(benchmark::State& state) {
  app::SiteReport report = worked_out();
  report.photos.clear();
  std::size_t bytes = 0;
  for (auto _ : state)
    bytes = larkholm::good(app::make_report(report, {}, original, {}, {})).size();
  state.counters["megabytes"] = static_cast<double>(bytes) / 1e6;
}

void hand_over(benchmark::State& state) {
  app::HandoverOptions options;
  options.out_folder = (kFolder / "out").string();
  std::uint64_t bytes = 0;
  for (auto _ : state) {
    bytes = larkholm::good(app::make_handover(site(), options, {}, {})).package_bytes;
    std::filesystem::remove_all(options.out_folder);
  }
  state.counters["megabytes"] = static_cast<double>(bytes) / 1e6;
}

}  // namespace

BENCHMARK(work_out)->Unit(benchmark::kMillisecond);
BENCHMARK(draw_report)->Name("report_without_photos")->Unit(benchmark::kMillisecond);
BENCHMARK(hand_over)->Name("whole_handover")->Unit(benchmark::kMillisecond);

int main(int argc, char** argv) {
  benchmark::Initialize(&argc, argv);
  benchmark::RunSpecifiedBenchmarks();
  std::filesystem::remove_all(kFolder);
}
