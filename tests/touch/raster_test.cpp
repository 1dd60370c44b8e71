#include "app/drawing/raster.h"

#include <doctest/doctest.h>

#include <cmath>
#include <random>

#include "app/drawing/screen_canvas.h"
#include "app/drawing/shapes.h"

using namespace app;

namespace {

double covered(const Bitmap& bitmap) {  // of black paper by white ink
  double sum = 0;
  for (const std::uint32_t p : bitmap.pixels) sum += double(p & 0xff) / 255;
  return sum;
}

double area_of(const std::vector<Point>& points) {
  double twice = 0;
  for (std::size_t i = 0; i < points.size(); ++i) {
    const Point a = points[i], b = points[(i + 1) % points.size()];
    twice += double(a.x) * b.y - double(b.x) * a.y;
  }
  return std::fabs(twice) / 2;
}

}  // namespace

TEST_CASE("a filled polygon covers its own area [property]") {
  std::mt19937 random(7);
  std::uniform_real_distribution<float> at(5, 95);
  for (int i = 0; i < 200; ++i) {
    const std::vector<Point> triangle{
        {at(random), at(random)}, {at(random), at(random)}, {at(random), at(random)}};
    Bitmap bitmap;
    bitmap.resize(100, 100);
    Raster raster(bitmap);
    raster.set_clip({0, 0, 100, 100});
    const std::uint32_t end = 3;
    raster.fill(triangle, {&end, 1}, {Color{255, 255, 255, 255}});
    // Each edge pixel rounds by at most half a level of 255.
    CHECK(std::fabs(covered(bitmap) - area_of(triangle)) < 1.5);
  }
}

TEST_CASE("what is drawn in pieces is the same as what is drawn at once [property]") {
  std::mt19937 random(11);
  std::uniform_real_distribution<float> at(-40, 168);
  for (int i = 0; i < 60; ++i) {
    std::vector<Point> shape;
    for (int k = 0; k < 4; ++k) shape.push_back({at(random), at(random)});
    const std::uint32_t end = 4;
    Bitmap whole, pieces;
    whole.resize(128, 128);
    pieces.resize(128, 128);
    Raster a(whole), b(pieces);
    a.set_clip({0, 0, 128, 128});
    a.fill(shape, {&end, 1}, {Color{200, 100, 50, 255}});
    for (int y = 0; y < 128; y += 32)
      for (int x = 0; x < 128; x += 32) {
        b.set_clip({x, y, x + 32, y + 32});
        b.fill(shape, {&end, 1}, {Color{200, 100, 50, 255}});
      }
    int off = 0;
    for (std::size_t p = 0; p < whole.pixels.size(); ++p)
      for (int shift = 0; shift < 24; shift += 8)
        off = std::max(off, std::abs(int(whole.pixels[p] >> shift & 255) -
                                     int(pieces.pixels[p] >> shift & 255)));
    CHECK(off <= 2);
  }
}

TEST_CASE("a frame like the last one draws nothing; a changed corner draws only there [property]") {
  ScreenCanvas canvas;
  const auto frame = [&](float x) {
    canvas.begin(640, 480, 1, {246, 243, 235});
    canvas.fill(rounded({40, 40, 300, 120}, 12), {{255, 253, 248}, Hatch::open, {150, 48, 28}});
    canvas.stroke(circle({500, 300}, 40), {{28, 40, 48}, 3});
    canvas.fill(circle({x, 440}, 8), {{242, 178, 48}});
    return canvas.finish();
  };
  CHECK_FALSE(frame(20).empty());
  CHECK(frame(20).empty());
  const auto damage = frame(30);
  REQUIRE(damage.size() == 1);
  CHECK(damage[0] == PixelRect{0, 384, 64, 448});
}

TEST_CASE("values that are not finite draw nothing and do no harm [property]") {
  ScreenCanvas canvas;
  canvas.begin(100, 100, 1, {});
  const float nan = std::nanf("");
  canvas.fill({{{nan, 0}, {10, 10}, {0, 10}}, true}, {{255, 255, 255}});
  canvas.stroke({{{0, 0}, {1e30f, 5}}, false}, {{255, 255, 255}, 2});
  canvas.fill({{}, true}, {{255, 255, 255}});
  canvas.finish();
  CHECK(covered(canvas.bitmap()) == doctest::Approx(0));
}
