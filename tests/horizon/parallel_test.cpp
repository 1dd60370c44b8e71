#include "horizon/parallel.h"

#include <doctest/doctest.h>

#include <stdexcept>

#include "horizon/angle.h"

using namespace horizon;

TEST_CASE("each job is done once, on as many processors as are free [property]") {
  const int free = free_processors();
  for (const int processors : {0, 1, 5}) {
    free_processors() = processors;
    std::vector<std::atomic<int>> done(1000);
    // Jobs within jobs share what is free.
    in_parallel(10, [&](int i) {
      in_parallel(100, [&](int k) { ++done[static_cast<size_t>(100 * i + k)]; });
    });
    for (const auto& times : done) CHECK(times == 1);
    CHECK(free_processors() == processors);
    std::atomic<int> both{0};
    side_by_side([&] { ++both; }, [&] { both += 10; });
    CHECK(both == 11);
  }
  in_parallel(0, [](int) { FAIL("there is nothing to do"); });
  free_processors() = free;
}

TEST_CASE("what a job throws reaches the caller, and nothing is begun after it [property]") {
  const int free = free_processors();
  for (const int processors : {0, 3}) {
    free_processors() = processors;
    std::atomic<int> begun{0};
    CHECK_THROWS_AS(in_parallel(100000,
                                [&](int i) {
                                  ++begun;
                                  if (i == 5) throw std::runtime_error("no room");
                                }),
                    std::runtime_error);
    CHECK(begun < 100000);
    CHECK_THROWS_AS(side_by_side([] { throw std::runtime_error("here"); }, [] {}),
                    std::runtime_error);
    CHECK_THROWS_AS(side_by_side([] {}, [] { throw std::runtime_error("beside"); }),
                    std::runtime_error);
    CHECK(free_processors() == processors);
  }
  free_processors() = free;
}

TEST_CASE("a direction is the remainder by a full turn, to the last digit [property]") {
  const auto by_remainder = [](double degrees) {
    double turned = std::fmod(degrees, 360.0);
    if (turned < 0) turned += 360.0;
    return turned >= 360.0 ? 0.0 : turned;
  };
  for (const double around : {-720.0, -360.0, 0.0, 180.0, 360.0, 720.0, 1e6, -1e6, 1e17})
    for (const double off : {0.0, 1e-20, -1e-20, 1e-13, -1e-13, 0.1, -0.1, 123.456789, -271.828})
      CHECK(wrap_360(around + off) == by_remainder(around + off));
  double at = -1500;
  for (int i = 0; i < 100000; ++i, at += 0.0300007) CHECK(wrap_360(at) == by_remainder(at));
}
