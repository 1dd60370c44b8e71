// The plan of a site as other programs read it: each judged by readers that know nothing of Adret.
#include <doctest/doctest.h>

#include <cmath>
#include <fstream>
#include <map>
#include <nlohmann/json.hpp>
#include <regex>
#include <set>
#include <sstream>

#include "app/drawing/charts/site_plan_chart.h"
#include "app/handover/programme_site.h"
#include "app/handover/site_plan.h"
#include "survey/assess/site_check.h"
#include "survey/exchange/terrain_file.h"
#include "tests/app/handover_tools.h"

using namespace app;
using namespace handover_tools;
using nlohmann::json;

namespace {

const std::string kHere = std::string(ADRET_TEST_DATA) + "/../app/";

survey::Position beside(double east_m, double north_m, std::optional<double> height_m = {}) {
  return {larkholm::kPlace.latitude_deg + north_m / 111180.0,
          larkholm::kPlace.longitude_deg + east_m / 76550.0, height_m};
}

// All that a full survey brings: boundary, lines, levels, people, choices.
void fill_plan(survey::FieldBook& book) {
  const auto line = [&](survey::PathKind kind, const char* name, bool closed,
                        std::initializer_list<std::pair<double, double>> corners) {
    survey::Path path{.kind = kind, .name = name, .closed = closed, .time = larkholm::at(13)};
    for (const auto& [e, n] : corners) path.points.push_back({beside(e, n), {}});
    larkholm::good(book.put(path));
  };
  line(survey::PathKind::boundary, "school land", true,
       {{-25, -20}, {45, -22}, {48, 30}, {-24, 34}});
  line(survey::PathKind::access, "lane", false, {{55, -40}, {56, 40}});
  line(survey::PathKind::service, "telephone cable", false, {{52, -40}, {53, 40}});
  int number = 0;
  for (const auto& [e, n, up] : {std::tuple(-25., -20., 1480.4),
                                 {45., -22., 1480.1},
                                 {48., 30., 1484.0},
                                 {-24., 34., 1484.6},
                                 {10., 5., 1482.5}})
    larkholm::good(book.put(survey::Landmark{.name = "level " + std::to_string(++number),
                                             .position = beside(e, n, up),
                                             .height_sigma_m = 0.1}));
  larkholm::good(book.put(survey::SiteNote{.topic = survey::Topic::permission,
                                           .time = larkholm::at(13),
                                           .fields = {{"setback_m", "4"}}}));
  larkholm::good(book.put(survey::SiteNote{.topic = survey::Topic::water,
                                           .time = larkholm::at(13.5),
                                           .position = beside(-15, 25),
                                           .text = "spring box",
                                           .fields = {{"runs_in_winter", "yes"}}}));
  larkholm::good(book.put(survey::Hazard{.kind = survey::HazardKind::flood,
                                         .severity = 3,
                                         .time = larkholm::at(13),
                                         .position = beside(-18, -15),
                                         .text = "flood mark"}));
  larkholm::good(book.put(survey::Person{.role = survey::Role::owner,
                                         .name = "Commune of Larkholm",
                                         .telephone = "+00 0000 102",
                                         .consent = "lends the land"}));
  survey::ClimateNormals climate;
  climate.name = "Larkholm";
  for (std::size_t m = 0; m < 12; ++m) {
    const double mean = 6 - 12 * std::cos((double(m) - 0.5) * 0.5236);
    climate.mean_c[m] = mean;
    climate.min_c[m] = mean - 6;
    climate.max_c[m] = mean + 6;
    climate.sunshine_fraction[m] = 0.5;
  }
  larkholm::good(book.put(climate));
  survey::DesignChoices choices;
  choices.length_m = 10;
  choices.depth_m = 5;
  choices.height_m = 3.2;
  larkholm::good(book.put(choices));
}

struct Packed {
  Folder folder{"plan"};
  Handover done;
  std::string in;
  json site, plan;
  Packed() {
    auto book = larkholm::book(folder / "site.gpkg");
    fill_plan(book);
    auto options = options_for(folder / "out");
    done = made(book, options);
    in = done.unpacked_path + "/";
    site = json::parse(bytes_of(in + "site.json"));
    plan = site["plan"];
  }
};
const Packed& packed() {
  static const Packed one;
  return one;
}

bool has_npm() { return fs::exists(kHere + "../node_modules/web-ifc"); }

std::vector<std::vector<std::string>> csv(const std::string& path) {
  std::istringstream in(bytes_of(path));
  std::vector<std::vector<std::string>> rows;
  for (std::string row; std::getline(in, row);) {
    if (!row.empty() && row.back() == '\r') row.pop_back();
    std::vector<std::string> cells(1);
    for (const char c : row) c == ',' ? (void)cells.emplace_back() : (void)(cells.back() += c);
    rows.push_back(cells);
  }
  return rows;
}

}  // namespace

TEST_CASE("The plan holds what was surveyed and says what was not [property]") {
  const json& plan = packed().plan;
  CHECK(plan["stations"].size() == 3);
  CHECK(plan["frame"]["grid"]["code"] == "EPSG:25832");
  CHECK(plan["setback_m"] == 4);
  std::map<std::string, int> lines;
  for (const auto& line : plan["lines"]) ++lines[line["kind"]];
  CHECK(lines["boundary"] == 1);
  CHECK(lines["setback"] == 1);
  CHECK(lines["access"] == 1);
  CHECK(lines["service"] == 1);
  CHECK(plan["contours"].size() > 3);
  CHECK(plan["slope"]["from"] == "levels");
  // The levels were made to fall about 3.5 degrees to the south.
  CHECK(std::abs(plan["slope"]["slope_deg"].get<double>() - 4) < 1);
  CHECK(std::abs(plan["slope"]["downhill_true_deg"].get<double>() - 180) < 10);
  std::set<std::string> unknown;
  for (const auto& each : plan["not_known"]) unknown.insert(each["what"]);
  CHECK(unknown.contains("hazard"));  // the icy lane has no place
  CHECK_FALSE(unknown.contains("boundary"));
  CHECK_FALSE(unknown.contains("services"));
  CHECK_FALSE(unknown.contains("contours"));

  // Without any of that, all of it is told to be unknown.
  const Folder folder("bare");
  auto book = larkholm::book(folder / "site.gpkg", {.stations = 1, .photos = 0, .ground = false});
  const auto report = site_report(book, 0, {}, {});
  REQUIRE(report);
  REQUIRE(report->plan);
  std::set<std::string> keys;
  for (const auto& each : report->plan->unknown) keys.insert(each.key);
  for (const char* what :
       {"boundary", "setback", "access", "services", "contours", "slope", "digging", "water"})
    CHECK_MESSAGE(keys.contains(std::string("plan.unknown.") + what), what);
  CHECK(report->plan->contours.empty());
}

TEST_CASE("Three places keep off every limit, each the end of another trade-off [property]") {
  const json& plan = packed().plan;
  REQUIRE(plan["houses"].size() == 3);
  const auto& houses = plan["houses"];
  CHECK(houses[0]["choice"] == "most_sun");
  std::set<std::string> choices;
  for (const auto& house : houses) choices.insert(house["choice"]);
  CHECK(choices.size() == 3);
  const auto sun = [](const json& h) {
    return h["winter_direct_sun_h_a_day"]["value"].get<double>();
  };
  for (const auto& house : houses) {
    CAPTURE(house["name"].get<std::string>());
    const auto& range = house["winter_direct_sun_h_a_day"];
    CHECK(range["low"].get<double>() <= range["value"].get<double>());
    CHECK(range["high"].get<double>() >= range["value"].get<double>());
    CHECK(sun(house) <= 1.01 * sun(houses[0]));  // alike to a hundredth: the nearest
    if (house["choice"] == "least_digging")
      CHECK(house["digging_m3"]["value"] <= houses[0]["digging_m3"]["value"]);
    if (house["choice"] == "nearest")
      CHECK(house["access_m"].get<double>() + house["water_m"].get<double>() <=
            houses[0]["access_m"].get<double>() + houses[0]["water_m"].get<double>());
    REQUIRE(house["pegs"].size() == 4);
    const auto at = [&](int i) {
      const auto& p = house["pegs"][static_cast<std::size_t>(i)]["at"];
      return Eigen::Vector2d(p["east_m"], p["north_m"]);
    };
    CHECK(std::abs((at(0) - at(1)).norm() - 10) < 1e-3);
    CHECK(std::abs((at(1) - at(2)).norm() - 5) < 1e-3);
    // 1 to 2 is the glazing; the house lies behind it.
    const Eigen::Vector2d out = (at(0) + at(1)) / 2 - (at(2) + at(3)) / 2;
    CHECK(std::abs(horizon::wrap_180(std::atan2(out.x(), out.y()) / horizon::kDegree -
                                     house["facing_true_deg"].get<double>())) < 0.01);
    for (int i = 0; i < 4; ++i) {
      // Inside the boundary by the setback.
      const Eigen::Vector2d p = at(i);
      for (const auto& line : plan["lines"]) {
        if (line["kind"] != "boundary") continue;
        const auto& points = line["points"];
        for (std::size_t k = 0; k < points.size(); ++k) {
          const auto& q = points[(k + 1) % points.size()];
          const Eigen::Vector2d a(points[k]["east_m"], points[k]["north_m"]),
              b(q["east_m"], q["north_m"]);
          const Eigen::Vector2d d = (b - a).normalized(), v = p - a;
          CHECK(d.x() * v.y() - d.y() * v.x() >= 4 - 1e-6);
        }
      }
      // Off the flood mark, by the distance drawn.
      for (const auto& limit : plan["limits"])
        if (limit["why"] == "hazard")
          CHECK((p - Eigen::Vector2d(limit["line"][0][0], limit["line"][0][1])).norm() >=
                limit["distance_m"].get<double>() - 1e-6);
    }
    // The eye, the bed, the foot and the head of the glazing; higher up there is no less sun.
    REQUIRE(house["light"].size() == 4);
    const auto light = [&](int i) {
      return house["light"][static_cast<std::size_t>(i)]["winter_direct_sun_h_a_day"]["value"]
          .get<double>();
    };
    CHECK(light(3) >= light(2) - 1e-9);
    CHECK(light(0) >= light(1) - 1e-9);
  }
}

TEST_CASE("Pegs: grid coordinates by PROJ, distances and bearings by GeographicLib [property]") {
  const auto rows = csv(packed().in + "plan/pegs.csv");
  REQUIRE(rows.size() == 13);
  std::map<std::string, std::size_t> column;
  for (std::size_t i = 0; i < rows[0].size(); ++i) column[rows[0][i]] = i;
  const json& frame = packed().plan["frame"];
  std::string points;
  for (std::size_t i = 1; i < rows.size(); ++i)
    points += rows[i][column["longitude_deg"]] + " " + rows[i][column["latitude_deg"]] + "\n";
  std::ofstream(packed().folder / "points.txt") << points;
  std::istringstream grid(output_of("gdaltransform -s_srs OGC:CRS84 -t_srs EPSG:25832 < " +
                                    (packed().folder / "points.txt")));
  for (std::size_t i = 1; i < rows.size(); ++i) {
    CAPTURE(rows[i][0]);
    double e = 0, n = 0, z = 0;
    REQUIRE(bool(grid >> e >> n >> z));
    CHECK(std::abs(e - std::stod(rows[i][column["easting_m"]])) < 0.002);
    CHECK(std::abs(n - std::stod(rows[i][column["northing_m"]])) < 0.002);
    const std::string line = output_of(
        "/usr/bin/python3 -c \"from geographiclib.geodesic import Geodesic as G; "
        "r = G.WGS84.Inverse(" +
        frame["latitude_deg"].dump() + ", " + frame["longitude_deg"].dump() + ", " +
        rows[i][column["latitude_deg"]] + ", " + rows[i][column["longitude_deg"]] +
        "); print(r['s12'], r['azi1'] % 360)\"");
    if (line.find("No module") != std::string::npos) {
      MESSAGE("not run: apt-get install python3-geographiclib");
      return;
    }
    std::istringstream in(line);
    double far = 0, azimuth = 0;
    REQUIRE(bool(in >> far >> azimuth));
    CHECK(std::abs(far - std::stod(rows[i][column["distance_m"]])) < 0.002);
    CHECK(std::abs(horizon::wrap_180(azimuth - std::stod(rows[i][column["bearing_true_deg"]]))) <
          0.01);
    // As the compass will show it: true less declination less what it reads too little.
    const double compass = std::stod(rows[i][column["bearing_true_deg"]]) -
                           frame["declination_deg"].get<double>() -
                           frame["compass_reads_low_deg"].get<double>();
    CHECK(std::abs(horizon::wrap_180(compass - std::stod(rows[i][column["bearing_compass_deg"]]))) <
          0.01);
  }
}

TEST_CASE("DXF: ezdxf and GDAL read layers, metres, blocks and the pegs' places [property]") {
  const std::string path = packed().in + "plan/site_plan.dxf";
  const std::string gdal = output_of("ogrinfo -al -so " + path);
  CHECK(gdal.find("Layer name: entities") != std::string::npos);
  const std::string layers = output_of(
      "ogrinfo -q " + path + " -dialect SQLite -sql \"SELECT DISTINCT Layer FROM entities\"");
  for (const char* layer : {"STATION", "PEG", "BOUNDARY", "SETBACK", "SERVICE", "ACCESS", "CONTOUR",
                            "HOUSE", "NORTH", "SHADOW_12"})
    CHECK_MESSAGE(layers.find(std::string("= ") + layer) != std::string::npos, layer);
  const std::string said = output_of("/usr/bin/python3 " + kHere + "read_dxf.py " + path);
  if (said.find("No module") != std::string::npos) {
    MESSAGE("not run: apt-get install python3-ezdxf");
    return;
  }
  const auto dxf = json::parse(said);
  CHECK(dxf["version"] == "AC1015");
  CHECK(dxf["units"] == 6);  // metres
  CHECK_MESSAGE(dxf["errors"].empty(), dxf["errors"].dump());
  std::map<std::string, std::vector<Eigen::Vector2d>> inserted;
  for (const auto& each : dxf["inserts"])
    inserted[each[0]].emplace_back(each[2].get<double>(), each[3].get<double>());
  CHECK(inserted["STATION"].size() == 3);
  REQUIRE(inserted["PEG"].size() == 12);
  std::size_t next = 0;
  for (const auto& house : packed().plan["houses"])
    for (const auto& peg : house["pegs"]) {
      const auto& at = inserted["PEG"][next++];
      CHECK(std::abs(at.x() - peg["at"]["east_m"].get<double>()) < 0.001);
      CHECK(std::abs(at.y() - peg["at"]["north_m"].get<double>()) < 0.001);
    }
  bool named = false;
  for (const auto& text : dxf["texts"]) named = named || text[1] == "telephone cable";
  CHECK(named);
}

TEST_CASE("IFC4: two readers find place, true north and an obstacle's corner [property]") {
  if (!has_npm()) {
    MESSAGE("not run: npm ci in tests/ first");
    return;
  }
  const std::string said =
      output_of("node " + kHere + "read_ifc.mjs " + packed().in + "plan/site.ifc");
  CAPTURE(said.substr(0, 400));
  const auto ifc = json::parse(said);
  const json& plan = packed().plan;
  const json& frame = plan["frame"];
  CHECK(ifc["schema"] == "IFC4");
  const auto degrees_of = [](const json& c) {
    return c[0].get<double>() + c[1].get<double>() / 60 + c[2].get<double>() / 3600 +
           c[3].get<double>() / 3.6e9;
  };
  CHECK(std::abs(degrees_of(ifc["site"]["latitude"]) - frame["latitude_deg"].get<double>()) < 1e-8);
  CHECK(std::abs(degrees_of(ifc["site"]["longitude"]) - frame["longitude_deg"].get<double>()) <
        1e-8);
  CHECK(ifc["north"] == json({0, 1}));
  CHECK(ifc["crs"] == "EPSG:25832");
  const auto& c = ifc["conversion"];
  CHECK(std::abs(c["Eastings"].get<double>() - frame["grid"]["easting_m"].get<double>()) < 0.001);
  CHECK(std::abs(c["Northings"].get<double>() - frame["grid"]["northing_m"].get<double>()) < 0.001);
  CHECK(std::abs(c["OrthogonalHeight"].get<double>() - frame["height_m"].get<double>()) < 0.001);
  // IfcMapConversion carries each peg to where PROJ puts it.
  for (const auto& house : plan["houses"])
    for (const auto& peg : house["pegs"]) {
      const double x = peg["at"]["east_m"], y = peg["at"]["north_m"], a = c["XAxisAbscissa"],
                   o = c["XAxisOrdinate"], s = c["Scale"];
      CHECK(std::abs(c["Eastings"].get<double>() + s * (a * x - o * y) -
                     peg["easting_m"].get<double>()) < 0.002);
      CHECK(std::abs(c["Northings"].get<double>() + s * (o * x + a * y) -
                     peg["northing_m"].get<double>()) < 0.002);
    }
  const auto& second = ifc["second"];
  CHECK(second["geo"]["crs"][0] == "EPSG:25832");
  CHECK(std::abs(second["geo"]["conversion"][2].get<double>() -
                 frame["grid"]["easting_m"].get<double>()) < 0.001);
  int compared = 0;
  for (const auto& thing : plan["obstacles"]) {
    if (thing["placing"] == "direction") continue;
    for (const auto& element : ifc["elements"]) {
      if (element["name"] != thing["label"]) continue;
      ++compared;
      const auto& top = thing["tops"][0];
      CHECK(std::abs(element["first"][0].get<double>() - top["east_m"].get<double>()) < 0.001);
      CHECK(std::abs(element["first"][1].get<double>() - top["north_m"].get<double>()) < 0.001);
      CHECK(std::abs(element["first"][2].get<double>() - top["up_m"].get<double>()) < 0.001);
      bool has_height = false;
      for (const auto& set : ifc["sets"])
        if (set["of"][0] == element["id"] && set["values"].contains("Height"))
          has_height = std::abs(set["values"]["Height"].get<double>() -
                                thing["height_m"].get<double>()) < 0.006;
      CHECK(has_height);
    }
  }
  CHECK(compared >= 3);
  std::set<std::string> types, seconds;
  for (const auto& element : ifc["elements"])
    types.insert(element["type"].is_null() ? "" : element["type"].get<std::string>());
  for (const char* type : {"Terrain", "Skyline", "Building"})
    CHECK_MESSAGE(types.contains(type), type);
  for (const auto& name : second["elements"]) seconds.insert(name.get<std::string>());
  for (const auto& element : ifc["elements"])
    CHECK(seconds.contains(element["name"].get<std::string>()));
  CHECK(ifc["houses"] == 3);
}

TEST_CASE("GeoTIFF: GDAL finds each cell of the sun map where the plot has it [property]") {
  const std::string path = packed().in + "plan/sun_map.tif";
  const auto heights = survey::read_terrain(path);  // hours are no heights: a package may come back
  REQUIRE_FALSE(heights);
  CHECK(heights.error().key == "error.grid_not_heights");
  const auto info = json::parse(output_of("gdalinfo -json " + path));
  const json map = json::parse(
      output_of(ADRET_CLI " ground " + (packed().folder / "site.gpkg") + " --json"))["plot"]["map"];
  CHECK(info["size"][0] == map["columns"]);
  CHECK(info["size"][1] == map["rows"]);
  CHECK(info["coordinateSystem"]["wkt"].get<std::string>().find("UTM zone 32N") !=
        std::string::npos);
  const json& grid = packed().plan["frame"]["grid"];
  const double turn = grid["convergence_deg"].get<double>() * horizon::kDegree,
               scale = grid["scale"].get<double>();
  std::string points;
  std::vector<double> hours;
  for (const auto& [column, row] :
       {std::pair(2, 3), {7, 11}, {20, 5}, {30, 20}, {12, 30}, {25, 14}}) {
    const auto& value = map["winter_direct_sun_h_a_day"]
                           [static_cast<std::size_t>(row * map["columns"].get<int>() + column)];
    if (value.is_null()) continue;
    const double e = map["west_m"].get<double>() + column * map["step_m"].get<double>(),
                 n = map["south_m"].get<double>() + row * map["step_m"].get<double>();
    char line[96];
    std::snprintf(
        line, sizeof line, "%.4f %.4f\n",
        grid["easting_m"].get<double>() + scale * (std::cos(turn) * e - std::sin(turn) * n),
        grid["northing_m"].get<double>() + scale * (std::sin(turn) * e + std::cos(turn) * n));
    points += line;
    hours.push_back(value.get<double>());
  }
  REQUIRE(hours.size() >= 4);
  std::ofstream(packed().folder / "cells.txt") << points;
  std::istringstream found(output_of("gdallocationinfo -geoloc -valonly " + path + " < " +
                                     (packed().folder / "cells.txt")));
  for (const double expected : hours) {
    double value = 0;
    REQUIRE(bool(found >> value));
    CHECK(std::abs(value - expected) < 0.006);  // printed to 0.01 h
  }
}

TEST_CASE("SVG and PDF: ten metres on the plan are ten metres by its scale [property]") {
  // The glazed side of each house is 10 m, the other 5 m.
  const auto sides = [](const std::vector<Eigen::Vector2d>& p, double unit_mm, int scale) {
    const double l = 10000.0 / scale, d = 5000.0 / scale;
    return p.size() >= 4 && std::abs((p[0] - p[1]).norm() * unit_mm - l) < 0.1 &&
           std::abs((p[1] - p[2]).norm() * unit_mm - d) < 0.1 &&
           std::abs((p[2] - p[3]).norm() * unit_mm - l) < 0.1;
  };
  const auto outlines = [&](const std::string& text, const std::regex& path, const std::regex& pair,
                            double unit_mm, int scale) {
    int count = 0;
    for (std::sregex_iterator it(text.begin(), text.end(), path), end; it != end; ++it) {
      const std::string data = (*it)[1];
      std::vector<Eigen::Vector2d> points;
      for (std::sregex_iterator p(data.begin(), data.end(), pair), last; p != last; ++p)
        points.emplace_back(std::stod((*p)[1]), std::stod((*p)[2]));
      if (sides(points, unit_mm, scale)) ++count;
    }
    return count;
  };
  const auto scale_in = [](const std::string& text) {
    std::smatch found;
    REQUIRE(std::regex_search(text, found, std::regex("1:(\\d+)")));
    return std::stoi(found[1]);
  };
  const std::string svg = bytes_of(packed().in + "plan/site_plan.svg");
  CHECK(output_of("xmllint --noout " + packed().in + "plan/site_plan.svg").empty());
  CHECK(svg.find("width=\"297.") != std::string::npos);
  CHECK(svg.find("viewBox=\"0 0 297.") != std::string::npos);
  for (const char* layer : {"stations", "houses", "lines", "obstacles", "contours", "shadows"})
    CHECK_MESSAGE(svg.find(std::string("<g id=\"") + layer + "\">") != std::string::npos, layer);
  CHECK(outlines(svg, std::regex("d=\"(M[^\"]*)\""), std::regex("[ML]([-\\d.]+) ([-\\d.]+)"), 1,
                 scale_in(svg)) >= 3);
  const std::string text = output_of("pdftotext -f 2 -l 2 " + packed().done.report_path + " -");
  const std::string page =
      output_of("pdftocairo -svg -f 2 -l 2 " + packed().done.report_path + " -");
  CHECK(outlines(page, std::regex("d=\"(M[^\"]*)\""), std::regex("[ML] ([-\\d.]+) ([-\\d.]+)"),
                 25.4 / 72, scale_in(text)) >= 3);
}

TEST_CASE("GeoPackage: styles for its layers are there as map programs keep them [property]") {
  const std::string path = packed().in + "site.gpkg";
  const std::string found =
      output_of("ogrinfo -q " + path +
                " -sql \"SELECT f_table_name, useAsDefault, length(styleSLD) FROM layer_styles\"");
  for (const char* table : {"station", "soil_pit", "hazard", "path", "photo"})
    CHECK_MESSAGE(found.find(std::string("= ") + table) != std::string::npos, table);
  CHECK(output_of("ogrinfo -ro -q " + path).find("station") != std::string::npos);
  // Opened again it is a site file as before: not rewritten, no copy beside it.
  const Folder folder("again");
  fs::copy_file(path, folder / "again.gpkg");
  {
    auto book = survey::FieldBook::open(folder / "again.gpkg");
    REQUIRE(book);
    CHECK(book->all<survey::Station>()->size() == 3);
    REQUIRE(book->close());
  }
  CHECK(std::distance(fs::directory_iterator(folder.path), fs::directory_iterator()) == 1);
}

TEST_CASE("Photographs lie in the package once, and are found again when imported [property]") {
  const std::string list = output_of("unzip -l " + packed().done.package_path);
  CHECK(list.find("photos/001-south-from-b.png") != std::string::npos);
  const std::string count = output_of("ogrinfo -q " + packed().in +
                                      "site.gpkg -sql \"SELECT count(*) AS n FROM photo_data\"");
  CHECK(count.find("n (Integer) = 0") != std::string::npos);
  const Folder folder("photos");
  fs::copy_file(packed().in + "site.gpkg", folder / "site.gpkg");
  const std::string brought = output_of(ADRET_CLI " import " + (folder / "site.gpkg") + " " +
                                        packed().in + "photos/001-south-from-b.png");
  CAPTURE(brought);
  auto book = survey::FieldBook::open(folder / "site.gpkg");
  REQUIRE(book);
  const auto photos = book->all<survey::Photo>();
  REQUIRE(photos);
  CHECK(photos->size() == 2);
  bool found = false;
  for (const auto& photo : *photos) found = found || book->photo_bytes(photo.id).has_value();
  CHECK(found);
}

TEST_CASE(
    "check finds a package's pictures beside its site file, and misses them elsewhere [property]") {
  const auto doubts = [](const std::string& path) {
    auto book = survey::FieldBook::open(path);
    REQUIRE(book);
    const auto items = survey::check_site(*book);
    REQUIRE(items);
    int about_pictures = 0;
    for (const auto& item : *items) {
      CHECK_MESSAGE(item.weight != survey::Weight::damage, item.where);
      about_pictures += item.what.key == "error.pictures_apart";
    }
    return about_pictures;
  };
  CHECK(doubts(packed().in + "site.gpkg") == 0);
  const Folder folder("alone");
  fs::copy_file(packed().in + "site.gpkg", folder / "site.gpkg");
  CHECK(doubts(folder / "site.gpkg") == 1);
}

TEST_CASE(
    "A programme of sites tells the station and the figures that the report leads with [property]") {
  const json* best = nullptr;
  for (const auto& station : packed().site["stations"])
    if (!best || station["light"]["winter"]["direct_sun_h_a_day"]["value"] >
                     (*best)["light"]["winter"]["direct_sun_h_a_day"]["value"])
      best = &station;
  REQUIRE(best);
  auto book = survey::FieldBook::open(packed().folder / "site.gpkg");
  REQUIRE(book);
  ProgrammeOptions options;
  options.draws = 20;  // as this package's
  const auto state = programme_state(*book, options);
  REQUIRE(state);
  const auto& row = state->site;
  CHECK(row.station == (*best)["name"]);
  const auto same = [](const survey::Figure& told, const json& range, const char* low,
                       const char* high, double step) {
    CHECK(std::abs(*told.value - range["value"].get<double>()) <= step);
    CHECK(std::abs(*told.low - range[low].get<double>()) <= step);
    CHECK(std::abs(*told.high - range[high].get<double>()) <= step);
  };
  same(row.winter_sun_h, (*best)["light"]["winter"]["direct_sun_h_a_day"], "low_5_percent",
       "high_95_percent", 0.001);
  same(row.shortest_day_h, (*best)["light"]["shortest_day"]["direct_sun_h"], "low_5_percent",
       "high_95_percent", 0.001);
  same(row.coldest_inside_c, (*best)["house"]["coldest_inside_c"], "low", "high", 0.011);
}

TEST_CASE("The plan tells hours no surer than they were measured [property]") {
  const json& site = packed().site;
  const json& plan = packed().plan;
  const auto width = [](const json& r) { return r["high"].get<double>() - r["low"].get<double>(); };
  REQUIRE(plan["stations"].size() == site["stations"].size());
  double widest = 0;
  for (std::size_t s = 0; s < plan["stations"].size(); ++s) {
    const json& measured = site["stations"][s]["light"]["winter"]["direct_sun_h_a_day"];
    const json& eye = plan["stations"][s]["light"][0]["winter_direct_sun_h_a_day"];
    REQUIRE(plan["stations"][s]["light"][0]["where"] == "eye");
    const auto same = [&](const char* planned, const char* found) {
      CHECK(eye[planned].get<double>() ==
            doctest::Approx(measured[found].get<double>()).epsilon(0.001));
    };
    same("value", "value");
    same("low", "low_5_percent");
    same("high", "high_95_percent");
    widest = std::max(widest, width(eye));
  }
  // A few metres aside the skyline is known no better than where it was aimed at.
  for (const auto& house : plan["houses"])
    CHECK(width(house["winter_direct_sun_h_a_day"]) > 0.3 * widest);
  // Options of one plan are apart by more than their own length.
  for (std::size_t a = 0; a < plan["houses"].size(); ++a)
    for (std::size_t b = a + 1; b < plan["houses"].size(); ++b)
      CHECK(plan["houses"][a]["pegs"] != plan["houses"][b]["pegs"]);
}

TEST_CASE("One switch leaves every person out of all files [property]") {
  const Folder folder("nobody");
  auto book = larkholm::book(folder / "site.gpkg", {.photos = 0});
  fill_plan(book);
  auto options = options_for(folder / "out");
  options.draws = 0;
  options.people = false;
  const Handover done = made(book, options);
  for (const auto& file : done.files) {
    if (file.name == "report.pdf") continue;
    CAPTURE(file.name);
    const std::string bytes = bytes_of(done.unpacked_path + "/" + file.name);
    CHECK(bytes.find("Commune of Larkholm") == std::string::npos);
    CHECK(bytes.find("0000 102") == std::string::npos);
    CHECK(bytes.find("LK, JB") == std::string::npos);
  }
  const std::string text = output_of("pdftotext " + done.report_path + " -");
  CHECK(text.find("Commune of Larkholm") == std::string::npos);
  CHECK(text.find("LK, JB") == std::string::npos);
  // With it, the report says who, and that this is personal.
  const std::string with = output_of("pdftotext " + packed().done.report_path + " -");
  CHECK(with.find("Commune of Larkholm") != std::string::npos);
  CHECK(with.find("+00 0000 102") != std::string::npos);
  CHECK(with.find("Personal data") != std::string::npos);
}

TEST_CASE("Twenty questions of a designer who was never there are answered [property]") {
  const json& site = packed().site;
  const json& plan = packed().plan;
  const std::string text =
      plain(output_of("pdftotext -layout " + packed().done.report_path + " -"));
  const auto says = [&](const char* words) { return text.find(words) != std::string::npos; };
  const auto unknown = [&](const char* what) {
    for (const auto& each : plan["not_known"])
      if (each["what"] == what) return says("Not known");
    return false;
  };
  const auto line = [&](const char* kind) {
    for (const auto& each : plan["lines"])
      if (each["kind"] == kind) return true;
    return false;
  };
  bool sure = true, shadow_at_noon = false, whose = unknown("owner");
  for (const auto& thing : plan["obstacles"]) {
    sure = sure && (thing["placing"] == "direction" ||
                    (thing.contains("height_sigma_m") && thing.contains("ellipse_major_m")));
    whose = whose || !thing["note"].get<std::string>().empty();
  }
  for (const auto& shadow : plan["shadows"])
    shadow_at_noon = shadow_at_noon || shadow["hour"] == 12;
  for (const auto& sun : plan["suns"])
    shadow_at_noon = shadow_at_noon || (sun["hour"] == 12 && sun["behind_skyline"]);
  const auto& findings = site["ground"]["findings"];
  const std::pair<std::string, bool> questions[] = {
      {"1 Where is true north?", says("N true") && says("needle") && says("grid")},
      {"2 Which grid, by its code?", says("EPSG:25832")},
      {"3 What do levels count from?", says("levels from the ground at station B")},
      {"4 How does the ground fall?", !plan["contours"].empty() || unknown("contours")},
      {"5 Where may I build?", (line("boundary") && line("setback")) || unknown("boundary")},
      {"6 Where are cables and pipes?", line("service") || unknown("services")},
      {"7 Where does the way run?", line("access") || unknown("access")},
      {"8 Where is water, also in winter?", says("Runs all winter")},
      {"9 How high and far is each thing, how sure?", sure && !plan["obstacles"].empty()},
      {"10 Whose trees are they?", whose},
      {"11 How much sun at the bed?", says("at the bed")},
      {"12 And at the glazing's foot and head?",
       says("at the glazing's foot") && says("at its head")},
      {"13 Where is the barn's shadow at noon?", shadow_at_noon},
      {"14 Which way to face, how steep?", says("Which way to face")},
      {"15 Where do I put the pegs?",
       says("Pegs of 1") && fs::exists(packed().in + "plan/pegs.csv")},
      {"16 How wrong is the compass?",
       !plan["frame"]["compass_sigma_deg"].is_null() || unknown("compass")},
      {"17 What is the soil, where the water?", !site["ground"]["pits"].empty()},
      {"18 How deep is the frost, how heavy the snow?",
       says("Frost") || !findings["missing"].empty()},
      {"19 What may hurt?", says("icy until noon") && says("flood mark")},
      {"20 Whom do I call?", says("Commune of Larkholm") || says("Nobody was written down")},
  };
  for (const auto& [question, answered] : questions) CHECK_MESSAGE(answered, question);
}
