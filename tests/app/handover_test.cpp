#include "app/handover/handover.h"

#include <doctest/doctest.h>
#include <sys/resource.h>

#include <chrono>
#include <cmath>
#include <csignal>
#include <cstdio>
#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <nlohmann/json.hpp>
#include <regex>
#include <sstream>

#include "app/handover/surfaces.h"
#include "app/words/sentence.h"
#include "app/words/words.h"
#include "survey/assess/assessment.h"
#include "tests/app/handover_tools.h"

using namespace app;
using namespace handover_tools;

namespace {

struct Triangle {
  double p[3][3];
};

// The 3DFACEs of a DXF Release 12 file, read by its group codes.
std::vector<Triangle> triangles_of_dxf(const std::string& dxf) {
  std::istringstream in(dxf);
  std::string code, value;
  std::vector<Triangle> out;
  double v[4][3] = {};
  bool face = false;
  const auto finish = [&] {
    if (!face) return;
    for (const auto& corners : {std::array{0, 1, 2}, std::array{0, 2, 3}}) {
      Triangle t{};
      for (int i = 0; i < 3; ++i) {
        for (int a = 0; a < 3; ++a) t.p[i][a] = v[corners[static_cast<std::size_t>(i)]][a];
      }
      out.push_back(t);
    }
  };
  while (std::getline(in, code) && std::getline(in, value)) {
    const int number = std::stoi(code);
    if (number == 0) {
      finish();
      face = value == "3DFACE";
    } else if (face && number >= 10 && number < 34) {
      v[number % 10][number / 10 - 1] = std::stod(value);
    }
  }
  return out;
}

// Moller & Trumbore, Fast minimum storage ray/triangle intersection, J. Graphics Tools 2 (1997).
bool hits(const Triangle& t, const double o[3], const double d[3]) {
  double e1[3], e2[3], s[3];
  for (int a = 0; a < 3; ++a) {
    e1[a] = t.p[1][a] - t.p[0][a];
    e2[a] = t.p[2][a] - t.p[0][a];
    s[a] = o[a] - t.p[0][a];
  }
  const double h[3] = {d[1] * e2[2] - d[2] * e2[1], d[2] * e2[0] - d[0] * e2[2],
                       d[0] * e2[1] - d[1] * e2[0]};
  const double det = e1[0] * h[0] + e1[1] * h[1] + e1[2] * h[2];
  if (std::abs(det) < 1e-12) return false;
  const double u = (s[0] * h[0] + s[1] * h[1] + s[2] * h[2]) / det;
  if (u < -1e-9 || u > 1 + 1e-9) return false;
  const double q[3] = {s[1] * e1[2] - s[2] * e1[1], s[2] * e1[0] - s[0] * e1[2],
                       s[0] * e1[1] - s[1] * e1[0]};
  const double w = (d[0] * q[0] + d[1] * q[1] + d[2] * q[2]) / det;
  if (w < -1e-9 || u + w > 1 + 1e-9) return false;
  return (e2[0] * q[0] + e2[1] * q[1] + e2[2] * q[2]) / det > 1e-6;
}

bool has_node_modules() { return fs::exists(fs::path(ADRET_TEST_DATA) / "../node_modules/ajv"); }

}  // namespace

TEST_CASE("A power cut leaves each package and report absent or whole [property]") {
  if (shell("strace -V 2>&1").exit_code != 0)
    return;  // counted where the system's calls can be recorded
  const Folder folder("cuts");
  const std::string site = folder / "larkholm.gpkg";
  larkholm::book(site, {.stations = 1, .photos = 1});
  const auto cuts = [&](const char* out, const char* how) {
    return shell("/usr/bin/python3 " + std::string(ADRET_TEST_DATA) + "/../app/power_cuts.py " +
                 ADRET_CLI + " " + site + " " + (folder / out) + " " +
                 (std::getenv("ADRET_LONG") ? "2000" : "200") + how);
  };
  const auto kept = cuts("flushed", "");
  MESSAGE(kept.words);
  CHECK(kept.exit_code == 0);
  CHECK(kept.words.find(" 0 torn, 0 lost") != std::string::npos);
  CHECK(cuts("unflushed", " unflushed").exit_code == 1);  // it would be seen
}

TEST_CASE("A handover holds everything, sound and readable from outside [property]") {
  const Folder folder("handover");
  auto book = larkholm::book(folder / "site.gpkg");
  auto options = options_for(folder / "out");
  const auto begun = std::chrono::steady_clock::now();
  const Handover done = made(book, options);
  const double seconds =
      std::chrono::duration<double>(std::chrono::steady_clock::now() - begun).count();
  MESSAGE("handover of 3 stations: " << seconds << " s, package " << done.package_bytes
                                     << " bytes, report " << fs::file_size(done.report_path)
                                     << " bytes");
  CHECK(fs::file_size(done.report_path) < 3'000'000);
  const std::string pictures = output_of("pdfimages -list " + done.report_path);
  CHECK(pictures.find(" jpeg ") != std::string::npos);  // the photographs, as they are
  check_pdf(done.report_path);

  {
    INFO("the report says what the command line says");
    const auto light = nlohmann::json::parse(
        output_of(ADRET_CLI " light " + (folder / "site.gpkg") + " --json --draws 20"));
    const auto& f = light["stations"][0]["findings"];
    const std::string text = plain(output_of("pdftotext -layout " + done.report_path + " -"));
    const auto value = [](const nlohmann::json& ranged) { return ranged["value"].get<double>(); };
    std::vector<std::string> numbers{hours_minutes(value(f["shortest_day"]["direct_sun_h"])),
                                     hours_minutes(f["shortest_day"]["flat_sun_h"]),
                                     hours_decimal(value(f["winter"]["direct_sun_h_a_day"])),
                                     number(value(f["winter"]["direct_sun_h"])) + " h",
                                     percent(f["winter"]["share_of_flat"]),
                                     degrees(f["facing"]["best"]["facing_true_deg"]),
                                     degrees(f["facing"]["best"]["tilt_deg"]),
                                     "Larkholm school garden",
                                     "sandy loam",
                                     "icy until noon"};
    for (const auto& month : light["stations"][0]["months"])
      numbers.push_back(percent(month["share"]));
    for (const auto& number : numbers) {
      CAPTURE(number);
      CHECK(text.find(plain(number)) != std::string::npos);
    }
    const auto json = nlohmann::json::parse(bytes_of(done.unpacked_path + "/site.json"));
    CHECK(json["stations"][0]["light"] == f);
    const std::string outline = output_of("qpdf --qdf --object-streams=disable " +
                                          done.report_path + " - | grep -a -c /Alt");
    CHECK(std::stoi(outline) > 20);
  }
  {
    INFO("the same again gives the same bytes");
    options.out_folder = folder / "again";
    const Handover again = made(book, options);
    const bool same_report = bytes_of(done.report_path) == bytes_of(again.report_path);
    CHECK(same_report);
    for (const auto& file : done.files) {
      CAPTURE(file.name);
      const bool same = bytes_of(done.unpacked_path + "/" + file.name) ==
                        bytes_of(again.unpacked_path + "/" + file.name);
      CHECK(same);
    }
    const bool same_package = bytes_of(done.package_path) == bytes_of(again.package_path);
    CHECK(same_package);
  }
  {
    INFO("GDAL reads the map, the drawing and the site file");
    const std::string in = done.unpacked_path;
    const std::string map = output_of("ogrinfo -al -so " + in + "/skyline.geojson");
    CHECK(map.find("Feature Count: 186") != std::string::npos);  // 183 marks and 3 stations
    const std::string drawing = output_of("ogrinfo -al -so " + in + "/station-1-b/shading.dxf");
    CAPTURE(drawing);
    CHECK(drawing.find("Layer name: entities") != std::string::npos);
    CHECK(drawing.find("Feature Count: 0") == std::string::npos);
    const std::string layers = output_of("ogrinfo -ro -q " + in + "/site.gpkg");
    CHECK(layers.find("station") != std::string::npos);
    const std::string list = output_of("unzip -l " + done.package_path);
    for (const auto& file : done.files) CHECK(list.find(file.name) != std::string::npos);
    const std::string readme = bytes_of(in + "/README.txt");
    for (const auto& file : done.files) {
      CAPTURE(file.name);
      if (file.name != "README.txt") CHECK(readme.find(file.name) != std::string::npos);
    }
  }
  {
    INFO("validators from the npm registry agree (installed by tests/run.sh)");
    if (!has_node_modules()) {
      MESSAGE("not run: npm ci in tests/ first");
      return;
    }
    const std::string tests = std::string(ADRET_TEST_DATA) + "/..";
    CHECK(output_of("node " + tests + "/app/validate.mjs json " + tests +
                    "/../docs/site.schema.json " + done.unpacked_path + "/site.json") == "valid\n");
    CHECK(output_of("node " + tests + "/app/validate.mjs gltf " + done.unpacked_path +
                    "/station-1-b/shading.gltf") == "valid\n");
  }
}

TEST_CASE("Rays towards the sun meet the shading surfaces where the mask hides it [property]") {
  const Folder folder("rays");
  auto book = larkholm::book(folder / "site.gpkg", {.photos = 0});
  const auto report = site_report(book, 0, {}, {});
  REQUIRE(report);
  for (const auto& station : report->stations) {
    CAPTURE(station.name());
    const ShadingModel model = shading_model(station);
    bool near = false;
    for (const auto& surface : model.surfaces) near = near || surface.near;
    CHECK(near);  // the barn and the trees have distances
    const auto triangles = triangles_of_dxf(dxf_of(model, "test"));
    REQUIRE(triangles.size() > 1000);
    const double eye[3] = {0, 0, model.eye_height_m};
    int hours = 0, wrong = 0;
    const auto check = [&](double azimuth_deg, double elevation_deg) {
      const double line = station.masks.all.elevation_deg(azimuth_deg);
      if (std::abs(elevation_deg - line) < 0.01) return;  // the stated accuracy
      const double el = elevation_deg * horizon::kDegree, az = azimuth_deg * horizon::kDegree;
      const double ray[3] = {std::cos(el) * std::sin(az), std::cos(el) * std::cos(az),
                             std::sin(el)};
      const bool hit = std::any_of(triangles.begin(), triangles.end(),
                                   [&](const Triangle& t) { return hits(t, eye, ray); });
      if (hit != (elevation_deg < line)) {
        ++wrong;
        MESSAGE("azimuth " << azimuth_deg << " elevation " << elevation_deg << " line " << line);
      }
    };
    for (int hour = 0; hour < station.path->days() * 24; ++hour) {
      const auto seen = station.path->at(station.path->day_start_utc_s(0) + hour * 3600 + 1800);
      if (seen.elevation_deg < 0) continue;
      ++hours;
      check(seen.azimuth_deg, seen.elevation_deg);
    }
    // And all along the line, just above and just below.
    for (double azimuth = 0.11; azimuth < 360; azimuth += 0.37) {
      const double line = station.masks.all.elevation_deg(azimuth);
      check(azimuth, line + 0.02);
      check(azimuth, line - 0.02);
    }
    CHECK(hours > 4000);
    CHECK(wrong == 0);
  }
}

TEST_CASE("A hand-over derives each station's skyline once [property]") {
  const Folder folder("once");
  auto book = larkholm::book(folder / "site.gpkg");
  const auto stations = static_cast<long>(larkholm::good(book.all<survey::Station>()).size());
  REQUIRE(stations == 3);
  auto options = options_for(folder / "out");
  const long before = survey::skylines_derived();
  made(book, options);
  CHECK(survey::skylines_derived() - before == stations);
}

TEST_CASE("A failure or a cancel leaves nothing behind, and says what to do [property]") {
  const Folder folder("failures");
  auto book = larkholm::book(folder / "site.gpkg", {.stations = 1, .photos = 1});
  auto options = options_for(folder / "out");
  options.draws = 0;

  SUBCASE("cancelled at any moment") {
    int asked = 0;
    REQUIRE(make_handover(book, options, {}, [&] { return ++asked < 0; }));
    fs::remove_all(folder / "out");
    for (int stop = 1; stop <= asked; stop += std::max(1, asked / 6)) {
      CAPTURE(stop);
      int count = 0;
      const auto done = make_handover(book, options, {}, [&] { return ++count >= stop; });
      REQUIRE_FALSE(done);
      CHECK(done.error().key == "error.cancelled");
      CHECK_FALSE(fs::exists(folder / "out"));
    }
  }
  SUBCASE("the disk is full") {
    // A limit on the size of any file stands in for it: each write past it fails.
    std::signal(SIGXFSZ, SIG_IGN);
    rlimit before{};
    getrlimit(RLIMIT_FSIZE, &before);
    for (rlim_t limit : {2000u, 60'000u, 200'000u}) {
      CAPTURE(limit);
      rlimit small{limit, before.rlim_max};
      setrlimit(RLIMIT_FSIZE, &small);
      const auto done = make_handover(book, options, {}, {});
      setrlimit(RLIMIT_FSIZE, &before);
      REQUIRE_FALSE(done);
      CHECK(app::in_words(done.error()).size() > 10);
      CHECK_FALSE(fs::exists(folder / "out"));
    }
  }
  SUBCASE("the folder cannot be written to") {
    std::ofstream(folder / "file") << "not a folder";
    options.out_folder = folder / "file/inside";
    const auto done = make_handover(book, options, {}, {});
    REQUIRE_FALSE(done);
    CHECK(done.error().where.find("file") != std::string::npos);
  }
  SUBCASE("what was there before stays") {
    fs::create_directories(folder / "out");
    std::ofstream(folder / "out/larkholm-school-garden-package.zip") << "older";
    int count = 0;
    REQUIRE_FALSE(make_handover(book, options, {}, [&] { return ++count > 3; }));
    CHECK(bytes_of(folder / "out/larkholm-school-garden-package.zip") == "older");
    CHECK(std::distance(fs::directory_iterator(folder / "out"), fs::directory_iterator()) == 1);
  }
}

TEST_CASE(
    "A site without any sighting cannot be handed over, and the message says why [property]") {
  const Folder folder("empty");
  auto book = larkholm::book(folder / "site.gpkg", {.stations = 0, .photos = 0, .ground = false});
  const auto done = make_handover(book, options_for(folder / "out"), {}, {});
  REQUIRE_FALSE(done);
  CHECK(done.error().key == "error.no_station_with_sighting");
  CHECK_FALSE(fs::exists(folder / "out"));
}
