#include <algorithm>
#include <cmath>

#include "app/drawing/shapes.h"
#include "app/drawing/text_layout.h"
#include "app/handover/photo_copy.h"
#include "app/handover/sections.h"
#include "app/words/ground_facts.h"
#include "app/words/sentence.h"
#include "app/words/words.h"
#include "horizon/photo/camera.h"
#include "survey/book/forms.h"

namespace app {
namespace {

void pit(Pages& pages, const PitReport& one, const ReportContext& context) {
  const Units units = context.options.units;
  pages.heading(tr("report.pit", {one.pit.name}), 190);
  std::vector<std::pair<std::string, std::string>> facts;
  if (one.pit.position) {
    facts.emplace_back(tr("report.place"),
                       position(one.pit.position->latitude_deg, one.pit.position->longitude_deg));
  }
  facts.emplace_back(tr("report.method"), one.pit.method);
  if (one.pit.depth_m) facts.emplace_back(tr("report.depth"), depth(*one.pit.depth_m, units));
  if (one.pit.water_m) facts.emplace_back(tr("report.water_at"), depth(*one.pit.water_m, units));
  if (one.pit.rock_m) facts.emplace_back(tr("report.rock"), depth(*one.pit.rock_m, units));
  if (one.pit.slope_deg) {
    facts.emplace_back(
        tr("report.slope"),
        degrees(*one.pit.slope_deg) + (one.pit.slope_faces_true_deg
                                           ? " " + compass_point(*one.pit.slope_faces_true_deg)
                                           : ""));
  }
  facts.emplace_back(tr("report.note"), one.pit.note);
  pages.facts(facts);
  if (one.layers.empty()) return;
  std::vector<TexturePoint> textures;
  for (std::size_t i = 0; i < one.layers.size(); ++i) {
    const auto& layer = one.layers[i];
    if (layer.sand_percent && layer.silt_percent && layer.clay_percent) {
      textures.push_back(
          {*layer.sand_percent, *layer.silt_percent, *layer.clay_percent, std::to_string(i + 1)});
    }
  }
  const auto chart = soil_chart_of(one, units);
  const float tall = 60 + 34 * static_cast<float>(std::min<std::size_t>(one.layers.size(), 10));
  const auto profile = [&](Canvas& c, Rect r) { draw_soil_profile(c, r, chart, pages.style()); };
  if (textures.empty()) {
    pages.figure(std::max(150.f, tall), profile);
  } else {
    pages.figures(
        std::max(190.f, tall), profile,
        [&](Canvas& c, Rect r) { draw_texture_triangle(c, r, textures, pages.style()); }, 0.6f);
  }
}

void percolation(Pages& pages, const PercolationReport& one, const ReportContext& context) {
  const Units units = context.options.units;
  pages.heading(tr("report.percolation", {one.test.name}), 180);
  std::vector<std::pair<std::string, std::string>> facts;
  facts.emplace_back(tr("report.hole"),
                     tr("report.hole_value", {depth(one.test.hole_depth_m, units),
                                              depth(one.test.hole_width_m, units)}));
  if (one.test.soaked_h > 0)
    facts.emplace_back(tr("report.soaked"), hours_decimal(one.test.soaked_h));
  // One rate everywhere: that of the findings.
  std::optional<double> rate_m_h;
  for (const auto& test : context.site.ground.percolation)
    if (test.name == one.test.name && test.result) {
      rate_m_h = test.result->fall_mm_h / 1000;
      facts.emplace_back(tr("report.rate"),
                         tr("report.rate_value", {fall_rate(*test.result, units)}));
      break;
    }
  facts.emplace_back(tr("report.note"), one.test.note);
  pages.facts(facts);
  if (one.readings.size() < 2) return;
  PercolationChart chart;
  for (const auto& reading : one.readings) {
    chart.readings.push_back({(reading.time.utc_s - one.readings.front().time.utc_s) / 60,
                              reading.water_depth_mm / 1000});
    if (reading.refilled && reading.refilled_to_mm) {
      chart.readings.push_back({chart.readings.back().minutes, *reading.refilled_to_mm / 1000});
    }
  }
  chart.rate_m_h = rate_m_h;
  pages.figure(130, [&](Canvas& c, Rect r) {
    draw_percolation(c, {r.x, r.y, std::min(r.w, 340.f), r.h}, chart, pages.style());
  });
}

std::string when(const survey::Moment& moment) {
  return horizon::format_date(horizon::date_of(moment.utc_s, moment.utc_offset_h)) + " " +
         horizon::format_clock(moment.utc_s, moment.utc_offset_h);
}

void notes_table(Pages& pages, const ReportContext& context) {
  const auto& site = context.site;
  if (!site.hazards.empty()) {
    pages.heading(tr("report.hazards"), 50);
    std::vector<std::vector<std::string>> rows;
    for (const auto& hazard : site.hazards) {
      rows.push_back({tr("hazard." + std::string(name_of(hazard.kind))),
                      tr("severity." + std::to_string(std::clamp(hazard.severity, 1, 3))),
                      hazard.text});
    }
    pages.table(
        {{tr("report.hazard"), 1.4f}, {tr("report.severity"), 1.6f}, {tr("report.note"), 5}}, rows);
  }
  std::vector<std::vector<std::string>> rows;
  for (const auto& note : site.notes) {
    if (shown_as_form(site.ground, note)) continue;
    std::string words = note.text;
    for (const auto& field : note.fields) {
      if (field_of(note.topic, field.key) || note.topic == survey::Topic::building ||
          field.key.starts_with("seen."))  // cautions already shown on the screen
        continue;
      const std::string key = "field." + field.key;
      words +=
          (words.empty() ? "" : "\n") + (has_words(key) ? tr(key) : field.key) + ": " + field.value;
    }
    if (words.empty()) continue;
    rows.push_back({tr("topic." + std::string(name_of(note.topic))), when(note.time), words});
  }
  if (rows.empty()) return;
  pages.heading(tr("report.notes"), 50);
  pages.table({{tr("report.topic"), 1.2f}, {tr("report.time"), 1.5f}, {tr("report.note"), 5.3f}},
              rows);
}

// The picture's camera in the upright copy, where bearing, tilt and view are known.
std::optional<horizon::Camera> camera_of(const survey::Photo& photo, const Image& image,
                                         const StationReport& station) {
  if (!photo.bearing_deg || !photo.elevation_deg || !photo.view_width_deg) return std::nullopt;
  double bearing = *photo.bearing_deg;
  if (photo.reference == horizon::Reference::magnetic) {
    if (!station.derived.declination_deg) return std::nullopt;
    bearing += *station.derived.declination_deg;
  } else if (photo.reference == horizon::Reference::grid) {
    if (!station.derived.convergence_deg) return std::nullopt;
    bearing += *station.derived.convergence_deg;
  }
  horizon::Camera camera;
  camera.width_px = image.width;
  camera.height_px = image.height;
  camera.focal_px =
      horizon::focal_px_of_view(std::max(image.width, image.height), *photo.view_width_deg);
  camera.bearing = horizon::TrueAzimuth::degrees(bearing);
  camera.tilt = horizon::Elevation::degrees(*photo.elevation_deg);
  camera.roll_deg = photo.roll_deg.value_or(0);
  return camera;
}

void draw_over(Canvas& canvas, Rect r, const Image& image, const horizon::Camera& camera,
               const StationReport& station, const std::vector<DayPath>& paths) {
  const auto at = [&](double azimuth, double elevation) -> std::optional<Point> {
    const auto pixel = horizon::pixel_of(
        camera, {horizon::TrueAzimuth::degrees(azimuth), horizon::Elevation::degrees(elevation)});
    if (!pixel) return std::nullopt;
    const Point p{r.x + static_cast<float>(pixel->x / image.width) * r.w,
                  r.y + static_cast<float>(pixel->y / image.height) * r.h};
    const float far = std::max(r.w, r.h) * 2;
    if (std::abs(p.x - r.x) > far || std::abs(p.y - r.y) > far) return std::nullopt;
    return p;
  };
  canvas.push_clip(r);
  const auto draw = [&](auto&& points, Stroke pen) {
    Path path;
    for (const auto& p : points) {
      if (p) {
        path.points.push_back(*p);
      } else {
        canvas.stroke(path, pen);
        path.points.clear();
      }
    }
    canvas.stroke(path, pen);
  };
  std::vector<std::optional<Point>> points;
  for (double off = -90; off <= 90; off += 0.25) {
    const double azimuth = camera.bearing.degrees() + off;
    points.push_back(at(azimuth, station.masks.all.elevation_deg(azimuth)));
  }
  draw(points, {{255, 255, 255, 150}, 2.2f, {}});
  draw(points, {kPrint.ink, 0.9f, {}});
  for (const auto& path : paths) {
    points.clear();
    for (const auto& p : path.points) points.push_back(at(p.azimuth_deg, p.elevation_deg));
    draw(points, {kPrint.amber, path.strong ? 1.6f : 0.9f, {}});
  }
  canvas.pop_clip();
}

}  // namespace

void ground_section(Pages& pages, const ReportContext& context) {
  const auto& site = context.site;
  pages.section(tr("report.annex", {tr("report.ground_section")}), 170);
  if (!site.plan) {
    const PlotMap map = plot_map_of(context);
    pages.figure(190, [&](Canvas& c, Rect r) { draw_plot_map(c, r, map, pages.style()); });
    pages.small(tr("report.map_note"));
  }
  if (site.pits.empty()) pages.text(tr("report.ground.no_pit"));
  for (const auto& one : site.pits) pit(pages, one, context);
  if (site.percolation.empty()) pages.text(tr("report.no_percolation"));
  for (const auto& one : site.percolation) percolation(pages, one, context);
  notes_table(pages, context);
}

void photo_section(Pages& pages, const ReportContext& context, std::size_t first, std::size_t count,
                   bool closing) {
  const auto& site = context.site;
  if (site.photos.size() <= first) return;
  const std::size_t last = std::min(site.photos.size(), first + count);
  pages.section(tr(first == 0 ? "report.photos" : "report.annex_photos"), 180);
  pages.small(tr("report.photos_note"));
  // Side by side; a row is as tall as its tallest picture and caption.
  const std::size_t across = first > 0 ? 2 : last == 4 ? 4 : 3;
  const float between = 12, cell = (pages.width() - between * static_cast<float>(across - 1)) /
                                   static_cast<float>(across);
  const TextStyle words{7.5f, pages.style().theme->ink};
  for (std::size_t i = first; i < last; i += across) {
    if (context.cancelled && context.cancelled()) return;
    const std::size_t end = std::min(i + across, last);
    std::vector<std::vector<std::string>> captions;
    float tallest = 0, longest = 0;
    std::vector<float> tall;
    for (std::size_t k = i; k < end; ++k) {
      const auto& photo = site.photos[k];
      const bool turned = photo.orientation >= 5;
      const float w = static_cast<float>(std::max(1, turned ? photo.height_px : photo.width_px));
      const float h = static_cast<float>(std::max(1, turned ? photo.width_px : photo.height_px));
      tall.push_back(std::min(cell * h / w, 200.f));
      const StationReport* station = site.station(photo.station_id);
      std::string caption = std::to_string(k + 1) + " · ";
      if (station) caption += station->name() + " · ";
      if (photo.bearing_deg) {
        caption += degrees(*photo.bearing_deg) + " " +
                   tr("reference." + std::string(horizon::name_of(photo.reference))) + " · ";
      }
      caption += when(photo.time);
      if (!photo.label.empty()) caption += " · " + photo.label;
      if (!photo.note.empty()) caption += "\n" + photo.note;
      captions.push_back(wrapped(caption, words, cell));
      if (captions.back().size() > 8) {
        captions.back().resize(8);
        captions.back().back() = shortened(captions.back().back() + " …………", words, cell);
      }
      tallest = std::max(tallest, tall.back());
      longest = std::max(longest, static_cast<float>(captions.back().size()) * 10);
    }
    pages.need(tallest + longest + 16);
    for (std::size_t k = i; k < end; ++k) {
      const auto& photo = site.photos[k];
      const float x = pages.left() + static_cast<float>(k - i) * (cell + between);
      const Rect box{x, pages.y, cell, tall[k - i]};
      Canvas& canvas = pages.canvas();
      if (pages.measuring()) {
        constexpr float kDotsAnInch = 200;
        context.photos[k].longest_px =
            static_cast<int>(std::lround(std::max(box.w, box.h) / 72 * kDotsAnInch));
      } else {
        const auto& image = context.photos[k].copy;
        if (image) {
          const float w = std::min(
              cell, box.h * static_cast<float>(image->width) / static_cast<float>(image->height));
          const Rect r{box.x, box.y, w,
                       w * static_cast<float>(image->height) / static_cast<float>(image->width)};
          canvas.begin_figure(tr("report.photo_words", {captions[k - i].front()}));
          canvas.image(*image, r);
          const StationReport* station = site.station(photo.station_id);
          if (station) {
            if (const auto camera = camera_of(photo, *image, *station)) {
              draw_over(canvas, r, *image, *camera, *station, station->day_paths);
            }
          }
          canvas.end_figure();
        } else {
          canvas.stroke(rectangle(box), {pages.style().theme->rule, 0.6f});
          paragraph(canvas, {box.x + 6, box.y + 4}, box.w - 12,
                    tr("report.photo_unreadable", {photo.file_name, words_of(image.error())}),
                    words);
        }
      }
      float base = pages.y + tall[k - i] + 10;
      for (const auto& row : captions[k - i]) {
        TextStyle style = words;
        const bool backward = right_to_left(row);
        style.align = backward ? Align::right : Align::left;
        canvas.text({backward ? x + cell : x, base}, row, style);
        base += 10;
      }
    }
    pages.y += tallest + longest + 16;
  }
  if (closing && last < site.photos.size())
    pages.small(tr("report.photos_more", {std::to_string(site.photos.size() - last)}));
}

}  // namespace app
