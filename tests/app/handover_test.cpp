#include "app/report/handover.h"

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

#include "app/lang/words.h"
#include "app/report/surfaces.h"
#include "tests/app/larkholm_book.h"

using namespace app;
namespace fs = std::filesystem;

namespace {

struct Folder {
  fs::path path;
  explicit Folder(const std::string& name) : path(fs::temp_directory_path() / ("adret-" + name)) {
    fs::remove_all(path);
    fs::create_directories(path);
  }
  ~Folder() {
    if (!std::getenv("ADRET_KEEP")) fs::remove_all(path);
  }
  std::string operator/(const std::string& name) const { return (path / name).string(); }
};

std::string output_of(const std::string& command) {
  std::string out;
  FILE* pipe = popen((command + " 2>&1").c_str(), "r");
  char buffer[4096];
  for (std::size_t n; (n = fread(buffer, 1, sizeof buffer, pipe)) > 0;) out.append(buffer, n);
  pclose(pipe);
  return out;
}

std::string bytes_of(const std::string& path) {
  std::ifstream in(path, std::ios::binary);
  return {std::istreambuf_iterator<char>(in), {}};
}

HandoverOptions options_for(const std::string& out) {
  HandoverOptions options;
  options.out_folder = out;
  options.unpacked = true;
  options.draws = 20;
  options.report.time_utc_s = 1794700000;
  options.report.software_version = "Adret test";
  return options;
}

Handover made(const survey::FieldBook& book, const HandoverOptions& options) {
  auto done = make_handover(book, options, {}, {});
  if (!done) FAIL(done.error().where << ": " << done.error().message);
  return *done;
}

void check_pdf(const std::string& path) {
  CAPTURE(path);
  const std::string sound = output_of("qpdf --check " + path);
  CAPTURE(sound);
  CHECK(sound.find("No syntax or stream encoding errors") != std::string::npos);
  CHECK(sound.find("WARNING") == std::string::npos);
  std::istringstream fonts(output_of("pdffonts " + path));
  std::string row;
  int count = 0;
  while (std::getline(fonts, row)) {
    if (row.rfind("name", 0) == 0 || row.rfind("---", 0) == 0) continue;
    ++count;
    CAPTURE(row);
    CHECK(row.find(" yes yes yes ") != std::string::npos);  // embedded, subset, to Unicode
  }
  CHECK(count >= 2);
}

// Non-breaking and thin spaces as plain ones, for looking words up.
std::string plain(std::string text) {
  for (const char* space : {"\u00A0", "\u202F"}) {
    for (std::size_t at; (at = text.find(space)) != std::string::npos;) {
      text.replace(at, std::string(space).size(), " ");
    }
  }
  return text;
}

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

  SUBCASE("the report says what the findings say") {
    const auto report = site_report(book, 20, {}, {});
    REQUIRE(report);
    const auto& f = report->stations.front().findings;
    const std::string text = plain(output_of("pdftotext -layout " + done.report_path + " -"));
    for (const std::string& number :
         {hours_minutes(f.hours.shortest_day_h.value), hours_decimal(f.hours.winter_h_a_day.value),
          percent(f.hours.winter_share), degrees(f.best_facing.value.degrees()),
          degrees(f.best_tilt_deg.value), std::string("Larkholm school garden"),
          std::string("sandy loam"), std::string("icy until noon")}) {
      CAPTURE(number);
      CHECK(text.find(plain(number)) != std::string::npos);
    }
    const auto json = nlohmann::json::parse(bytes_of(done.unpacked_path + "/site.json"));
    CHECK(std::abs(json["stations"][0]["light"]["winter"]["direct_sun_h"]["value"].get<double>() -
                   f.hours.winter_h.value) < 0.001);
    const std::string outline = output_of("qpdf --qdf --object-streams=disable " +
                                          done.report_path + " - | grep -a -c /Alt");
    CHECK(std::stoi(outline) > 20);
  }
  SUBCASE("the same again gives the same bytes") {
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
  SUBCASE("GDAL reads the map, the drawing and the site file") {
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
  SUBCASE("validators from the npm registry agree (installed by tests/run.sh)") {
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
    for (int hour = 0; hour < station.path->days() * 24; ++hour) {
      const auto seen = station.path->at(station.path->day_start_utc_s(0) + hour * 3600 + 1800);
      if (seen.elevation_deg < 0) continue;
      const double line = station.masks.all.elevation_deg(seen.azimuth_deg);
      if (std::abs(seen.elevation_deg - line) < 0.01) continue;  // the stated accuracy
      ++hours;
      const double el = seen.elevation_deg * horizon::kDegree;
      const double az = seen.azimuth_deg * horizon::kDegree;
      const double ray[3] = {std::cos(el) * std::sin(az), std::cos(el) * std::cos(az),
                             std::sin(el)};
      const bool hit = std::any_of(triangles.begin(), triangles.end(),
                                   [&](const Triangle& t) { return hits(t, eye, ray); });
      if (hit != (seen.elevation_deg < line)) {
        ++wrong;
        MESSAGE("azimuth " << seen.azimuth_deg << " elevation " << seen.elevation_deg << " line "
                           << line);
      }
    }
    CHECK(hours > 4000);
    CHECK(wrong == 0);
  }
}

TEST_CASE("Small, large and strange sites make sound reports in both languages [property]") {
  const Folder folder("sizes");
  const std::string long_name =
      "Donaudampfschifffahrtselektrizitätenhauptbetriebswerkbauunterbeamtengesellschaftsgarten am "
      "Hang über dem unteren Ende des langen Tales, Teil zwei von drei";
  const struct {
    const char* file;
    larkholm::BookSize size;
    const char* language;
    Paper paper;
    Units units;
  } cases[] = {
      {"small",
       {.stations = 1, .photos = 0, .ground = false},
       "en",
       Paper::letter,
       Units::imperial},
      {"large", {.stations = 6, .photos = 60}, "de", Paper::a4, Units::metric},
      {"strange",
       {.name = long_name,
        .stations = 2,
        .photos = 2,
        .note = "גינת בית הספר: 12 שורות של ירקות, ABC והשביל מדרום. مرحبا بكم في الحديقة"},
       "en",
       Paper::a4,
       Units::metric},
      {"southern", {.latitude_deg = -43.6, .longitude_deg = 170.1}, "de", Paper::a4, Units::metric},
      {"polar",
       {.stations = 1, .latitude_deg = 78.2, .longitude_deg = 15.6},
       "en",
       Paper::letter,
       Units::metric},
      // One mark: all the rest of the horizon is an open stretch.
      {"one_mark",
       {.stations = 2, .photos = 0, .ground = false, .most_marks = 1},
       "en",
       Paper::letter,
       Units::imperial},
  };
  for (const auto& one : cases) {
    CAPTURE(one.file);
    auto book = larkholm::book(folder / (std::string(one.file) + ".gpkg"), one.size);
    auto options = options_for(folder / one.file);
    options.draws = 0;
    options.unpacked = false;
    options.report.language = one.language;
    options.report.paper = one.paper;
    options.report.units = one.units;
    const Handover done = made(book, options);
    check_pdf(done.report_path);
    const std::string text = output_of("pdftotext -layout " + done.report_path + " -");
    std::istringstream pages(text);
    std::string page;
    int number = 0;
    while (std::getline(pages, page, '\f')) {
      if (page.empty()) continue;
      ++number;
      CAPTURE(number);
      CHECK(std::count_if(page.begin(), page.end(), [](unsigned char c) { return c > ' '; }) > 150);
    }
    CHECK(number >= 5);
    // No key was left without words.
    const std::regex key("\\b(report|chart|topic|hazard|kind|reference|severity|check)\\.[a-z]");
    std::smatch found;
    const bool has_key = std::regex_search(text, found, key);
    CAPTURE(has_key ? found.str() : "");
    CHECK_FALSE(has_key);
  }
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
      CHECK(done.error().message.find("cancelled") != std::string::npos);
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
      CHECK(done.error().message.size() > 10);
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
  CHECK(done.error().message.find("sighting") != std::string::npos);
  CHECK_FALSE(fs::exists(folder / "out"));
}
