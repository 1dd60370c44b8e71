// What handing over the Larkholm site costs, by part: working out, drawing the report, the whole
// package. Sizes are printed beside the times.
// Limits: the report (worked out and drawn) 1.0 s, the package 2.0 s; six stations with sixty
//         photographs 6 s and no more than 3 MB beside the photographs.

#include <benchmark/benchmark.h>

#include <filesystem>
#include <fstream>
#include <iterator>

#include "app/drawing/text_layout.h"
#include "app/handover/handover.h"
#include "app/words/words.h"
#include "tests/app/larkholm_book.h"

namespace {

const std::filesystem::path kFolder = std::filesystem::temp_directory_path() / "adret_report_bench";

survey::FieldBook made(const char* name, const larkholm::BookSize& size) {
  std::filesystem::create_directories(kFolder);
  return larkholm::book((kFolder / name).string(), size);
}
const survey::FieldBook& site() {
  static const survey::FieldBook book = made("larkholm.gpkg", {});
  return book;
}
const survey::FieldBook& large_site() {
  static const survey::FieldBook book = made("large.gpkg", {.stations = 6, .photos = 60});
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

void hand_over(benchmark::State& state, const survey::FieldBook& (*site_to_give)()) {
  const survey::FieldBook& book = site_to_give();
  app::HandoverOptions options;
  options.out_folder = (kFolder / "out").string();
  std::uint64_t bytes = 0, photos = 0;
  for (const auto& photo : larkholm::good(book.all<survey::Photo>()))
    photos += larkholm::good(book.photo_bytes(photo.id)).size();
  for (auto _ : state) {
    bytes = larkholm::good(app::make_handover(book, options, {}, {})).package_bytes;
    std::filesystem::remove_all(options.out_folder);
  }
  state.counters["megabytes"] = static_cast<double>(bytes) / 1e6;
  state.counters["beside_photos"] = static_cast<double>(bytes - photos) / 1e6;
}

// Of a table's cell each row has words of its own: nothing is remembered from the row before.
void break_lines(benchmark::State& state) {
  const app::TextStyle style{9, app::kPrint.ink};
  int number = 0;
  for (auto _ : state) {
    std::string words;
    for (int i = 0; i < 120; ++i)
      words += "ridge " + std::to_string(++number) + " of wood and wall ";
    benchmark::DoNotOptimize(app::wrapped(words, style, 480));
  }
}

}  // namespace

BENCHMARK(work_out)->Unit(benchmark::kMillisecond)->MeasureProcessCPUTime();
BENCHMARK(draw_report)
    ->Name("report_without_photos")
    ->Unit(benchmark::kMillisecond)
    ->MeasureProcessCPUTime();
BENCHMARK(break_lines)
    ->Name("lines_of_a_page")
    ->Unit(benchmark::kMillisecond)
    ->MeasureProcessCPUTime();
BENCHMARK_CAPTURE(hand_over, demo, site)
    ->Name("whole_handover")
    ->Unit(benchmark::kMillisecond)
    ->MeasureProcessCPUTime();
BENCHMARK_CAPTURE(hand_over, large, large_site)
    ->Name("six_stations_sixty_photos")
    ->Unit(benchmark::kMillisecond)
    ->MeasureProcessCPUTime()
    ->Iterations(1);

int main(int argc, char** argv) {
  benchmark::Initialize(&argc, argv);
  std::filesystem::remove_all(kFolder);
  benchmark::RunSpecifiedBenchmarks();
  std::filesystem::remove_all(kFolder);
}
