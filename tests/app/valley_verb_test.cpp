// The valley from the office: grids of many kinds in, maps and terraces out, tile by tile.
#include <doctest/doctest.h>

#include <cmath>
#include <filesystem>
#include <fstream>
#include <nlohmann/json.hpp>

#include "survey/exchange/valley_cut.h"
#include "tests/horizon/terrain/jacksboro.h"
#include "tests/shell.h"
#include "tests/survey/site_fixture.h"

namespace {

namespace fs = std::filesystem;
using Json = nlohmann::json;

// A valley that runs west to east between two ridges, a terrace on its northern side; written as an
// ASCII grid of 90 by 60 cells of 50 m in UTM 32N.
double height(int column, int row) {
  const double north = (30 - row) * 50.0;
  double h = 900 + 0.45 * std::abs(north);
  if (north > 500 && north < 750 && column > 30 && column < 60) h = 900 + 0.45 * 500;
  return h;
}

void write_grid(const fs::path& path, int from, int to, double unit_m = 1, bool holes = false) {
  std::ofstream out(path);
  out << "ncols " << to - from << "\nnrows 60\nxllcorner " << 600000 + from * 50
      << "\nyllcorner 5163000\ncellsize 50\nNODATA_value -9999\n";
  for (int r = 0; r < 60; ++r) {
    for (int c = from; c < to; ++c)
      out << (holes && (c * 7 + r * 13) % 97 == 0 ? -9999.0 : height(c, r) / unit_m) << ' ';
    out << '\n';
  }
  std::ofstream(fs::path(path).replace_extension(".prj"))
      << shell("gdalsrsinfo -o wkt_esri EPSG:32632 | grep .").words;
}

const std::string kCli = std::string(ADRET_CLI) + " valley ";

Json valley(const std::string& arguments) {
  const auto done =
      shell(kCli + arguments +
            " --json --halo-km 5 --cell-m 50 --least-winter-h 1 --exact 3 2>/dev/null");
  REQUIRE_MESSAGE(done.exit_code == 0, done.words);
  return Json::parse(done.words);
}

double value_at(const std::string& tif, const Json& terrace) {
  return std::stod(shell("gdallocationinfo -valonly -wgs84 " + tif + " " +
                         terrace["longitude_deg"].dump() + " " + terrace["latitude_deg"].dump())
                       .words);
}

}  // namespace

TEST_CASE("[property] the terrace on the sunny side is found, and its hours are the exact ones") {
  const TempFolder folder;
  write_grid(folder / "valley.asc", 0, 90);
  const Json all = valley((folder / "valley.asc") + " --out " + (folder / "out"));
  REQUIRE(all["terraces"].size() == 2);  // it, and the valley's bottom
  const Json& best = all["terraces"][0];
  CHECK(best["slope_deg"] < 15);
  CHECK(best["area_m2"] > 100000);
  // UTM 32N 602250 5164500 is the valley's middle; the terrace lies 500 to 750 m north of it.
  CHECK(std::abs(best["latitude_deg"].get<double>() - 46.632) < 0.006);
  CHECK(std::abs(best["exact_winter_sun_h_per_day"].get<double>() -
                 best["winter_sun_h_per_day"].get<double>()) < 2.0 / 60);
  CHECK(std::abs(value_at(folder / "out/winter_sun.tif", best) -
                 best["winter_sun_h_per_day"].get<double>()) < 0.01);
  // Read by GDAL's own programs: layout, unit, no-data; the outline is a polygon in the GeoPackage.
  const std::string info = shell("gdalinfo " + (folder / "out/winter_sun.tif")).words;
  CHECK(info.find("LAYOUT=COG") != std::string::npos);
  CHECK(info.find("Unit Type: h") != std::string::npos);
  CHECK(info.find("NoData Value=nan") != std::string::npos);
  CHECK(shell("gdalinfo " + (folder / "out/winter_sun_classes.tif")).words.find("Color Table") !=
        std::string::npos);
  const std::string layer =
      shell("ogrinfo -al -geom=SUMMARY " + (folder / "out/terraces.gpkg")).words;
  CHECK(layer.find("Feature Count: 2") != std::string::npos);
  CHECK(layer.find("slope <= 15 deg") != std::string::npos);
}

TEST_CASE(
    "[property] the page: candidates numbered, scale, north, sources and limits, as PDF and PNG") {
  const TempFolder folder;
  write_grid(folder / "valley.asc", 0, 90);
  valley((folder / "valley.asc") + " --out " + (folder / "out"));
  const std::string text = shell("pdftotext -layout " + (folder / "out/valley.pdf") + " -").words;
  for (const char* words : {"Winter sun of the valley", "valley.asc", "cells of 50 m", "no trees",
                            "slope up to 15°", "2 terraces", "46.6", "7–8", "1.0 km"})
    CHECK_MESSAGE(text.find(words) != std::string::npos, std::string(words) << text);
  CHECK(shell("pdfinfo " + (folder / "out/valley.pdf")).words.find("Pages:           1") !=
        std::string::npos);
  CHECK(shell("qpdf --check " + (folder / "out/valley.pdf") + " 2>&1").exit_code == 0);
  const std::string png = shell("gdalinfo " + (folder / "out/valley.png")).words;
  CHECK(png.find("Size is 1240, 1754") != std::string::npos);  // A4 at 150 pixels an inch
  valley((folder / "valley.asc") + " --out " + (folder / "out") + " --lang de");
  CHECK(shell("pdftotext " + (folder / "out/valley.pdf") + " -").words.find("keine Bäume") !=
        std::string::npos);
}

TEST_CASE("[property] tiles worked out apart give what the whole gives; a missing one is named") {
  const TempFolder folder;
  write_grid(folder / "valley.asc", 0, 90);
  const std::string grid = (folder / "valley.asc") + " --out ";
  const Json whole = valley(grid + (folder / "one"));
  const std::string parts = grid + (folder / "four");
  for (int i = 1; i <= 3; ++i) {
    const auto done =
        shell(kCli + parts + " --halo-km 5 --cell-m 50 --tile " + std::to_string(i) + "/4");
    CHECK(done.exit_code == 0);
    CHECK(done.words.find("still to do") != std::string::npos);
  }
  // Killed in the middle: what was begun is under a hidden name, and the tile is done again.
  std::ofstream(folder / "four/.winter_sun.4of4.99.part.tif") << "torn";
  const Json four = valley(parts + " --tile 4/4 --least-area-m2 600");
  CHECK(four["terraces"].size() == whole["terraces"].size());
  CHECK(std::abs(four["terraces"][0]["winter_sun_h_per_day"].get<double>() -
                 whole["terraces"][0]["winter_sun_h_per_day"].get<double>()) < 1e-5);
  CHECK(fs::exists(folder / "four/winter_sun.vrt"));
  CHECK(std::abs(value_at(folder / "four/winter_sun.vrt", four["terraces"][0]) -
                 whole["terraces"][0]["winter_sun_h_per_day"].get<double>()) < 0.01);
}

TEST_CASE("[property] two grids of different systems, holes and feet give the same valley") {
  const TempFolder folder;
  write_grid(folder / "whole.asc", 0, 90);
  const Json whole = valley((folder / "whole.asc") + " --out " + (folder / "a"));
  write_grid(folder / "west.asc", 0, 50);
  write_grid(folder / "east.asc", 45, 90, 0.3048);
  // The eastern one in another system, its heights in feet as its band says.
  REQUIRE(shell("cd " + folder.path.string() +
                " && gdalwarp -q -r bilinear -t_srs EPSG:2056 east.asc east.tif && "
                "gdal_edit.py -units ft east.tif")
              .exit_code == 0);
  const Json both =
      valley((folder / "west.asc") + " " + (folder / "east.tif") + " --out " + (folder / "b"));
  REQUIRE(both["terraces"].size() >= 1);
  CHECK(std::abs(value_at(folder / "b/winter_sun.tif", whole["terraces"][0]) -
                 whole["terraces"][0]["winter_sun_h_per_day"].get<double>()) < 0.15);
  write_grid(folder / "holes.asc", 0, 90, 1, true);
  CHECK(valley((folder / "holes.asc") + " --out " + (folder / "c"))["terraces"].size() >= 1);
}

TEST_CASE("[property] what is no grid, has no system, or lies apart is refused with the cure") {
  const TempFolder folder;
  const std::string out = " --out " + (folder / "out") + " 2>&1";
  std::ofstream(folder / "words.tif") << "no picture";
  CHECK(shell(kCli + (folder / "words.tif") + out).exit_code == 2);
  write_grid(folder / "bare.asc", 0, 90);
  fs::remove(folder / "bare.prj");
  const auto bare = shell(kCli + (folder / "bare.asc") + out);
  CHECK(bare.exit_code == 2);
  CHECK(bare.words.find(".prj") != std::string::npos);
  write_grid(folder / "here.asc", 0, 90);
  REQUIRE(shell("gdal_translate -q -a_srs EPSG:32642 " + (folder / "here.asc") + " " +
                (folder / "far.tif"))
              .exit_code == 0);
  CHECK(shell(kCli + (folder / "here.asc") + " " + (folder / "far.tif") + out).exit_code == 2);
  for (const char* wrong :
       {"--tile 5/4", "--tile 0/4", "--tile x", "--months 13", "--halo-km 0", "--cell-m -1"})
    CHECK_MESSAGE(shell(kCli + (folder / "here.asc") + " " + wrong + out).exit_code == 2, wrong);
}

// Real relief; places spread over it, so that ridges near and far count.
TEST_CASE("[published] what the visits carry draws the skylines of all the heights") {
  const auto grid = jacksboro();
  if (!grid) {
    MESSAGE("python-matplotlib-data is not installed, left out");
    return;
  }
  const TempFolder folder;
  const std::string file = folder / "jacksboro.asc";
  write_ascii_grid(file, *grid);
  std::ofstream(folder / "jacksboro.prj")
      << shell("gdalsrsinfo -o wkt_esri EPSG:4326 | grep .").words;
  const auto valley = must(survey::ValleyGrid::open({file}, 0));
  std::vector<horizon::Place> places;
  std::vector<horizon::TerrainSkyline> lines;
  for (const auto& [latitude, longitude] :
       {std::pair(36.53583, -84.27667), {36.60, -84.20}, {36.50, -84.33}}) {
    places.push_back({latitude, longitude, 0});
    lines.push_back(must(survey::land_skyline(valley, places.back(), 15000)));
  }
  double before_deg = -1;
  for (const std::uintmax_t most : {5'000'000, 60'000}) {
    survey::CutWish wish;
    wish.grids = {file};
    wish.near_m = 1500;
    wish.reach_m = 15000;
    wish.most_bytes = most;
    const auto cut =
        must(survey::write_cut(valley, places, lines, wish, folder / "1.tif", folder / "2.tif"));
    MESSAGE(cut.bytes << " bytes, far cells " << cut.far_cell_m << " m, off by "
                      << cut.largest_error_deg << " at most, " << cut.typical_error_deg
                      << " in the median");
    CHECK(cut.bytes <= most);
    CHECK(cut.typical_error_deg < 0.05);
    CHECK(cut.typical_error_deg > before_deg);  // larger cells cost, and it is told
    before_deg = cut.typical_error_deg;
    CHECK(fs::file_size(folder / "1.tif") + fs::file_size(folder / "2.tif") == cut.bytes);
  }
}

TEST_CASE("[property] the best terraces become sites to walk to, in one small archive") {
  const TempFolder folder;
  write_grid(folder / "valley.asc", 0, 90);
  const Json all = valley((folder / "valley.asc") + " --out " + (folder / "out") +
                          " --visits 2 --name Larkholm");
  shell("mkdir " + (folder / "in") + " && cd " + (folder / "in") +
        " && unzip -q ../out/visits.zip");
  CHECK(fs::file_size(folder / "out/visits.zip") < 5'000'000);
  std::vector<std::string> sites;
  for (const auto& file : fs::directory_iterator(folder / "in"))
    if (file.path().extension() == ".gpkg") sites.push_back(file.path().string());
  std::sort(sites.begin(), sites.end());
  REQUIRE(sites.size() == 2);
  auto book = must(survey::FieldBook::open(sites.front(), survey::Access::received));
  CHECK(book.remarks().empty());
  const survey::Site site = must(book.site());
  const Json& best = all["terraces"][0];
  CHECK(site.name == "Larkholm 1");
  CHECK(std::abs(site.position.latitude_deg - best["latitude_deg"].get<double>()) < 1e-9);
  CHECK(site.note.find("1 of 2") != std::string::npos);
  char hours[20];
  std::snprintf(hours, sizeof hours, "%.1f h", best["exact_winter_sun_h_per_day"].get<double>());
  CHECK(site.note.find(hours) != std::string::npos);
  const auto stations = must(book.all<survey::Station>());
  REQUIRE(stations.size() == 1);
  CHECK(stations[0].position_source == survey::PositionSource::map);
  // The skyline out of the two grids, as the app draws it, is the one of all the heights.
  const std::string where =
      " --lat " + best["latitude_deg"].dump() + " --lon " + best["longitude_deg"].dump();
  const auto line = [&](const std::string& grids) {
    const auto done = shell(std::string(ADRET_CLI) + " terrain --grid " + grids + where +
                            " --json --every-deg 10 2>/dev/null");
    REQUIRE_MESSAGE(done.exit_code == 0, done.words);
    return Json::parse(done.words);
  };
  std::string cut;
  for (const auto& file : fs::directory_iterator(folder / "in"))
    if (file.path().extension() == ".tif") cut += " " + file.path().string();
  const Json from_cut = line(cut), from_all = line(folder / "valley.asc");
  REQUIRE(from_cut["skyline"].size() == 36);
  int far = 0;
  for (std::size_t i = 0; i < 36; ++i) {
    // The made valley's edges fall on another grid's cells of 50 m: far ones alone are alike.
    if (from_all["skyline"][i]["distance_m"] < 700) continue;
    ++far;
    CHECK(std::abs(from_cut["skyline"][i]["elevation_deg"].get<double>() -
                   from_all["skyline"][i]["elevation_deg"].get<double>()) < 0.5);
  }
  CHECK(far > 12);
  // Made again, the sites are the same ones.
  valley((folder / "valley.asc") + " --out " + (folder / "out") + " --visits 2 --name Larkholm");
  shell("mkdir " + (folder / "again") + " && cd " + (folder / "again") +
        " && unzip -q ../out/visits.zip");
  auto again = must(survey::FieldBook::open(
      (fs::path(folder / "again") / fs::path(sites.front()).filename()).string(),
      survey::Access::received));
  CHECK(must(again.site()).id == site.id);
}
