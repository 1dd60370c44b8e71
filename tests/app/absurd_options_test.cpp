// Every option of every verb, as the program's own help lists them, with absurd entries: nothing
// crashes, nothing is silent, no number is taken that cannot be, and no site holds one afterwards.
#include <doctest/doctest.h>

#include <filesystem>
#include <fstream>
#include <map>
#include <random>
#include <regex>
#include <set>
#include <sstream>
#include <string>
#include <vector>

#include "tests/out_of_range.h"
#include "tests/shell.h"

namespace {

namespace fs = std::filesystem;

struct Option {
  std::string name, kind;  // "--lat", "FLOAT"
  int values = 1;
};

// "  --lat FLOAT Excludes: --at ...", "  -o,--out TEXT REQUIRED", "  --sunshine FLOAT x 12"
std::vector<Option> options_of(const std::string& help) {
  std::vector<Option> all;
  static const std::regex line(R"(^ +(?:-\w,)?(--[a-z-]+) (TEXT|FLOAT|INT)\S*(.*)$)");
  std::istringstream in(help);
  for (std::string text; std::getline(in, text);) {
    std::smatch found;
    if (!std::regex_match(text, found, line)) continue;
    all.push_back({found[1], found[2], 1});
    std::smatch times;
    const std::string rest = found[3];
    if (std::regex_search(rest, times, std::regex(R"( x (\d+))")))
      all.back().values = std::stoi(times[1]);
  }
  return all;
}

std::vector<std::string> verbs_of(const std::string& help) {
  std::vector<std::string> all;
  static const std::regex line(R"(^  ([a-z]+) .*$)");
  std::istringstream in(help.substr(help.find("Subcommands:")));
  for (std::string text; std::getline(in, text);) {
    std::smatch found;
    if (std::regex_match(text, found, line)) all.push_back(found[1]);
  }
  return all;
}

struct Desk {
  fs::path folder =
      fs::temp_directory_path() / ("adret-absurd-" + std::to_string(std::random_device{}()));
  std::string program = fs::absolute(ADRET_CLI).string();
  Desk() {
    fs::create_directories(folder);
    std::ofstream marks(folder / "m.csv");
    marks << "azimuth_true_deg,elevation_deg,kind,label\n";
    for (int az = 90; az < 280; az += 10) marks << az << "," << 10 + az % 7 << ",ridge,Rough\n";
    std::ofstream grid(folder / "g.asc");
    grid << "ncols 40\nnrows 40\nxllcorner 600000\nyllcorner 5160000\ncellsize 50\n";
    for (int row = 0; row < 40; ++row) {
      for (int col = 0; col < 40; ++col) grid << 1000 + std::abs(col - 20) * 20 + row << " ";
      grid << "\n";
    }
  }
  ~Desk() { fs::remove_all(folder); }
  Shell run(const std::string& words) const {
    return shell("cd '" + folder.string() + "' && timeout 120 " + program + " " + words + " 2>&1");
  }
};

constexpr const char* kPlace = "--lat=46.6 --lon=10.3 --height-m=1482";
// What makes each verb answer; an option that is tried takes the place of its own here.
const std::map<std::string, std::string> kPlain = {
    {"compare", "p.gpkg"},
    {"contact", "PLACE --utc=2027-01-14T09:41:07Z"},
    {"contacts", "s.gpkg --from=2027-01-14"},
    {"declination", "PLACE --date=2026-12-21"},
    {"gather", "s.gpkg --into=p.gpkg --draws=20 --winters=10"},
    {"ground", "s.gpkg --no-map"},
    {"light", "s.gpkg --draws=0"},
    {"moon", "PLACE --utc=2028-06-08T00:30:00Z"},
    {"new", "n.gpkg PLACE"},
    {"import", "s.gpkg m.csv"},
    {"export", "s.gpkg o.csv"},
    {"merge", "s.gpkg s2.gpkg --out=z.gpkg"},
    {"check", "s.gpkg"},
    {"handover", "s.gpkg --out=ho --draws=0"},
    {"photo", "x.png --bearing-deg=180 --tilt-deg=5 --view-deg=60"},
    {"sun", "PLACE --utc=2026-12-21T09:41:00Z"},
    {"terrain", "PLACE --grid=g.asc --system=EPSG:32632"},
    {"valley", "g.asc"}};

std::string words_of(const std::string& verb, const Option& option, const std::string& value) {
  std::istringstream plain(std::regex_replace(kPlain.at(verb), std::regex("PLACE"), kPlace));
  std::string words = verb;
  for (std::string word; plain >> word;) {
    if (word.starts_with(option.name + "=")) continue;
    if (option.name == "--at" && (word.starts_with("--lat") || word.starts_with("--lon"))) continue;
    if (verb == "declination" && word.starts_with("--date") && option.name != "--lat" &&
        (option.name == "--utc" || option.name == "--decimal-year"))
      continue;
    words += " " + word;
  }
  if (verb == "light" && (option.name == "--house-set" || option.name == "--winters"))
    words += " --house";
  words += " '" + option.name + "=" + value + "'";
  for (int i = 1; i < option.values; ++i) words += " '" + value + "'";
  return words;
}

}  // namespace

TEST_CASE("[property] every option of every verb refuses what cannot be, with words") {
  const Desk desk;
  REQUIRE(desk.run("new s.gpkg --name=L --station=B " + std::string(kPlace)).exit_code == 0);
  REQUIRE(desk.run("import s.gpkg m.csv").exit_code == 0);
  fs::copy_file(desk.folder / "s.gpkg", desk.folder / "s2.gpkg");
  REQUIRE(desk.run("gather s.gpkg --into=p.gpkg --draws=20 --winters=10").exit_code == 0);
  int tried = 0;
  const bool all = std::getenv("ADRET_LONG") != nullptr;
  for (const std::string& verb : verbs_of(desk.run("--help").words)) {
    INFO("a verb without a plain call in this test: " << verb);
    REQUIRE(kPlain.contains(verb));
    const auto options = options_of(desk.run(verb + " --help").words);
    CHECK(!options.empty());
    for (const Option& option : options) {
      const bool number = option.kind != "TEXT";
      std::vector<std::string> values{"1e9", ""};
      if (number || all) values.insert(values.end(), {"-1e9", "nan", "1820 m"});
      for (const std::string& value : values) {
        for (const char* made : {"n.gpkg", "z.gpkg"}) fs::remove(desk.folder / made);
        const std::string words = words_of(verb, option, value);
        const Shell result = desk.run(words);
        INFO(words << "\n" << result.words.substr(0, 400));
        ++tried;
        CHECK(result.exit_code <= 2);
        CHECK(result.words.size() > 10);
        if (number || value.empty()) CHECK(result.exit_code == 2);
        if (fs::exists(desk.folder / "n.gpkg"))
          CHECK(out_of_range((desk.folder / "n.gpkg").string()).empty());
      }
    }
  }
  MESSAGE(tried << " calls");
  CHECK(tried > 300);
  for (const auto& wrong : out_of_range((desk.folder / "s.gpkg").string())) FAIL_CHECK(wrong);
}
