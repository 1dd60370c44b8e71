// photo: what a photograph says of itself, and the skyline read out of it.
#include <algorithm>
#include <cmath>
#include <cstdio>
#include <memory>
#include <nlohmann/json.hpp>
#include <optional>

#include "app/cli/cli.h"
#include "app/handover/photo_copy.h"
#include "app/words/sentence.h"
#include "horizon/photo/photo_points.h"
#include "survey/book/photo_file.h"
#include "survey/book/text.h"

namespace app {
namespace {

using nlohmann::ordered_json;

constexpr int kWorkPixels = 2000;      // of the longer side: finer than the line is known
constexpr double kUsualView_deg = 65;  // of a phone's main camera, the longer side

struct PhotoVerb {
  std::string picture;
  std::vector<std::string> marks;
  std::optional<double> bearing_deg, tilt_deg, roll_deg, view_deg;
  bool json = false;
};

double rounded(double value, int decimals) {
  const double scale = std::pow(10, decimals);
  return std::round(value * scale) / scale;
}

// "X,Y,AZIMUTH,ELEVATION", X and Y as shares of the upright picture's width and height.
horizon::PhotoMark mark_of(const std::string& text, const horizon::Camera& camera) {
  double v[4];
  std::size_t from = 0;
  for (int i = 0; i < 4; ++i) {
    const std::size_t to = text.find(',', from);
    const auto value = survey::number_of(text.substr(from, to - from));
    if (!value || (i < 3) == (to == std::string::npos))
      stop_bad_input("error.photo_mark_form", "--mark " + text);
    v[i] = *value;
    from = to + 1;
  }
  if (!(v[0] >= 0 && v[0] <= 1 && v[1] >= 0 && v[1] <= 1 && v[2] >= 0 && v[2] <= 360 &&
        std::abs(v[3]) < 90))
    stop_bad_input("error.photo_mark_form", "--mark " + text);
  horizon::PhotoMark mark;
  mark.pixel = {v[0] * camera.width_px, v[1] * camera.height_px};
  mark.direction = {horizon::TrueAzimuth::degrees(v[2]), horizon::Elevation::degrees(v[3])};
  mark.pixel_sigma_px = 0.002 * camera.width_px;
  return mark;
}

// From two marks or more; else from what is given or stands in the file, good to a phone's compass.
std::optional<horizon::PhotoOrientation> orientation(const PhotoVerb& verb,
                                                     const survey::PhotoFacts& facts,
                                                     const Image& picture) {
  horizon::Camera camera;
  camera.width_px = picture.width;
  camera.height_px = picture.height;
  camera.focal_px = horizon::focal_px_of_view(
      std::max(picture.width, picture.height),
      verb.view_deg.value_or(facts.view_width_deg.value_or(kUsualView_deg)));
  const auto bearing = verb.bearing_deg         ? verb.bearing_deg
                       : facts.bearing_magnetic ? std::nullopt
                                                : facts.bearing_deg;
  camera.bearing = horizon::TrueAzimuth::degrees(bearing.value_or(0));
  camera.tilt = horizon::Elevation::degrees(verb.tilt_deg.value_or(0));
  camera.roll_deg = verb.roll_deg.value_or(0);
  if (!verb.marks.empty()) {
    std::vector<horizon::PhotoMark> marks;
    for (const std::string& text : verb.marks) marks.push_back(mark_of(text, camera));
    if (!bearing) {
      camera.bearing = horizon::TrueAzimuth::degrees(
          marks[0].direction.azimuth.degrees() -
          std::atan((marks[0].pixel.x - camera.width_px / 2) / camera.focal_px) / horizon::kDegree);
      camera.tilt = horizon::Elevation::degrees(
          marks[0].direction.elevation.degrees() -
          std::atan((camera.height_px / 2 - marks[0].pixel.y) / camera.focal_px) /
              horizon::kDegree);
    }
    return value_or_stop(
        horizon::orientation_of(camera, marks, marks.size() < 3 && verb.view_deg.has_value()));
  }
  if (!bearing || !verb.tilt_deg) return std::nullopt;
  horizon::PhotoOrientation guess;
  guess.camera = camera;
  constexpr double kPhoneBearing_deg = 4, kPhoneTilt_deg = 1;  // common practice, 1 sigma
  guess.covariance(0, 0) = kPhoneBearing_deg * kPhoneBearing_deg;
  guess.covariance(1, 1) = guess.covariance(2, 2) = kPhoneTilt_deg * kPhoneTilt_deg;
  return guess;
}

ordered_json json_of_facts(const survey::PhotoFacts& facts) {
  ordered_json json;
  json["width_px"] = facts.width_px;
  json["height_px"] = facts.height_px;
  json["orientation"] = facts.orientation;
  if (facts.position) {
    json["latitude_deg"] = facts.position->latitude_deg;
    json["longitude_deg"] = facts.position->longitude_deg;
    if (facts.position->height_m) json["height_m"] = *facts.position->height_m;
  }
  if (facts.bearing_deg) {
    json["bearing_deg"] = *facts.bearing_deg;
    json["bearing_north"] = facts.bearing_magnetic ? "magnetic" : "true";
  }
  if (facts.view_width_deg) json["view_width_deg"] = rounded(*facts.view_width_deg, 2);
  if (!facts.camera.empty()) json["camera"] = facts.camera;
  return json;
}

void run_photo(const PhotoVerb& verb) {
  const std::string bytes = value_or_stop(survey::read_file(verb.picture));
  auto facts = survey::photo_facts(bytes);
  if (!facts) facts.error().where = verb.picture;
  const survey::PhotoFacts photo = value_or_stop(std::move(facts));
  auto picture = photo_pixels(bytes, photo.orientation, kWorkPixels);
  if (!picture) picture.error().where = verb.picture;
  const Image image = value_or_stop(std::move(picture));
  const horizon::PhotoLine line =
      value_or_stop(horizon::photo_line({image.width, image.height, 4, image.rgba.data()}));
  ordered_json json{{"file", verb.picture}, {"photo", json_of_facts(photo)}};
  json["line"]["sure_fraction"] = rounded(line.sure_fraction, 3);
  json["line"]["unsure"] = line.unsure;
  for (std::size_t i = 0; i < line.points.size(); i += 5)
    json["line"]["points"].push_back({{"x", rounded(line.points[i].x_px / image.width, 4)},
                                      {"y", rounded(line.points[i].y_px / image.height, 4)},
                                      {"sure", line.points[i].sure}});
  const auto oriented = orientation(verb, photo, image);
  std::optional<horizon::PhotoSkyline> sky;
  if (oriented && !line.unsure) sky = value_or_stop(horizon::photo_skyline(line, *oriented));
  if (oriented) {
    json["orientation"] = {{"bearing_true_deg", rounded(oriented->camera.bearing.degrees(), 2)},
                           {"bearing_sigma_deg", rounded(oriented->bearing_sigma_deg(), 2)},
                           {"tilt_deg", rounded(oriented->camera.tilt.degrees(), 2)},
                           {"roll_deg", rounded(oriented->camera.roll_deg, 2)}};
  }
  if (sky)
    for (const auto& p : sky->points)
      json["skyline"].push_back({{"azimuth_true_deg", rounded(p.azimuth.degrees(), 2)},
                                 {"elevation_deg", rounded(p.elevation.degrees(), 2)},
                                 {"elevation_sigma_deg", rounded(p.elevation_sigma_deg, 2)}});
  if (verb.json) {
    std::printf("%s\n", json.dump(1).c_str());
  } else {
    std::printf(
        "%s: %d x %d pixels; the line between sky and ground is sure in %.0f %% of its width\n",
        verb.picture.c_str(), photo.width_px, photo.height_px, 100 * line.sure_fraction);
    if (sky)
      for (const auto& p : sky->points)
        std::printf("  %6.1f\u00b0  %6.2f\u00b0 \u00b1 %.2f\u00b0\n", p.azimuth.degrees(),
                    p.elevation.degrees(), p.elevation_sigma_deg);
  }
  if (line.unsure) tell(verb.picture, {horizon::Code::bad_input, line.why, ""}, "note: ");
  if (!oriented)
    tell(verb.picture, {horizon::Code::bad_input, "error.photo_not_oriented", ""}, "note: ");
}

}  // namespace

void add_photo(CLI::App& cli) {
  auto verb = std::make_shared<PhotoVerb>();
  CLI::App* app = cli.add_subcommand("photo", "The skyline read out of a photograph");
  app->add_option("picture", verb->picture, "A JPEG or PNG")->required();
  app->add_option(
      "--mark", verb->marks,
      "X,Y,AZIMUTH,ELEVATION of a known spot, X and Y from 0 to 1 of the upright picture; "
      "two or more orient it");
  app->add_option("--bearing-deg", verb->bearing_deg, "True azimuth of its middle, without marks")
      ->check(CLI::Range(0.0, 360.0));
  app->add_option("--tilt-deg", verb->tilt_deg, "Elevation of its middle, without marks")
      ->check(CLI::Range(-89.0, 89.0));
  app->add_option("--roll-deg", verb->roll_deg, "Clockwise turn of the camera, without marks")
      ->check(CLI::Range(-180.0, 180.0));
  app->add_option("--view-deg", verb->view_deg, "Angle of view of the longer side, else the file's")
      ->check(CLI::Range(5.0, 150.0));
  app->add_flag("--json", verb->json, "Machine-readable output");
  app->callback([verb] { run_photo(*verb); });
}

}  // namespace app
