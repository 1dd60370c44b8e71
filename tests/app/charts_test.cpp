#include <doctest/doctest.h>

#include <cmath>
#include <cstdlib>
#include <fstream>

#include "app/drawing/cairo_canvas.h"
#include "app/drawing/charts/ground_charts.h"
#include "app/drawing/charts/light_charts.h"
#include "app/drawing/charts/skyline_chart.h"
#include "app/drawing/charts/sun_charts.h"
#include "app/drawing/charts/sun_values.h"
#include "app/drawing/shapes.h"
#include "tests/app/larkholm.h"

using namespace app;

namespace {

// With ADRET_CHARTS=folder each drawing is also written there, to be looked at.
std::string drawn(const char* name, float width, float height, const Drawing& drawing) {
  const auto png = png_of(width, height, 2, drawing);
  REQUIRE(png);
  if (const char* folder = std::getenv("ADRET_CHARTS")) {
    std::ofstream(std::string(folder) + "/" + name + ".png", std::ios::binary) << *png;
  }
  return *png;
}

struct World {
  horizon::Skyline skyline;
  horizon::Masks masks;
  horizon::SunPath path;
  explicit World(const std::string& station = "B")
      : skyline(larkholm::skyline(station)),
        masks(horizon::masks_of(skyline)),
        path(horizon::SunPath::of_year(larkholm::kPlace, 2026, 1.0)) {}
  SkylineChart chart() const {
    return {.skyline = &skyline, .mask = &masks.all, .paths = day_paths(path)};
  }
};

}  // namespace

TEST_CASE("The skyline chart places a direction and finds it again [property]") {
  World world;
  for (double center : {180.0, 0.0, 350.0}) {
    for (double span : {360.0, 90.0}) {
      SkylineChart chart = world.chart();
      chart.center_deg = center;
      chart.span_deg = span;
      for (double off : {-0.4, -0.1, 0.0, 0.3}) {
        const SkyPoint at{horizon::wrap_360(center + off * span), 17.5};
        const Rect where{20, 30, 400, 150};
        const Point p = skyline_point(chart, where, {}, at);
        CHECK(where.contains(p));
        const SkyPoint back = skyline_direction(chart, where, {}, p);
        CHECK(std::abs(horizon::wrap_180(back.azimuth_deg - at.azimuth_deg)) < 0.01);
        CHECK(std::abs(back.elevation_deg - at.elevation_deg) < 0.01);
      }
    }
  }
}

TEST_CASE("The sun year holds as many hours in view as the windows do [property]") {
  World world;
  const auto chart = sun_year_chart(world.path, world.masks, world.skyline);
  double seen = 0, up = 0;
  for (const auto& day : chart.days) {
    float last = 0;
    for (const auto& band : day) {
      CHECK(band.from_h >= last - 1e-3f);
      CHECK(band.to_h > band.from_h);
      last = band.to_h;
      up += band.to_h - band.from_h;
      if (band.state == SunState::in_view) seen += band.to_h - band.from_h;
    }
  }
  const double windows = horizon::hours_in(horizon::windows_above(world.path, world.masks.all));
  CHECK(std::abs(seen - windows) < 2);  // nothing is open in this skyline
  const double flat = horizon::hours_in(horizon::windows_above(world.path, horizon::Mask()));
  CHECK(std::abs(up - flat) < 2);
}

TEST_CASE("Charts are drawn, in both themes and over any window [regression]") {
  World world;
  const ChartStyle print{.text = 8}, dusk{.theme = &kDusk, .text = 14};
  drawn("skyline", 520, 200, [&](Canvas& canvas) {
    draw_skyline(canvas, {10, 10, 500, 150}, world.chart(), print);
    legend(&canvas, {40, 170, 460, 30}, skyline_legend(world.chart(), print), print);
  });
  drawn("skyline_strip", 412, 180, [&](Canvas& canvas) {
    canvas.fill(rectangle({0, 0, 412, 180}), {kDusk.paper});
    SkylineChart chart = world.chart();
    chart.span_deg = 110;
    chart.center_deg = 200;
    chart.aim_deg = 221;
    chart.selected_point = 20;
    chart.axes = true;
    draw_skyline(canvas, {0, 0, 412, 180}, chart, dusk);
  });
  drawn("skyline_open", 520, 180, [&](Canvas& canvas) {
    horizon::Skyline cut = world.skyline;
    std::erase_if(cut.points, [](const auto& p) {
      return p.azimuth.degrees() > 225 && p.azimuth.degrees() < 250;
    });
    const horizon::Mask mask(cut);
    SkylineChart chart{.skyline = &cut, .mask = &mask, .paths = day_paths(world.path)};
    draw_skyline(canvas, {10, 10, 500, 160}, chart, print);
  });
  const auto year = sun_year_chart(world.path, world.masks, world.skyline);
  drawn("sun_year", 520, 260, [&](Canvas& canvas) {
    draw_sun_year(canvas, {10, 10, 500, 210}, year, print);
    legend(&canvas, {40, 232, 460, 30}, sun_year_legend(year, print), print);
  });
  drawn("sun_paths", 300, 300, [&](Canvas& canvas) {
    draw_sun_paths(canvas, {10, 10, 280, 280}, world.chart(), print);
  });
  std::array<MonthRow, 12> months;
  for (int m = 0; m < 12; ++m) {
    const double high = 9 - 4 * std::cos(m * 0.5236);
    months[static_cast<std::size_t>(m)] = {30,           high * 0.6, high * 0.55, high * 0.65,
                                           high,         "10:41",    "14:35",     40 + 10.0 * m,
                                           60 + 5.0 * m, 8 + 2.0 * m};
  }
  drawn("months", 520, 250, [&](Canvas& canvas) {
    const float height = draw_month_table(&canvas, {10, 10, 500, 240}, months, print);
    CHECK(height < 240);
  });
}

TEST_CASE("Ground charts are drawn [regression]") {
  const ChartStyle print{.text = 8};
  drawn("soil", 260, 220, [&](Canvas& canvas) {
    draw_soil_profile(canvas, {5, 5, 250, 210},
                      {.layers = {{0, 0.2, "topsoil", "dark brown, many roots", SoilFill::topsoil},
                                  {0.2, 0.55, "sandy loam", "", SoilFill::loam},
                                  {0.55, 0.9, "gravel in sand", "rounded stones to 60 mm, moist",
                                   SoilFill::gravel},
                                  {0.9, 1.0, "clay", "", SoilFill::clay}},
                       .water_m = 0.95,
                       .frost_m = 0.8},
                      print);
  });
  drawn("percolation", 260, 160, [&](Canvas& canvas) {
    draw_percolation(
        canvas, {5, 5, 250, 150},
        {.readings = {{0, 0.3}, {10, 0.27}, {20, 0.245}, {40, 0.2}, {60, 0.16}}, .rate_m_h = 0.12},
        print);
  });
  drawn("triangle", 260, 240, [&](Canvas& canvas) {
    draw_texture_triangle(canvas, {5, 5, 250, 230}, {{60, 28, 12, "P1"}, {20, 45, 35, "P2"}},
                          print);
  });
  drawn("map", 300, 220, [&](Canvas& canvas) {
    draw_plot_map(canvas, {5, 5, 290, 210},
                  {.places = {{0, 0, "A", PlotSign::station, "2.9 h"},
                              {18, 14, "B south terrace", PlotSign::station, "4.1 h"},
                              {25, -4, "C", PlotSign::station, "3.3 h"},
                              {12, 9, "P1", PlotSign::pit, ""},
                              {-20, 30, "chapel", PlotSign::landmark, ""},
                              {14, 10, "P2", PlotSign::pit, ""}},
                   .facing_deg = 171},
                  print);
  });
}
