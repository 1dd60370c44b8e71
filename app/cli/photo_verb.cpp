#include <cmath>
#include <cstdio>
#include <fstream>
#include <iterator>
#include <memory>
#include <nlohmann/json.hpp>

#include "app/cli/cli.h"
#include "app/drawing/picture_file.h"
#include "horizon/photo/camera.h"
#include "horizon/photo/photo_line.h"
#include "horizon/photo/photo_points.h"
#include "survey/book/photo_file.h"

namespace app {
namespace {

constexpr double kUsualView_deg = 65;    // of a phone's main camera, the longer side
constexpr double kCompassSigma_deg = 5;  // a bearing that the camera wrote itself
constexpr std::size_t kMostBytes = 50'000'000;

struct PhotoVerb {
  std::string file;
  std::vector<std::string> marks, pulls;
  std::optional<double> bearing_deg, tilt_deg, roll_deg, view_width_deg, declination_deg;
  double bearing_sigma_deg = 1, tilt_sigma_deg = 1, tolerance_deg = 0.1;
  bool json = false;
};

// Numbers between commas, as many as are asked for.
std::vector<double> numbers(const std::string& text, std::size_t count, const char* option) {
  std::vector<double> values;
  std::size_t at = 0;
  while (at <= text.size()) {
    const std::size_t end = std::min(text.find(',', at), text.size());
    const std::string piece = text.substr(at, end - at);
    char* rest = nullptr;
    values.push_back(std::strtod(piece.c_str(), &rest));
    if (piece.empty() || *rest || !std::isfinite(values.back())) values.clear(), at = text.size();
    at = end + 1;
  }
  if (values.size() != count)
    stop_bad_input(count == 4 ? "a mark is x,y,azimuth,elevation: pixels of the upright picture, "
                                "degrees from true north and above level"
                              : "a pull is x,y: pixels of the upright picture",
                   std::string(option) + " " + text);
  return values;
}

struct Opened {
  Image picture;
  survey::PhotoFacts facts;
};

Opened opened(const std::string& file) {
  std::ifstream in(file, std::ios::binary);
  if (!in) stop_bad_input("cannot be read; check the name", file);
  std::string bytes;
  bytes.resize(kMostBytes + 1);
  in.read(bytes.data(), static_cast<std::streamsize>(bytes.size()));
  bytes.resize(static_cast<std::size_t>(in.gcount()));
  auto facts = survey::photo_facts(bytes);
  if (!facts) facts.error().where = file;
  Opened result{{}, value_or_stop(std::move(facts))};
  const int most = std::max(result.facts.width_px, result.facts.height_px);
  result.picture = decoded(bytes, result.facts.orientation, std::min(most, 4000));
  if (result.picture.width == 0)
    stop_bad_input("the picture cannot be unpacked; save it anew as JPEG or PNG", file);
  return result;
}

// From two marks or more, else from what was given or the camera wrote; nothing without a bearing.
std::optional<horizon::PhotoOrientation> orientation(const PhotoVerb& verb, const Opened& photo,
                                                     double scale) {
  horizon::PhotoOrientation o;
  horizon::Camera& camera = o.camera;
  camera.width_px = photo.picture.width;
  camera.height_px = photo.picture.height;
  const double longer = std::max(camera.width_px, camera.height_px);
  const bool view_known = verb.view_width_deg || photo.facts.view_width_deg;
  camera.focal_px = horizon::focal_px_of_view(
      longer, verb.view_width_deg.value_or(photo.facts.view_width_deg.value_or(kUsualView_deg)));
  camera.tilt = horizon::Elevation::degrees(verb.tilt_deg.value_or(0));
  camera.roll_deg = verb.roll_deg.value_or(0);
  std::optional<double> bearing = verb.bearing_deg;
  double sigma = verb.bearing_sigma_deg;
  if (!bearing && photo.facts.bearing_deg &&
      (!photo.facts.bearing_magnetic || verb.declination_deg)) {
    bearing = *photo.facts.bearing_deg +
              (photo.facts.bearing_magnetic ? verb.declination_deg.value_or(0) : 0);
    sigma = kCompassSigma_deg;
  }
  std::vector<horizon::PhotoMark> marks;
  for (const std::string& text : verb.marks) {
    const auto v = numbers(text, 4, "--mark");
    horizon::PhotoMark mark;
    mark.pixel = {v[0] / scale, v[1] / scale};
    mark.direction = {horizon::TrueAzimuth::degrees(v[2]), horizon::Elevation::degrees(v[3])};
    mark.pixel_sigma_px = 0.002 * camera.width_px;
    marks.push_back(mark);
  }
  if (!marks.empty()) {
    if (!bearing) {
      camera.bearing = horizon::TrueAzimuth::degrees(
          marks[0].direction.azimuth.degrees() -
          std::atan((marks[0].pixel.x - camera.width_px / 2) / camera.focal_px) / horizon::kDegree);
      camera.tilt = horizon::Elevation::degrees(
          marks[0].direction.elevation.degrees() -
          std::atan((camera.height_px / 2 - marks[0].pixel.y) / camera.focal_px) /
              horizon::kDegree);
    } else {
      camera.bearing = horizon::TrueAzimuth::degrees(*bearing);
    }
    return value_or_stop(horizon::orientation_of(camera, marks, false));
  }
  if (!bearing) return {};
  camera.bearing = horizon::TrueAzimuth::degrees(*bearing);
  o.covariance(0, 0) = sigma * sigma;
  o.covariance(1, 1) = o.covariance(2, 2) = verb.tilt_sigma_deg * verb.tilt_sigma_deg;
  o.covariance(3, 3) = std::pow((view_known ? 0.02 : 0.1) * camera.focal_px, 2);
  return o;
}

nlohmann::ordered_json line_json(const horizon::PhotoLine& line, double scale) {
  nlohmann::ordered_json all = nlohmann::ordered_json::array();
  for (const auto& p : line.points)
    all.push_back({{"x_px", p.x_px * scale},
                   {"y_px", p.y_px * scale},
                   {"sigma_px", p.sigma_px * scale},
                   {"chance", p.chance},
                   {"sure", p.sure}});
  return all;
}

void run_photo(const PhotoVerb& verb) {
  const Opened photo = opened(verb.file);
  const bool turned = photo.facts.orientation >= 5;
  const double full = turned ? photo.facts.height_px : photo.facts.width_px;
  const double scale = full / photo.picture.width;
  std::vector<horizon::Pixel> pulls;
  for (const std::string& text : verb.pulls) {
    const auto v = numbers(text, 2, "--pull");
    pulls.push_back({v[0] / scale, v[1] / scale});
  }
  const auto line = value_or_stop(horizon::photo_line(
      {photo.picture.width, photo.picture.height, 4, photo.picture.rgba.data()}, pulls));
  const auto way = orientation(verb, photo, scale);
  std::optional<horizon::PhotoSkyline> skyline;
  if (way && !line.unsure)
    skyline = value_or_stop(horizon::photo_skyline(line, *way, {}, verb.tolerance_deg));

  if (verb.json) {
    nlohmann::ordered_json json;
    json["file"] = verb.file;
    json["width_px"] = full;
    json["height_px"] = photo.picture.height * scale;
    json["sure_fraction"] = line.sure_fraction;
    json["unsure"] = line.unsure;
    if (line.unsure) json["why"] = line.why;
    json["line"] = line_json(line, scale);
    for (const auto& rival : line.rivals)
      json["rivals"].push_back({{"from_x_px", rival.points.front().x * scale},
                                {"to_x_px", rival.points.back().x * scale},
                                {"pull_x_px", rival.pull().x * scale},
                                {"pull_y_px", rival.pull().y * scale}});
    if (way) {
      const auto sigma = [&](int i) { return std::sqrt(std::max(0.0, way->covariance(i, i))); };
      json["camera"] = {{"bearing_true_deg", way->camera.bearing.degrees()},
                        {"bearing_sigma_deg", sigma(0)},
                        {"tilt_deg", way->camera.tilt.degrees()},
                        {"tilt_sigma_deg", sigma(1)},
                        {"roll_deg", way->camera.roll_deg},
                        {"view_width_deg", way->camera.horizontal_view_deg()},
                        {"from", verb.marks.empty() ? "bearing" : "marks"}};
    }
    json["skyline"] = nlohmann::ordered_json::array();
    if (skyline)
      for (const auto& p : skyline->points)
        json["skyline"].push_back({{"azimuth_true_deg", p.azimuth.degrees()},
                                   {"elevation_deg", p.elevation.degrees()},
                                   {"azimuth_sigma_deg", p.azimuth_sigma_deg},
                                   {"elevation_sigma_deg", p.elevation_sigma_deg}});
    std::printf("%s\n", json.dump(2).c_str());
    return;
  }
  std::printf("%s: the line is sure in %.0f %% of the width\n", verb.file.c_str(),
              100 * line.sure_fraction);
  if (line.unsure) std::printf("Nothing is read from it: %s\n", line.why.c_str());
  if (!way) std::printf("No direction: give --bearing-deg, or two --mark or more.\n");
  if (!skyline) return;
  std::printf("Looks to %.1f deg true (+- %.2f), tilt %.1f deg (+- %.2f)\n",
              way->camera.bearing.degrees(), skyline->bearing_sigma_deg, way->camera.tilt.degrees(),
              skyline->tilt_sigma_deg);
  std::printf("azimuth_true_deg,elevation_deg\n");
  for (const auto& p : skyline->points)
    std::printf("%.2f,%.2f\n", p.azimuth.degrees(), p.elevation.degrees());
}

}  // namespace

void add_photo(CLI::App& cli) {
  auto verb = std::make_shared<PhotoVerb>();
  CLI::App* sub = cli.add_subcommand("photo", "The skyline in a photograph, and where it is sure");
  sub->add_option("file", verb->file, "JPEG or PNG")->required();
  sub->add_option("--mark", verb->marks,
                  "x,y,azimuth,elevation of a spot whose direction is known; two or more turn the "
                  "picture into directions");
  sub->add_option("--pull", verb->pulls, "x,y of a spot on the line, where it is wrong");
  sub->add_option("--bearing-deg", verb->bearing_deg, "True azimuth of the picture's middle")
      ->check(CLI::Range(0.0, 360.0));
  sub->add_option("--bearing-sigma-deg", verb->bearing_sigma_deg, "Its standard deviation")
      ->check(CLI::Range(0.01, 90.0));
  sub->add_option("--declination-deg", verb->declination_deg,
                  "East positive, for a magnetic bearing written by the camera")
      ->check(CLI::Range(-180.0, 180.0));
  sub->add_option("--tilt-deg", verb->tilt_deg, "Of the picture's middle above level")
      ->check(CLI::Range(-80.0, 80.0));
  sub->add_option("--tilt-sigma-deg", verb->tilt_sigma_deg, "Its standard deviation")
      ->check(CLI::Range(0.01, 45.0));
  sub->add_option("--roll-deg", verb->roll_deg, "Camera leaning to the right, positive")
      ->check(CLI::Range(-180.0, 180.0));
  sub->add_option("--view-width-deg", verb->view_width_deg, "Of the longer side")
      ->check(CLI::Range(1.0, 170.0));
  sub->add_option("--tolerance-deg", verb->tolerance_deg, "Points are thinned this far")
      ->check(CLI::Range(0.0, 5.0));
  sub->add_flag("--json", verb->json, "Machine-readable output");
  sub->callback([verb] { run_photo(*verb); });
}

}  // namespace app
