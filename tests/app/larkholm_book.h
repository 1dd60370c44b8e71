// The invented Larkholm site as a field book, in the size that a test asks for.
#pragma once

#include <cmath>
#include <map>
#include <string>

#include "app/drawing/cairo_canvas.h"
#include "app/drawing/shapes.h"
#include "app/drawing/theme.h"
#include "app/words/sentence.h"
#include "survey/book/store.h"
#include "survey/book/text.h"
#include "survey/exchange/marks_csv.h"
#include "tests/app/larkholm.h"

namespace larkholm {

struct BookSize {
  std::string name = "Larkholm school garden";
  int stations = 3;
  int photos = 2;
  bool ground = true;
  double latitude_deg = kPlace.latitude_deg, longitude_deg = kPlace.longitude_deg;
  std::size_t most_marks = 10000;  // of each station
  std::string note = "Flat terrace above the lane; the old wall is dry stone.";
};

inline survey::Moment at(double hours) {
  // 14 November 2026, 00:00 UTC.
  return {1794614400.0 + hours * 3600, 1.0};
}

template <class Result>
auto good(Result result) {
  if (!result) throw std::runtime_error(app::in_words(result.error()));
  if constexpr (!std::is_void_v<typename Result::value_type>) return std::move(*result);
}

inline std::string picture(int number) {
  return good(app::png_of(320, 240, 1, [&](app::Canvas& canvas) {
    canvas.fill(app::rectangle({0, 0, 320, 240}), {{178, 206, 224}});
    canvas.fill(
        {{{0, 160}, {90, 70}, {170, 150}, {250, 100}, {320, 150}, {320, 240}, {0, 240}}, true},
        {app::kPrint.ridge});
    canvas.text({20, 220}, std::to_string(number), {.size = 30, .color = app::kPrint.on_ink});
  }));
}

inline void fill_ground(survey::FieldBook& book, const survey::Id& visit) {
  survey::SoilPit pit{.visit_id = visit, .time = at(11), .name = "P1", .method = "pit"};
  pit.position = survey::Position{46.62125, 10.34795, 1481.5};
  pit.depth_m = 1.1;
  pit.slope_deg = 7;
  pit.slope_faces_true_deg = 165;
  pit.id = good(book.put(pit));
  const struct {
    double top, bottom;
    const char* texture;
    double sand, silt, clay;
  } layers[] = {{0, 0.22, "loam", 42, 38, 20},
                {0.22, 0.6, "sandy loam", 62, 28, 10},
                {0.6, 1.1, "loamy sand", 82, 13, 5}};
  for (const auto& l : layers) {
    survey::SoilLayer layer{
        .pit_id = pit.id, .top_m = l.top, .bottom_m = l.bottom, .texture = l.texture};
    layer.sand_percent = l.sand;
    layer.silt_percent = l.silt;
    layer.clay_percent = l.clay;
    layer.colour = "10YR 3/2";
    good(book.put(layer));
  }
  survey::PercolationTest test{.pit_id = pit.id, .time = at(12), .name = "T1"};
  test.soaked_h = 4;
  test.id = good(book.put(test));
  const double levels[] = {300, 272, 247, 224, 203, 183};
  for (int i = 0; i < 6; ++i) {
    good(book.put(survey::PercolationReading{
        .test_id = test.id, .time = at(12 + i / 6.0), .water_depth_mm = levels[i]}));
  }
  good(book.put(survey::Hazard{.visit_id = visit,
                               .kind = survey::HazardKind::ice,
                               .severity = 2,
                               .time = at(10),
                               .text = "The lane stays icy until noon."}));
  good(book.put(survey::SiteNote{.visit_id = visit,
                                 .topic = survey::Topic::water,
                                 .time = at(10),
                                 .text = "Trough by the lane, runs all winter.",
                                 .fields = {{"flow_l_min", "6"}}}));
}

inline survey::FieldBook book(const std::string& path, const BookSize& size = {}) {
  survey::Site site{.name = size.name, .position = {size.latitude_deg, size.longitude_deg, 1482}};
  site.id = "6b1f2c1e-9a34-4b0d-8f3a-2d5c7e9b1a01";
  site.created = at(8);
  site.created.utc_offset_h = std::round(size.longitude_deg / 15);
  if (size.latitude_deg == kPlace.latitude_deg) site.grid = "EPSG:25832";
  site.note = size.note;
  auto book = good(survey::FieldBook::create(path, site));
  const auto visit = good(book.put(survey::Visit{
      .begun = at(8), .people = "LK, JB", .weather = "clear, -4 C", .note = size.note}));
  const auto bytes =
      good(survey::read_file(std::string(ADRET_TEST_DATA) + "/../../app/demo/larkholm_marks.csv"));
  const auto table = survey::marks_of_csv(bytes);
  const char* names[] = {"B", "A", "C"};
  std::vector<survey::Id> stations;
  for (int i = 0; i < size.stations; ++i) {
    survey::Station station{.visit_id = visit, .name = names[i % 3], .time = at(9), .main = i == 0};
    if (i >= 3) station.name += std::to_string(i / 3 + 1);
    if (size.name.size() > 100) station.name += " – " + size.name;
    station.position = {size.latitude_deg + 0.0001 * i, size.longitude_deg + 0.00012 * (i % 4),
                        1482.0 + i};
    stations.push_back(good(book.put(station)));
    std::size_t marks = 0;
    for (const auto& mark : table.marks) {
      if (mark.station != names[i % 3] || marks++ >= size.most_marks) continue;
      survey::Sighting sighting{.station_id = stations.back(), .time = at(9.2)};
      sighting.bearing_deg = mark.bearing_deg;
      sighting.reference = survey::Reference::magnetic;
      sighting.elevation_deg = mark.elevation_deg;
      sighting.instrument = "hand compass";
      sighting.kind = mark.kind;
      sighting.label = mark.label;
      sighting.layer = mark.layer;
      sighting.edge = mark.edge;
      sighting.distance_m = mark.distance_m;
      good(book.put(sighting));
    }
    survey::HeadingCheckRow check{.station_id = stations.back(), .time = at(9.1)};
    check.instrument = "hand compass";
    check.bearing_deg = 121.3;
    check.reference = survey::Reference::magnetic;
    check.known_true_deg = 125.2;
    check.label = "chapel";
    good(book.put(check));
  }
  if (size.ground) fill_ground(book, visit);
  for (int i = 0; i < size.photos; ++i) {
    survey::Photo photo{.station_id = stations[i % stations.size()], .time = at(9.5 + i * 0.01)};
    photo.bearing_deg = (170 + 3 * i) % 360;
    photo.reference = survey::Reference::magnetic;
    photo.elevation_deg = 8;
    photo.view_width_deg = 60;
    photo.label = i == 0 ? "south" : "";
    photo.note = i == 1 ? size.note : "";
    good(book.add_photo(photo, picture(i)));
  }
  return book;
}

}  // namespace larkholm
