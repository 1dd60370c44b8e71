// The command line as people and scripts call it: exit codes, messages, JSON keys.
#include <doctest/doctest.h>
#include <unistd.h>

#include <cmath>
#include <cstdio>
#include <filesystem>
#include <fstream>
#include <nlohmann/json.hpp>
#include <random>
#include <string>

#include "tests/shell.h"

namespace {

struct Run {
  int exit_code = -1;
  std::string out, err;
};

std::string new_name() {
  static int count = 0;
  return (std::filesystem::temp_directory_path() /
          ("adret_cli_test_" + std::to_string(std::random_device{}()) + "_" +
           std::to_string(count++)))
      .string();
}

Run run(const std::string& arguments) {
  const std::string err_file = new_name();
  const Shell answer = shell(std::string(ADRET_CLI) + " " + arguments + " 2>" + err_file);
  Run result;
  result.out = answer.words;
  result.exit_code = answer.exit_code;
  std::ifstream err(err_file);
  result.err.assign(std::istreambuf_iterator<char>(err), {});
  std::remove(err_file.c_str());
  return result;
}

std::string file_with(const std::string& text) {
  const std::string name = new_name() + ".csv";
  std::ofstream(name, std::ios::binary) << text;
  return name;
}

constexpr const char* kPlace = "light --lat 46.5 --lon 7.9 --height-m 0 --year 2026 ";

std::string marks_all_round(double elevation) {
  std::string text = "azimuth_true_deg,elevation_deg\n";
  for (int az = 0; az < 360; az += 10)
    text += std::to_string(az) + "," + std::to_string(elevation) + "\n";
  return text;
}

}  // namespace

TEST_CASE("[property] a flat skyline gives the flat hours, in the documented keys") {
  const std::string marks = file_with(marks_all_round(0));
  const Run light = run(kPlace + ("--json --marks " + marks));
  REQUIRE(light.exit_code == 0);
  const auto json = nlohmann::json::parse(light.out);
  REQUIRE(json["days"].size() == 365);
  CHECK(json["open_stretches"].empty());
  for (const auto& day : json["days"])
    CHECK(std::abs(day["direct_sun_h"].get<double>() - day["flat_sun_h"].get<double>()) < 1e-6);
  CHECK(json["days"][0]["date"] == "2026-01-01");
  CHECK(json["days"][0]["windows_utc"].size() == 1);
  CHECK(json["months"].size() == 12);
  std::remove(marks.c_str());
}

// FAO-56 (Allen et al. 1998) annex 2, table 2.7, 50 N, 15 June and 15 December: 16.1 and 7.9 h,
// geometric; half a degree of refraction at both ends of the day adds 0.15 h at this latitude.
TEST_CASE("[published] hours on a flat horizon are those of the daylight table") {
  const std::string marks = file_with(marks_all_round(0));
  const auto json = nlohmann::json::parse(
      run("light --lat 50 --lon 7.9 --height-m 0 --year 2026 --json --marks " + marks).out);
  CHECK(std::abs(json["days"][165]["flat_sun_h"].get<double>() - 16.25) < 0.15);
  CHECK(std::abs(json["days"][348]["flat_sun_h"].get<double>() - 8.05) < 0.15);
  std::remove(marks.c_str());
}

TEST_CASE(
    "[common practice] a valley's sides take far more of the winter sun than of the summer's") {
  const std::string marks = file_with(marks_all_round(18));
  const auto json = nlohmann::json::parse(run(kPlace + ("--json --marks " + marks)).out);
  const double december = json["months"][11]["share"], june = json["months"][5]["share"];
  CHECK(december < 0.5);
  CHECK(june > 0.7);
  std::remove(marks.c_str());
}

TEST_CASE("[property] bad rows are all named, the good ones are used, and the exit code says so") {
  const std::string marks = file_with(marks_all_round(5) + "nan,3\n400,3\n20,95\n");
  const Run light = run(kPlace + ("--json --marks " + marks));
  CHECK(light.exit_code == 2);
  CHECK(nlohmann::json::parse(light.out)["marks"] == 36);
  for (const char* line : {"line 38", "line 39", "line 40"})
    CHECK_MESSAGE(light.err.find(marks + ": " + line) != std::string::npos, light.err);
  std::remove(marks.c_str());
}

TEST_CASE("[property] what cannot be used ends with 2 and names the file or option and the cure") {
  const std::string empty = file_with(""), binary = file_with(std::string("\x7F"
                                                                          "ELF\0\1",
                                                                          6));
  for (const std::string& arguments :
       {kPlace + ("--marks " + empty), kPlace + ("--marks " + binary),
        kPlace + std::string("--marks /nowhere/at/all.csv"),
        std::string("light --lat 95 --lon 7.9 --year 2026 --marks x"),
        std::string("light --lat 46 --lon 7.9 --year 1800 --marks x"), std::string("light"),
        std::string("nonsense"), std::string("sun --lat nan --lon 7 --utc 2026-01-01"),
        std::string("sun --lat 46 --lon 7 --utc yesterday")}) {
    const Run bad = run(arguments);
    CHECK_MESSAGE(bad.exit_code == 2, arguments);
    CHECK_MESSAGE(!bad.err.empty(), arguments);
  }
  std::remove(empty.c_str());
  std::remove(binary.c_str());
}

TEST_CASE(
    "[property] magnetic bearings need a declination: of the model, or entered where it ends") {
  const std::string marks = file_with("bearing_magnetic_deg,elevation_deg\n0,5\n120,10\n240,5\n");
  const std::string place = "light --lat 46.5 --lon 7.9 --json --marks " + marks;
  const auto modelled = nlohmann::json::parse(run(place + " --year 2026").out);
  CHECK(std::abs(modelled["declination_deg"].get<double>() - 3.45) <
        0.2);  // WMM2025, reference sites
  const Run outside = run(place + " --year 2040");
  CHECK(outside.exit_code == 2);
  CHECK(outside.err.find("--declination-deg") != std::string::npos);
  CHECK(run(place + " --year 2040 --declination-deg 5").exit_code == 0);
  std::remove(marks.c_str());
}

// Reda & Andreas, NREL/TP-560-34302 (rev. 2008), table A5.1.
TEST_CASE("[published] the command line prints the worked example's sun") {
  const std::string golden =
      "sun --lat 39.742476 --lon -105.1786 --height-m 1830.14 --utc 2003-10-17T19:30:30Z ";
  const Run result = run(golden + "--pressure-hpa 820 --temperature-c 11 --json");
  REQUIRE(result.exit_code == 0);
  const auto sun = nlohmann::json::parse(result.out);
  CHECK(std::abs(sun["azimuth_true_deg"].get<double>() - 194.340241) < 0.0005);
  CHECK(std::abs(sun["elevation_deg"].get<double>() - 39.872046) < 0.0005);
  CHECK(std::abs(sun["elevation_refracted_deg"].get<double>() - 39.888378) < 0.0005);
  CHECK(sun["sunrise_utc"].size() == 1);
  const Run text = run(golden);
  CHECK(text.exit_code == 0);
  CHECK(text.out.find("Never look at the sun") != std::string::npos);
  for (const char* wrong : {"--pressure-hpa 5000", "--temperature-c nan", "--utc-offset-h 40"}) {
    const Run refused = run(golden + wrong);
    CHECK(refused.exit_code == 2);
    CHECK(refused.out.empty());
    CHECK_FALSE(refused.err.empty());
  }
  CHECK(run("sun --lat 46 --lon 7 --utc 2150-01-01").exit_code == 2);
}

// 46 36' 36" is 46.61 and 10 18' 36" is 10.31. The middle of UTM zone 32 is 9 E, at 500 000 m
// (NGA.STND.0037).
TEST_CASE("[published] a place can be given in any notation, and must be given") {
  const auto azimuth = [](const std::string& place) {
    const Run seen = run("sun --utc 2026-12-21T11:30:00Z --json " + place);
    CHECK_MESSAGE(seen.exit_code == 0, seen.err);
    return nlohmann::json::parse(seen.out)["azimuth_true_deg"].get<double>();
  };
  const double decimal = azimuth("--lat 46.61 --lon 10.31");
  for (const char* same :
       {"--lat '46 36 36 N' --lon \"10°18'36\\\"E\"", "--lat N46:36:36 --lon 10,31",
        "--at '46.61, 10.31'", "--at \"10°18.6'E 46°36.6'N\""})
    CHECK(azimuth(same) == decimal);
  CHECK(azimuth("--lat 46.61S --lon 10.31W") == azimuth("--lat -46.61 --lon -10.31"));
  const Run utm = run("sun --utc 2026-12-21T11:30:00Z --json --at '32N 500000 5163000'");
  CHECK(std::abs(nlohmann::json::parse(utm.out)["longitude_deg"].get<double>() - 9) < 1e-9);
  for (const char* bad : {"", "--lat 46.61", "--lat 46.61E --lon 10.31", "--lat -46N --lon 1",
                          "--at 'over there'", "--at '46, 10' --lat 46 --lon 10"})
    CHECK_MESSAGE(run(std::string("sun --utc 2026-12-21T11:30:00Z ") + bad).exit_code == 2, bad);
}

// UTM convergence at 46.5 N 7.9 E by GeographicLib 2.1.2 and PROJ 9.1.1: -0.7979587068 degree, and
// on the grid of EPSG:25832, the same projection on ETRS89, the same to far less than a bearing.
TEST_CASE("[published] grid bearings need their grid: named, or its convergence typed") {
  const std::string marks = file_with("bearing_grid_deg,elevation_deg\n0,5\n120,10\n240,5\n");
  const std::string light = kPlace + ("--json --draws 0 --marks " + marks);
  CHECK(run(light).exit_code == 2);
  const auto winter = [&](const std::string& option) {
    const Run seen = run(light + option);
    REQUIRE(seen.exit_code == 0);
    return nlohmann::json::parse(seen.out)["findings"]["winter"]["direct_sun_h"]["value"]
        .get<double>();
  };
  const double typed = winter(" --convergence-deg -0.7979587068");
  CHECK(std::abs(winter(" --grid utm") - typed) < 1e-6);
  CHECK(std::abs(winter(" --grid EPSG:25832") - typed) < 1e-3);
  CHECK(std::abs(winter(" --convergence-deg 2") - typed) > 0.01);
  CHECK(run(light + " --grid EPSG:1").exit_code == 2);
  CHECK(run(light + " --grid utm --convergence-deg 1").exit_code == 2);
  std::remove(marks.c_str());
}

TEST_CASE(
    "[property] light --house answers by normals, and says what to bring where there are none") {
  const std::string marks = file_with(marks_all_round(8));
  const std::string place =
      "light --lat 46.5 --lon 7.9 --height-m 1400 --year 2027 --draws 0 --marks " + marks +
      " --house --winters 12 ";
  const std::string normals =
      "--mean-c -9 -7 -2 4 9 13 15 14 10 4 -3 -8 "
      "--sunshine .6 .6 .6 .6 .6 .6 .6 .6 .6 .6 .6 .6 ";
  const Run nothing = run(place);
  CHECK(nothing.exit_code == 2);
  CHECK(nothing.err.find("not without weather: bring") != std::string::npos);

  const Run as_is = run(place + normals + "--json");
  REQUIRE_MESSAGE(as_is.exit_code == 0, as_is.err);
  const auto house = nlohmann::json::parse(as_is.out)["house"];
  CHECK(house["winters"] == 12);
  CHECK(house["weather"] == "monthly normals");
  CHECK(house["coldest_week"]["inside_c"].size() == 168);
  CHECK(house["days"]["inside_c"].size() == 365);
  CHECK(house["crops"].size() == 10);
  CHECK(!house["corrected_or_assumed"].empty());
  const double low = house["coldest_inside_c"]["value"];
  CHECK(low > house["outside_low_c"]["value"].get<double>());

  const Run covered = run(place + normals + "--json --house-set night_cover_m2kw=1");
  REQUIRE(covered.exit_code == 0);
  CHECK(nlohmann::json::parse(covered.out)["house"]["coldest_inside_c"]["value"] > low + 1);

  const Run words = run(place + normals);
  CHECK(words.out.find("Spinach stands here in") != std::string::npos);
  for (const char* bad : {"night_cover_m2kw=warm", "wall_m2kw=-1", "glazing_m2=0", "chimney=1",
                          "water_l", "glazing_m2=90"}) {
    const Run refused = run(place + normals + "--house-set " + bad);
    CHECK_MESSAGE(refused.exit_code == 2, bad);
    CHECK_MESSAGE(!refused.err.empty(), bad);
  }
  std::remove(marks.c_str());
}

TEST_CASE("[property] a house of unknown height has its weather's own cold, and says so") {
  // A year of one temperature, as EnergyPlus writes it, measured at 1400 m.
  std::string epw =
      "LOCATION,Larkholm,-,XXX,made,000000,46.5,7.9,1.0,1400.0\n"
      "DESIGN CONDITIONS,0\nTYPICAL/EXTREME PERIODS,0\nGROUND TEMPERATURES,0\n"
      "HOLIDAYS/DAYLIGHT SAVINGS,No,0,0,0\nCOMMENTS 1,-\nCOMMENTS 2,-\n"
      "DATA PERIODS,1,1,Data,Sunday, 1/ 1,12/31\n";
  constexpr int kDays[] = {31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31};
  for (int m = 0; m < 12; ++m)
    for (int d = 1; d <= kDays[m]; ++d)
      for (int h = 1; h <= 24; ++h)
        epw += "2001," + std::to_string(m + 1) + "," + std::to_string(d) + "," + std::to_string(h) +
               ",0,?,-6.0,-10.0,70,85600,0,0,220," + (h >= 11 && h <= 15 ? "250,0,250" : "0,0,0") +
               ",0,0,0,0,180,2.0,5,5,20.0,77777,9,999999999,5,0.05,0,88,0.2,0,0\n";
  const std::string marks = file_with(marks_all_round(8)), weather = file_with(epw);
  const std::string place = "light --lat 46.5 --lon 7.9 --year 2027 --draws 0 --marks " + marks +
                            " --weather " + weather + " --house --json";
  const auto outside = [&](const std::string& height) {
    const Run done = run(place + height);
    REQUIRE_MESSAGE(done.exit_code == 0, done.err);
    return nlohmann::json::parse(done.out)["house"];
  };
  const auto unknown = outside(""), same = outside(" --height-m 1400"),
             higher = outside(" --height-m 2400");
  CHECK(unknown["outside_low_c"] == same["outside_low_c"]);
  CHECK(unknown["coldest_inside_c"] == same["coldest_inside_c"]);
  // 6.5 K a kilometre: the standard atmosphere (ISO 2533).
  CHECK(higher["outside_low_c"]["value"].get<double>() ==
        doctest::Approx(unknown["outside_low_c"]["value"].get<double>() - 6.5).epsilon(0.01));
  CHECK(unknown["corrected_or_assumed"].dump().find("error.house_height_unknown") !=
        std::string::npos);
  CHECK(same["corrected_or_assumed"].dump().find("error.house_height_unknown") ==
        std::string::npos);
  std::remove(marks.c_str());
  std::remove(weather.c_str());
}
