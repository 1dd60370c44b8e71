// Work has an end whatever a site holds, and what is left out is said. Counted, not timed: the times of
// the whole sizes are in docs/reliability.md (ADRET_LARGE=FOLDER writes the files).
#include "tests/app/large_sites.h"

#include <chrono>
#include <cstdlib>

#include "app/handover/site_report.h"
#include "horizon/skyline/thinned.h"
#include "survey/assess/assessment.h"
#include "survey/assess/plot_findings.h"
#include "tests/app/handover_tools.h"

using namespace handover_tools;

TEST_CASE("The large sites are written for whoever measures, and opened [regression]") {
  const char* folder = std::getenv("ADRET_LARGE");
  if (!folder) return;
  const fs::path to(folder);
  const std::pair<const char*, large::Size> all[] = {
      {"stations.gpkg", {.stations = 10000, .ridge_marks = 4}},
      {"poles.gpkg", {.poles = 3000}},
      {"sightings.gpkg", {.stations = 10, .ridge_marks = 10000}},
      {"sightings1.gpkg", {.ridge_marks = 100000}},
      {"photos.gpkg", {.photos = 2000, .photo_kb = 100}}};
  for (const auto& [name, size] : all) {
    if (!fs::exists(to / name)) large::book(to / name, size);
    const auto begun = std::chrono::steady_clock::now();
    const auto book = large::good(survey::FieldBook::open(to / name, survey::Access::write));
    MESSAGE(std::string(name)
            << ": opened in "
            << std::chrono::duration<double>(std::chrono::steady_clock::now() - begun).count()
            << " s");
  }
}

TEST_CASE("Of a thousand stations a dozen are worked out, and the rest is said [regression]") {
  const Folder folder("stations");
  const auto book =
      large::book(folder / "many.gpkg", {.stations = 1000, .ridge_marks = 4, .poles = 5});
  const long before = survey::skylines_derived();
  const auto site = large::good(survey::assess(book));
  CHECK(site.stations.size() == survey::kStationsThen);
  CHECK(site.beyond == 1000 - survey::kStationsThen);
  CHECK(survey::skylines_derived() - before == static_cast<long>(survey::kStationsThen));
  REQUIRE(site.said());
  CHECK(site.said()->key == "error.stations_beyond");
  CHECK(site.stations.front().station.main);
  // What somebody can walk is all there.
  const auto walked = large::book(folder / "walked.gpkg", {.stations = 24, .ridge_marks = 4});
  CHECK(large::good(survey::assess(walked)).stations.size() == 24);
  // The one that is asked for is among them.
  const auto asked = large::good(survey::assess(book, "S777"));
  CHECK(std::any_of(asked.stations.begin(), asked.stations.end(),
                    [](const auto& s) { return s.station.name == "S777"; }));
  const auto report = large::good(app::site_report(book, 0, {}, {}));
  CHECK(report.stations.size() == survey::kStationsThen);
  REQUIRE_FALSE(report.left_out.empty());
  CHECK(report.left_out.front().find("988") != std::string::npos);
}

TEST_CASE("Of thousands of marks and poles those are used that stand highest [regression]") {
  const Folder folder("marks");
  const auto book =
      large::book(folder / "poles.gpkg", {.stations = 2, .ridge_marks = 5000, .poles = 1500});
  const auto site = large::good(survey::assess(book));
  const auto& skyline = site.stations.front().skyline();
  CHECK(skyline.points.size() <= 800);
  CHECK(skyline.obstacles.size() <= 101);
  const auto& notes = site.stations.front().notes;
  CHECK(std::any_of(notes.begin(), notes.end(),
                    [](const auto& note) { return note.key == "error.marks_thinned"; }));
  // As high as the ridge that was made, at every degree.
  const horizon::Mask mask(skyline);
  for (int az = 0; az < 360; ++az)
    CHECK(mask.elevation_deg(az + 0.5) >= large::ridge_deg(az + 0.5) - 0.6);
  const auto ground = large::good(survey::ground_findings(book, {nullptr, {}, {}, &site}));
  const auto plot = large::good(survey::plot_input(book, ground, &site));
  REQUIRE(plot.said);
  CHECK(plot.said->key == "error.plot_thinned");
  CHECK(plot.survey.marks.size() <= 800);
  CHECK(plot.survey.obstacles.size() <= 121);
}

TEST_CASE("Of two hundred photographs the report shows 120, and the package has all [regression]") {
  const Folder folder("photographs");
  const auto book = large::book(folder / "photos.gpkg", {.photos = 200});
  auto options = options_for(folder / "out");
  options.draws = 0;
  const Handover done = made(book, options);
  CHECK(std::count_if(done.files.begin(), done.files.end(),
                      [](const auto& file) { return file.name.starts_with("photos/"); }) == 200);
  const std::string images = output_of("pdfimages -list " + done.report_path);
  CHECK(std::count(images.begin(), images.end(), '\n') - 2 >= 120);
  CHECK(std::count(images.begin(), images.end(), '\n') - 2 < 130);
  CHECK(output_of("pdftotext " + done.report_path + " -").find("80 more photographs") !=
        std::string::npos);
}
