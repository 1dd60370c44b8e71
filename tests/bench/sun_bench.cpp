// How fast the sun is, and how far from the full theory: Adret beside ERFA called directly, libnova
// and astronomy-engine. See README.md in this folder.

#include <benchmark/benchmark.h>
#include <libnova/libnova.h>

#include <algorithm>
#include <cmath>
#include <cstdio>
#include <cstdlib>
#include <ctime>
#include <string>
#include <vector>

#include "horizon/sun/sun.h"
#include "horizon/sun/sun_path.h"
#include "horizon/sun/sun_year.h"

using namespace horizon;

namespace {

const Place kPlace{46.6213, 10.3478, 1482};
constexpr int kYear = 2026;
constexpr int kMinutes = 365 * 1440;
const double kStart = start_of_day_utc_s(date_of_day(kYear, 1));

struct Seen {
  double azimuth_deg = 0, elevation_deg = 0;
};

int stride() {
  const char* text = std::getenv("ADRET_BENCH_STRIDE");
  return text ? std::max(1, std::atoi(text)) : 37;
}
double instant(int i) { return kStart + 60.0 * stride() * i; }
int instants() { return kMinutes / stride(); }

double separation_deg(const Seen& a, const Seen& b) {
  const double el = std::sin((a.elevation_deg - b.elevation_deg) * kDegree / 2);
  const double az = std::sin((a.azimuth_deg - b.azimuth_deg) * kDegree / 2);
  return 2 *
         std::asin(std::sqrt(el * el + std::cos(a.elevation_deg * kDegree) *
                                           std::cos(b.elevation_deg * kDegree) * az * az)) /
         kDegree;
}

Seen by_erfa(double utc_s) {
  const SunPosition sun = sun_position(utc_s, kPlace);
  return {sun.azimuth.degrees(), sun.elevation.degrees()};
}

// libnova 0.16 gives the sun on the equator of J2000 and without parallax: its own precession is
// added (else 0.37 degree off in 2026), and the parallax, at almost no cost.
Seen by_libnova(double utc_s) {
  const double jd = utc_s / 86400.0 + 2440587.5, tt = jd + 69.184 / 86400.0;
  ln_lnlat_posn observer{kPlace.longitude_deg, kPlace.latitude_deg};
  ln_equ_posn j2000{}, equator{};
  ln_hrz_posn seen{};
  ln_get_solar_equ_coords(tt, &j2000);
  ln_get_equ_prec(&j2000, tt, &equator);
  ln_get_hrz_from_equ_sidereal_time(&equator, &observer, ln_get_apparent_sidereal_time(jd), &seen);
  return {wrap_360(seen.az + 180), seen.alt - 8.794 / 3600 * std::cos(seen.alt * kDegree)};
}

Mask tenth_degree_mask() {
  Skyline skyline;
  skyline.obstacles.push_back({Kind::ridge, "ridge"});
  for (int i = 0; i < 3600; ++i) {
    SkylinePoint point;
    point.azimuth = TrueAzimuth::degrees(i * 0.1);
    point.elevation =
        Elevation::degrees(14 + 8 * std::sin(i * 0.004) + 2 * std::sin(i * 0.07) + 0.3 * (i % 3));
    skyline.points.push_back(point);
  }
  return Mask(skyline);
}

struct Row {
  std::string name;
  double ns = 0, worst_deg = 0;
};
std::vector<Row> rows;

double worst_of(const std::vector<Seen>& seen) {
  static const std::vector<Seen> full = [] {
    std::vector<Seen> all(instants());
    for (int i = 0; i < instants(); ++i) all[i] = by_erfa(instant(i));
    return all;
  }();
  double worst = 0;
  for (size_t i = 0; i < seen.size(); ++i)
    worst = std::max(worst, separation_deg(seen[i], full[i]));
  return worst;
}

// Records the time a position took and its distance from ERFA.
template <class F>
void finish(benchmark::State& state, const char* name, int positions, double seconds, const F& at) {
  std::vector<Seen> seen(instants());
  for (int i = 0; i < instants(); ++i) seen[i] = at(instant(i));
  Row row{name, seconds / positions * 1e9, worst_of(seen)};
  state.counters["ns_a_position"] = row.ns;
  state.counters["worst_deg"] = row.worst_deg;
  for (Row& known : rows)
    if (known.name == row.name) return void(known = row);
  rows.push_back(row);
}

double cpu_seconds() { return static_cast<double>(std::clock()) / CLOCKS_PER_SEC; }

template <class F>
void peer(benchmark::State& state, const char* name, const F& at) {
  double spent = 0;
  for (auto _ : state) {
    const double began = cpu_seconds();
    for (int i = 0; i < instants(); ++i) benchmark::DoNotOptimize(at(instant(i)));
    spent += cpu_seconds() - began;
  }
  finish(state, name, instants(), spent / state.iterations(), at);
}

void adret_minutes(benchmark::State& state) {
  const SunTrack track(kPlace, kStart, kStart + 86400.0 * 365);
  double spent = 0;
  std::vector<SunDirection> day(1440);
  for (auto _ : state) {
    const double began = cpu_seconds();
    double sum = 0;
    for (int i = 0; i < kMinutes; i += 1440) {
      track.at_even_steps(kStart + 60.0 * i, 60, day);
      for (const SunDirection& sun : day) sum += sun.azimuth_deg + sun.elevation_deg;
    }
    benchmark::DoNotOptimize(sum);
    spent += cpu_seconds() - began;
  }
  finish(state, "Adret", kMinutes, spent / state.iterations(), [&](double t) {
    const SunDirection sun = track.at(t);
    return Seen{sun.azimuth_deg, sun.elevation_deg};
  });
}

void adret_minutes_with_mask(benchmark::State& state) {
  const SunTrack track(kPlace, kStart, kStart + 86400.0 * 365);
  const Mask mask = tenth_degree_mask();
  const Air air = standard_air(kPlace.height_m);
  int in_view = 0;
  for (auto _ : state) {
    in_view = 0;
    for (int i = 0; i < kMinutes; ++i) {
      const SunDirection sun = track.at(kStart + 60.0 * i);
      if (sun.elevation_deg > -1)
        in_view +=
            apparent_elevation_deg(sun.elevation_deg, air) > mask.elevation_deg(sun.azimuth_deg);
    }
    benchmark::DoNotOptimize(in_view);
  }
  state.counters["hours"] = in_view / 60.0;
  state.SetItemsProcessed(state.iterations() * kMinutes);
}

void ephemeris(benchmark::State& state) {
  for (auto _ : state) {
    const SunEphemeris year(kStart, kStart + 86400.0 * 365);
    benchmark::DoNotOptimize(year.position_at(kStart));
  }
}

void exact_windows_site_year(benchmark::State& state) {
  const Mask mask = tenth_degree_mask();
  double hours = 0;
  // Another year each time, so that nothing is left from the last.
  for (int year = kYear; auto _ : state) {
    const SunPath path = SunPath::of_year(kPlace, year);
    hours = hours_in(windows_above(path, mask));
    year = year < 2099 ? year + 1 : 1973;
  }
  state.counters["hours"] = hours;
}

void exact_windows_further_site(benchmark::State& state) {
  const Mask mask = tenth_degree_mask();
  for (auto _ : state)
    benchmark::DoNotOptimize(windows_above(SunPath::of_year(kPlace, kYear), mask));
}

void exact_windows_another_mask(benchmark::State& state) {
  const Mask mask = tenth_degree_mask();
  const SunPath path = SunPath::of_year(kPlace, kYear);
  for (auto _ : state) benchmark::DoNotOptimize(windows_above(path, mask));
}

void whole_sun_year(benchmark::State& state) {
  const Mask mask = tenth_degree_mask();
  const Masks masks{mask, mask, false};
  const std::vector<Obstacle> obstacles{{Kind::ridge, "ridge"}};
  const SunPath path = SunPath::of_year(kPlace, kYear);
  for (auto _ : state) benchmark::DoNotOptimize(sun_year(path, masks, obstacles).whole);
}

void astronomy_engine() {
  char command[512];
  std::snprintf(command, sizeof command,
                "cd '%s' && node astronomy_engine.mjs %.4f %.4f %.0f %.0f %d %d 2>/dev/null",
                ADRET_BENCH_FOLDER, kPlace.latitude_deg, kPlace.longitude_deg, kPlace.height_m,
                kStart, 60 * stride(), instants());
  std::FILE* node = popen(command, "r");
  if (!node) return;
  Row row{"astronomy-engine 2.1.19 (node)"};
  std::vector<Seen> seen;
  if (std::fscanf(node, "%lf", &row.ns) == 1) {
    Seen sun;
    while (std::fscanf(node, "%lf %lf", &sun.azimuth_deg, &sun.elevation_deg) == 2)
      seen.push_back(sun);
  }
  pclose(node);
  if (static_cast<int>(seen.size()) != instants()) {
    std::printf("astronomy-engine left out: see README.md for its installation\n");
    return;
  }
  row.worst_deg = worst_of(seen);
  rows.push_back(row);
}

}  // namespace

int main(int argc, char** argv) {
  using benchmark::kMillisecond;
  using benchmark::RegisterBenchmark;
  RegisterBenchmark("Adret/every_minute", adret_minutes)->Unit(kMillisecond);
  RegisterBenchmark("Adret/every_minute_with_mask", adret_minutes_with_mask)->Unit(kMillisecond);
  RegisterBenchmark("Adret/ephemeris_of_a_year", ephemeris)->Unit(kMillisecond);
  RegisterBenchmark("Adret/exact_windows_site_year", exact_windows_site_year)->Unit(kMillisecond);
  RegisterBenchmark("Adret/exact_windows_further_site", exact_windows_further_site)
      ->Unit(kMillisecond);
  RegisterBenchmark("Adret/exact_windows_another_mask", exact_windows_another_mask)
      ->Unit(kMillisecond);
  RegisterBenchmark("Adret/whole_sun_year_another_mask", whole_sun_year)->Unit(kMillisecond);
  RegisterBenchmark("ERFA", [](auto& state) { peer(state, "ERFA, directly", by_erfa); })
      ->Unit(kMillisecond)
      ->Iterations(1);
  RegisterBenchmark("libnova", [](auto& state) { peer(state, "libnova", by_libnova); })
      ->Unit(kMillisecond)
      ->Iterations(1);
  benchmark::Initialize(&argc, argv);
  if (benchmark::ReportUnrecognizedArguments(argc, argv)) return 2;
  benchmark::RunSpecifiedBenchmarks();
  astronomy_engine();

  std::printf("\n%-32s %14s %12s %22s\n", "", "ns a position", "times Adret",
              "max distance, degrees");
  double own = 0;
  for (const Row& row : rows)
    if (row.name == "Adret") own = row.ns;
  for (const Row& row : rows)
    std::printf("%-32s %14.1f %12.1f %22.2e\n", row.name.c_str(), row.ns,
                own > 0 ? row.ns / own : 0, row.worst_deg);
  std::printf("(the distance is from ERFA called directly at the same %d instants)\n", instants());
}
