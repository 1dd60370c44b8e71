// The site verbs of the command line from end to end: new, import, export, merge, check.
#include <doctest/doctest.h>

#include <algorithm>
#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <nlohmann/json.hpp>
#include <random>
#include <sstream>
#include <string>
#include <vector>

#include "survey/book/sql.h"
#include "survey/book/table.h"
#include "tests/shell.h"
#include "tests/survey/alter_file.h"

namespace {

namespace fs = std::filesystem;

class Desk {  // a folder of its own, and the program run inside it
 public:
  explicit Desk(const std::string& name)
      : program_(fs::absolute(ADRET_CLI)),
        folder_(fs::temp_directory_path() /
                ("adret-" + name + std::to_string(std::random_device{}()))) {
    fs::remove_all(folder_);
    fs::create_directories(folder_);
  }
  ~Desk() { fs::remove_all(folder_); }

  // A minute at most; then, as after a signal, the exit code is above 3.
  Shell run(const std::string& arguments) const {
    return shell("cd " + folder_.string() + " && timeout 60 " + program_.string() + " " +
                 arguments + " 2>&1");
  }
  void well(const std::string& arguments) const {
    const Shell result = run(arguments);
    INFO(arguments << "\n" << result.words);
    REQUIRE(result.exit_code == 0);
  }
  void write(const std::string& name, const std::string& bytes) const {
    std::ofstream(folder_ / name, std::ios::binary) << bytes;
  }
  std::string read(const std::string& name) const {
    std::ifstream in(folder_ / name, std::ios::binary);
    return {std::istreambuf_iterator<char>(in), {}};
  }
  std::vector<std::string> rows(const std::string& name) const {
    std::istringstream in(read(name));
    std::vector<std::string> out;
    for (std::string row; std::getline(in, row);) out.push_back(row);
    std::sort(out.begin(), out.end());
    return out;
  }
  std::vector<std::string> names() const {
    std::vector<std::string> out;
    for (const auto& entry : fs::directory_iterator(folder_))
      out.push_back(entry.path().filename());
    std::sort(out.begin(), out.end());
    return out;
  }
  void keep_only(const std::vector<std::string>& wanted) const {
    for (const std::string& name : names())
      if (std::find(wanted.begin(), wanted.end(), name) == wanted.end()) remove(name);
  }
  const fs::path& folder() const { return folder_; }
  void remove(const std::string& name) const { fs::remove_all(folder_ / name); }
  // What somebody else may have done to a file before sending it; false where the file forbids it.
  bool plant(const std::string& name, const std::string& sql) const {
    return alter_file(folder_ / name, sql);
  }
  void begin(const std::string& name) const {
    well("new " + name +
         " --name Larkholm --station B --lat 46.6213 --lon 10.3478 --height-m 1482");
  }

 private:
  fs::path program_, folder_;
};

constexpr const char* kHead = "azimuth_true_deg,elevation_deg,kind,label\n";

}  // namespace

TEST_CASE("[property] export then import gives the same sightings, a device's own north too") {
  const Desk desk("round");
  desk.begin("a.gpkg");
  desk.write(
      "marks.csv",
      "bearing_deg,reference,elevation_deg,kind,label,distance_m,layer,edge,instrument,back,group,"
      "note\n"
      "10,true,12,ridge,East ridge,,0,line,,,,\n"
      "95.5,magnetic,14.25,building,Barn roof,38,0,line,compass 2,yes,b1,\"gusty, twice\nread\"\n"
      "200,grid,9,evergreen,\"Spruces, north\",55,0,line,theodolite,no,,\n"
      "300,device,11,ridge,West ridge,,1,line,phone,,,\n");
  desk.well("import a.gpkg marks.csv --station B");
  desk.well("export a.gpkg out.csv");
  desk.begin("b.gpkg");
  desk.well("import b.gpkg out.csv --station B");
  desk.well("export b.gpkg again.csv");
  CHECK(desk.rows("out.csv") == desk.rows("again.csv"));
  REQUIRE(desk.rows("again.csv").size() == 6);  // a note over two lines
  CHECK(desk.read("again.csv").find("300,device,11") != std::string::npos);
  CHECK(desk.read("again.csv").find(",compass 2,yes,b1,\"gusty, twice\nread\"") !=
        std::string::npos);
}

TEST_CASE("[property] bearings of unsaid north are taken, and said to be taken, as asked") {
  const Desk desk("north");
  desk.begin("a.gpkg");
  desk.write("marks.csv", "bearing,elevation\n10,5\n");
  const auto said = desk.run("import a.gpkg marks.csv --station B --reference magnetic");
  CHECK(said.words.find("taken as magnetic") != std::string::npos);
  desk.well("export a.gpkg out.csv");
  CHECK(desk.read("out.csv").find("10,magnetic,5") != std::string::npos);
}

TEST_CASE("[property] text in every field stays text: nothing in it is carried out") {
  const Desk desk("hostile");
  desk.begin("a.gpkg");
  const std::string labels[] = {"\"Robert'); DROP TABLE sighting;--\"", "../../outside",
                                "=cmd|' /C calc'!A0", "<script>alert(1)</script>", "שלום مرحبا"};
  std::string csv = kHead;
  int azimuth = 0;
  for (const auto& label : labels)
    csv += std::to_string(azimuth += 40) + ",9,ridge," + label + "\n";
  desk.write("marks.csv", csv);
  desk.well("import a.gpkg marks.csv --station B");
  desk.well("export a.gpkg out.csv");
  const std::string out = desk.read("out.csv");
  for (const auto& label : labels) {
    CAPTURE(label);
    CHECK(out.find(label) != std::string::npos);
  }
  CHECK(desk.run("check a.gpkg --json").words.find("damage") == std::string::npos);
}

TEST_CASE(
    "[property] a hostile or damaged file is refused with its place and cure, and changes "
    "nothing") {
  const Desk desk("refused");
  desk.begin("a.gpkg");
  desk.write("before.csv", std::string(kHead) + "10,9,ridge,East\n");
  desk.well("import a.gpkg before.csv --station B");
  desk.well("export a.gpkg one.csv");
  desk.write("deep.geojson", std::string(200000, '['));
  desk.write("huge.csv", "azimuth_true_deg,elevation_deg\n1e999,5\n");
  desk.write("far.gpx",
             "<?xml version=\"1.0\"?><gpx version=\"1.1\"><wpt lat=\"999\" lon=\"1\"/></gpx>");
  desk.write("cut.jpg", std::string("\xff\xd8\xff\xe0", 4) + std::string(50, '\0'));
  desk.write("not.gpkg", "SQLite format 3");
  for (const char* file :
       {"deep.geojson", "huge.csv", "far.gpx", "cut.jpg", "not.gpkg", "none.csv"}) {
    CAPTURE(file);
    const Shell result = desk.run(std::string("import a.gpkg ") + file + " --station B");
    CAPTURE(result.words);
    CHECK((result.exit_code == 1 || result.exit_code == 2));
    CHECK(result.words.find(file) != std::string::npos);
  }
  desk.well("export a.gpkg two.csv");
  CHECK(desk.rows("one.csv") == desk.rows("two.csv"));
  const auto names = desk.names();
  CHECK(std::none_of(names.begin(), names.end(),
                     [](const std::string& n) { return n.find("-wal") != std::string::npos; }));
}

TEST_CASE("[property] two copies edited apart are merged without loss, either way round") {
  const Desk desk("merge");
  desk.begin("a.gpkg");
  desk.well("export a.gpkg b.gpkg");
  desk.write("a.csv", std::string(kHead) + "45,11,ridge,East\n");
  desk.write("b.csv", std::string(kHead) + "135,12,ridge,South\n");
  desk.well("import a.gpkg a.csv --station B");
  desk.well("import b.gpkg b.csv --station B");
  desk.well("merge a.gpkg b.gpkg --out ab.gpkg");
  desk.well("merge b.gpkg a.gpkg --out ba.gpkg");
  desk.well("export ab.gpkg ab.csv");
  desk.well("export ba.gpkg ba.csv");
  CHECK(desk.rows("ab.csv") == desk.rows("ba.csv"));
  CHECK(desk.rows("ab.csv").size() == 3);
  const Shell over = desk.run("merge a.gpkg b.gpkg --out a.gpkg");
  CHECK(over.exit_code == 2);
  CHECK(desk.rows("a.csv").size() == 2);
}

TEST_CASE("[property] a height typed beside a grid position is the one kept") {
  const Desk desk("at");
  desk.well("new a.gpkg --name Larkholm --station B --at \"32N 603300 5164000\" --height-m 1820");
  desk.well("light a.gpkg --year 2027 --draws 0 --json > light.json");
  const auto json = nlohmann::json::parse(desk.read("light.json"));
  const auto& station = json.contains("stations") ? json["stations"][0] : json;
  CHECK(station["place"]["height_m"].get<double>() == doctest::Approx(1820).epsilon(0.002));
}

TEST_CASE("[property] check tells what is still to do, and what is damaged") {
  const Desk desk("check");
  desk.begin("a.gpkg");
  desk.write("marks.csv", std::string(kHead) + "10,9,ridge,East\n");
  desk.well("import a.gpkg marks.csv --station B");
  const Shell sound = desk.run("check a.gpkg --json");
  CHECK(sound.exit_code == 0);
  const auto json = nlohmann::json::parse(sound.words);
  bool open = false;
  for (const auto& item : json["items"]) {
    open = open || item["message"].get<std::string>().find("nobody aimed") != std::string::npos;
    CHECK(item["message"].get<std::string>().size() > 10);
  }
  CHECK(open);
  std::string bytes = desk.read("a.gpkg");
  bytes.resize(bytes.size() / 3);
  desk.write("cut.gpkg", bytes);
  const Shell cut = desk.run("check cut.gpkg");
  CHECK(cut.exit_code != 0);
  CHECK(cut.words.find("cut.gpkg") != std::string::npos);
  CHECK(desk.read("cut.gpkg") == bytes);  // looked at, not touched
}

namespace {

// Every verb that a received file can be given to; `bad.gpkg` is that file, `a.gpkg` one's own.
const std::string kVerbs[] = {
    "check bad.gpkg",
    "check bad.gpkg --json",
    "light bad.gpkg --year 2026 --draws 0",
    "import a.gpkg bad.gpkg",
    "merge a.gpkg bad.gpkg --out m.gpkg",
    "merge bad.gpkg a.gpkg --out m.gpkg",
    "export bad.gpkg out.csv",
    "export bad.gpkg out.geojson",
    "export bad.gpkg out.gpx",
    "handover bad.gpkg --out pack --draws 0",
};

// A picture of one pixel; "photo.png" in the desk's folder.
const std::string kPixel(
    "\x89PNG\r\n\x1a\n\0\0\0\rIHDR\0\0\0\1\0\0\0\1\x08\0\0\0\0\x3a\x7e\x9b\x55"
    "\0\0\0\nIDATx\xda"
    "c`\0\0\0\2\0\1\xe5\x27\xde\xfc\0\0\0\0IEND\xae\x42\x60\x82",
    67);

void begin_full(const Desk& desk) {
  desk.begin("a.gpkg");
  desk.write("marks.csv",
             std::string(kHead) + "10,9,ridge,East\n120,15,building,Barn\n240,12,ridge,West\n");
  desk.write("photo.png", kPixel);
  desk.well("import a.gpkg marks.csv photo.png --station B");
}

}  // namespace

TEST_CASE("[property] code planted in a received file never runs and is never taken over") {
  const Desk desk("planted");
  begin_full(desk);
  const auto own = desk.read("a.gpkg");
  const std::string plants[] = {
      "CREATE TRIGGER t AFTER INSERT ON sighting BEGIN DELETE FROM site; END",
      "CREATE VIEW v AS SELECT * FROM site",
      "CREATE VIEW v AS WITH RECURSIVE n(i) AS (SELECT 1 UNION ALL SELECT i+1 FROM n) SELECT i "
      "FROM n",
      "ALTER TABLE note RENAME TO n2; CREATE VIEW note AS WITH RECURSIVE n(i) AS (SELECT 1 UNION "
      "ALL SELECT i+1 FROM n) SELECT i AS fid FROM n",
      "CREATE VIRTUAL TABLE r USING rtree(id, a, b)",
  };
  for (const std::string& plant : plants) {
    desk.write("bad.gpkg", own);
    REQUIRE(desk.plant("bad.gpkg", plant));
    const auto planted = desk.read("bad.gpkg");
    for (const std::string& verb : kVerbs) {
      CAPTURE(plant);
      CAPTURE(verb);
      const auto names = desk.names();
      const Shell result = desk.run(verb);
      CAPTURE(result.words);
      CHECK(result.exit_code >= 0);  // an answer, not a crash
      CHECK(result.exit_code <= 2);
      CHECK(desk.read("bad.gpkg") == planted);
      // Whatever was made of it holds rows only.
      for (const std::string& name : desk.names())
        if (name.ends_with(".gpkg") && name != "bad.gpkg") {
          const std::string made = desk.read(name);
          for (const char* code :
               {"CREATE TRIGGER t ", "CREATE VIEW v ", "CREATE VIEW note ", "TABLE r USING"})
            CHECK(made.find(code) == std::string::npos);
        }
      desk.keep_only(names);
    }
    desk.well("check a.gpkg");
  }
}

TEST_CASE("[property] whatever every column of a received file holds, each verb answers") {
  const Desk desk("anything");
  begin_full(desk);
  const auto own = desk.read("a.gpkg");
  const auto outside = [&] {
    std::vector<std::string> out;
    for (const auto& entry : fs::directory_iterator(desk.folder().parent_path()))
      if (entry.path().filename().string().find("adret-outside") != std::string::npos)
        out.push_back(entry.path());
    return out;
  };
  // ADRET_LONG: all. Every column one by one: hostile_file_test.cpp.
  std::vector<const char*> values = {"'x''); DROP TABLE site;--'", "'../adret-outside'", "9e999",
                                     "printf('%.*c', 1000000, 'a')"};
  if (std::getenv("ADRET_LONG"))
    values.insert(values.end(), {"x'00ff'", "-1e308", "NULL", "9223372036854775807", "'nan'"});
  for (const char* value : values) {
    // As many columns at once as the file's own rules let through.
    desk.write("bad.gpkg", own);
    int taken = 0;
    for (const survey::Table* table : survey::all_tables())
      for (const survey::Column& column : table->columns)
        if (column.name != "id" && !column.name.ends_with("_id"))
          taken += desk.plant("bad.gpkg", "UPDATE " + survey::sql_name(table->name) + " SET " +
                                              survey::sql_name(column.name) + "=" + value);
    CHECK(taken > 100);
    const auto planted = desk.read("bad.gpkg");
    for (const std::string& verb : kVerbs) {
      CAPTURE(value);
      CAPTURE(verb);
      desk.write("a.gpkg", own);
      const Shell result = desk.run(verb);
      CAPTURE(result.words.substr(0, 2000));
      CHECK((result.exit_code >= 0 && result.exit_code <= 3));  // no signal, no time out
      if (result.exit_code != 0) CHECK(result.words.size() > 20);
      CHECK(desk.read("bad.gpkg") == planted);
      CHECK(outside().empty());
      desk.remove("m.gpkg");
      desk.remove("pack");
    }
  }
}

TEST_CASE("[property] imports that would grow or nest without end are refused with words") {
  const Desk desk("bombs");
  begin_full(desk);
  const auto before = desk.run("export a.gpkg one.geojson");
  std::string deep = "{\"type\":\"GeometryCollection\",\"geometries\":[";
  std::string nested;
  for (int i = 0; i < 50000; ++i) nested += deep;
  desk.write("deep.geojson", nested);
  desk.write("keys.geojson", "{\"a\":" + std::string(100000, '[') + std::string(100000, ']') + "}");
  std::string entities = "<!DOCTYPE gpx [<!ENTITY a \"aaaaaaaaaa\">";
  for (char c = 'b'; c < 'l'; ++c) {
    const std::string last(1, static_cast<char>(c - 1));
    entities += "<!ENTITY " + std::string(1, c) + " \"";
    for (int i = 0; i < 10; ++i) entities += "&" + last + ";";
    entities += "\">";
  }
  desk.write("entities.gpx",
             entities + "]><gpx><wpt lat=\"91\" lon=\"1\"><name>&k;</name></wpt></gpx>");
  std::string huge = kPixel;
  for (int i = 16; i < 24; ++i) huge[i] = '\x7f';  // width and height of two thousand millions
  desk.write("huge.png", huge);
  desk.write("pack.zip", std::string("PK\3\4", 4) + std::string(2000, '\0'));
  for (const char* file :
       {"deep.geojson", "keys.geojson", "entities.gpx", "huge.png", "pack.zip"}) {
    const Shell result = desk.run(std::string("import a.gpkg ") + file);
    CAPTURE(file);
    CAPTURE(result.words);
    CHECK((result.exit_code == 1 || result.exit_code == 2));
    CHECK(result.words.find(file) != std::string::npos);
  }
  desk.well("export a.gpkg two.geojson");
  CHECK(before.exit_code == 0);
  CHECK(desk.read("one.geojson") == desk.read("two.geojson"));
}

TEST_CASE(
    "absurd values: every option of every verb refuses what is empty, endless or no number "
    "[property]") {
  const Desk desk("absurd");
  desk.write("m.csv", "bearing_true_deg,elevation_deg\n90,12\n120,14\n180,16\n240,14\n270,9\n");
  std::string grid =
      "ncols 40\nnrows 40\nxllcorner 10.33\nyllcorner 46.60\ncellsize 0.001\nNODATA_value -9999\n";
  for (int i = 0; i < 1600; ++i) grid += std::to_string(1480 + i % 37) + "\n";
  desk.write("v.asc", grid);
  desk.well("new s.gpkg --lat 46.62 --lon 10.35 --height-m 1482");
  desk.well("import s.gpkg m.csv");
  const std::string place = " --lat 46.62 --lon 10.35";
  const std::vector<std::pair<std::string, std::string>> verbs = {
      {"declination", place + " --date 2026-11-26"},
      {"light", place + " --marks m.csv --draws 0 --year 2027"},
      {"new", " n.gpkg" + place},
      {"import", " s.gpkg m.csv"},
      {"sun", place + " --utc 2026-12-21T11:00:00Z"},
      {"moon", place + " --utc 2026-12-21T20:00:00Z"},
      {"terrain", place + " --grid v.asc"}};
  int tried = 0;
  for (const auto& [verb, given] : verbs) {
    desk.well(verb + given);  // so that what follows is refused for the value alone
    std::istringstream help(desk.run(verb + " --help").words);
    for (std::string line; std::getline(help, line);) {
      const std::size_t at = line.find("--");
      const bool number = line.find(" FLOAT") != std::string::npos;
      if (at == std::string::npos || at > 12 ||
          (!number && line.find(" TEXT") == std::string::npos))
        continue;
      const std::string option = line.substr(at, line.find_first_of(" ,", at) - at);
      // The option's own value in place of the one given.
      std::string rest = given;
      if (const std::size_t there = rest.find(option + " "); there != std::string::npos) {
        const std::size_t end = rest.find(' ', there + option.size() + 1);
        rest = rest.substr(0, there) + (end == std::string::npos ? "" : rest.substr(end));
      }
      for (const char* value : {"''", "nan", "inf", "1e300", "-1e300", "abc"}) {
        if (!number && std::string(value) != "''") continue;
        std::string many;
        for (int i = line.find("x 12") == std::string::npos ? 1 : 12; i > 0; --i)
          many += " " + std::string(value);
        std::error_code none;
        fs::remove(desk.folder() / "n.gpkg", none);
        const Shell answer = desk.run(verb + rest + " " + option + many);
        INFO(verb << " " << option << " " << value << "\n" << answer.words);
        CHECK(answer.exit_code == 2);
        CHECK(!fs::exists(desk.folder() / "n.gpkg"));
        ++tried;
      }
    }
  }
  CHECK(tried > 80);
}

TEST_CASE(
    "a new site without an offset takes its clock from the longitude and says so [property]") {
  const Desk desk("clock");
  const Shell answer = desk.run("new s.gpkg --lat 30.1 --lon 78.5");
  CHECK(answer.exit_code == 0);
  CHECK(answer.words.find("UTC+5 h (from the longitude") != std::string::npos);
  CHECK(desk.run("new t.gpkg --lat 30.1 --lon 78.5 --utc-offset-h 5.5").words.find("UTC+5.5 h") !=
        std::string::npos);
  CHECK(desk.run("new u.gpkg --lat 30.1 --lon 78.5 --utc-offset-h 99").exit_code == 2);
}

TEST_CASE("[property] contacts and diary days that cannot be are imported, said and not used") {
  const Desk desk("bad-contacts");
  desk.begin("a.gpkg");
  // Night; the moon down; the new moon of 18 January 2026; the future; two a second apart.
  desk.write("c.csv",
             "time_utc,body,light,limb\n2026-01-10T23:00:00Z,sun,went,edge\n"
             "2026-01-10T12:00:00Z,moon,went,edge\n2026-01-18T13:00:00Z,moon,went,edge\n"
             "2080-01-10T12:00:00Z,sun,went,edge\n2026-01-12T12:00:00Z,sun,went,edge\n"
             "2026-01-12T12:00:01Z,sun,came,edge\n");
  desk.well("import a.gpkg c.csv");
  desk.write("d.csv",
             "date;came;went;sky\n2081-01-10;9:41;15:02;clear\n2026-01-20;15:02;9:41;clear\n");
  (void)desk.run("import a.gpkg d.csv");
  const Shell said = desk.run("contacts a.gpkg --from 2026-01-21");
  INFO(said.words);
  CHECK(said.exit_code == 0);
  CHECK(said.words.find(", 0 used") != std::string::npos);
  for (const char* words : {"the sun was below", "the moon was below", "the moon was new",
                            "lies in the future", "come and go within seconds"})
    CHECK_MESSAGE(said.words.find(words) != std::string::npos, words);
  // All of them are in the file.
  const Shell table = desk.run("export a.gpkg out.csv");
  CHECK(table.exit_code == 0);
  CHECK(desk.read("out.csv").find("2026-01-12T12:00:01") != std::string::npos);
  CHECK(desk.read("out.csv").find("2080-01-10") != std::string::npos);
}

TEST_CASE(
    "[property] where the sun does not set, or does not rise, contacts are taken or refused") {
  const Desk desk("polar-contacts");
  desk.well("new p.gpkg --name North --station B --lat 78.2 --lon 15.6 --height-m 30");
  // Svalbard's latitude: midnight sun on 21 June, polar night on 21 December. [common practice]
  desk.write("c.csv",
             "time_utc,body,light,limb\n2025-06-21T23:00:00Z,sun,went,edge\n"
             "2025-12-21T11:00:00Z,sun,went,edge\n");
  desk.well("import p.gpkg c.csv");
  const Shell summer = desk.run("contacts p.gpkg --from 2026-06-20");
  INFO(summer.words);
  CHECK(summer.exit_code == 0);
  CHECK(summer.words.find("2 contacts, 1 used") != std::string::npos);
  CHECK(summer.words.find("the sun was below") != std::string::npos);
  const Shell winter = desk.run("contacts p.gpkg --from 2026-12-20 --json");
  CHECK(winter.exit_code == 0);
  CHECK(winter.words.find("\"next_sun\": null") != std::string::npos);
}
