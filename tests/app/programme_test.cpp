// A programme of many sites: gathered from many hands into a GeoPackage and into PostGIS.
#include "survey/exchange/programme.h"

#include <doctest/doctest.h>

#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <nlohmann/json.hpp>

#include "app/handover/programme_rank.h"
#include "app/handover/programme_site.h"
#include "survey/exchange/programme_copy.h"
#include "tests/app/many_sites.h"

namespace {

namespace fs = std::filesystem;
using Json = nlohmann::json;
using many::make_site;
using many::Server;

const std::string kGather = std::string(ADRET_CLI) + " gather --draws 20 --winters 10 ";

Json gather(const std::string& arguments, int exit_code = 0) {
  const Shell done = shell(kGather + arguments + " --json 2>/dev/null");
  REQUIRE_MESSAGE(done.exit_code == exit_code, done.words);
  return Json::parse(done.words);
}

// Each site's newest state by its stamp.
std::map<std::string, std::string> stamps(const std::string& where) {
  std::map<std::string, std::string> out;
  for (const auto& state :
       must(must(survey::Programme::open(where, survey::Programme::Open::read)).sites(true)))
    out[state.site.site_id] = survey::stamp_of(state);
  return out;
}

// Four programs at once, the first of them killed on its way; then they run again until they end.
// Returns what the three that lived, and then the four, ended with.
std::string four_at_once(const std::string& arguments, double kill_after_s) {
  const std::string one = kGather + arguments + " --quiet >/dev/null 2>&1";
  char wait[24];
  std::snprintf(wait, sizeof wait, "%.2f", kill_after_s);
  return shell(
             "bash -c '" + std::string("( exec ") + kGather + arguments +
             " --quiet >/dev/null 2>&1 ) & k=$!; p=\"\"; for i in 2 3 4; do ( " + one +
             " ) & p=\"$p $!\"; done; sleep " + wait +
             "; kill -9 $k; for i in $p; do wait $i; echo -n $?; done; p=\"\"; for i in 1 2 3 4; do ( " +
             one + " ) & p=\"$p $!\"; done; for i in $p; do wait $i; echo -n $?; done' 2>/dev/null")
      .words;
}

int count() { return std::getenv("ADRET_LONG") ? 1000 : 12; }

}  // namespace

TEST_CASE(
    "[property] a programme: gathered twice nothing changes, one changed site is brought up alone") {
  const TempFolder sites, out;
  for (int i = 0; i < 3; ++i) make_site(sites, i);
  const std::string before = many::bytes_in(sites);
  const std::string into = out / "programme.gpkg", all = sites.path.string() + " --into " + into;
  Json done = gather(all);
  CHECK(done["added"] == 3);
  done = gather(all);
  CHECK(done["unchanged"] == 3);
  CHECK(many::bytes_in(sites) == before);
  auto known = stamps(into);
  {
    auto book = must(survey::FieldBook::open(sites / "Terrace 0001.gpkg"));
    auto note = many::form(1, 7, survey::Topic::wind, {{"prevailing_from", "NW"}});
    must(book.put(note));
    must(book.close());
  }
  done = gather(all);
  CHECK(done["unchanged"] == 2);
  CHECK(done["brought_up"] == 1);
  auto then = stamps(into);
  CHECK(then[many::id_of(0, 1)] == known[many::id_of(0, 1)]);
  CHECK(then[many::id_of(1, 1)] != known[many::id_of(1, 1)]);
  // Figures are those of `light` on the same file.
  const Json light = Json::parse(
      shell(std::string(ADRET_CLI) + " light '" + (sites / "Terrace 0002.gpkg") + "' --json")
          .words);
  const auto states =
      must(must(survey::Programme::open(into, survey::Programme::Open::read)).sites(true));
  const auto& site = states[2].site;
  CHECK(site.name == "Terrace 0002");
  CHECK(std::abs(*site.winter_sun_h.value -
                 light["stations"][0]["winter"]["direct_sun_h"].get<double>() / 120) < 0.05);
  CHECK(*site.winter_sun_h.low <= *site.winter_sun_h.high);
  CHECK(*site.gain_kwh_m2.low <= *site.gain_kwh_m2.high);
  CHECK(site.water_source == "spring");
  CHECK(site.access_way == "track");
  CHECK(states[2].crops.size() == std::size_t(*site.crops_asked));
  CHECK(!states[2].verdict.empty());
  CHECK(states[2].questions.size() == std::size_t(site.questions));
  // What was gathered in English is told in German too.
  const std::string german =
      shell(std::string(ADRET_CLI) + " compare " + into + " --lang de --report " + (out / "v.pdf") +
            " && pdftotext " + (out / "v.pdf") + " - | tr '\\n' ' '")
          .words;
  CHECK(german.find("Sonne am Tag im Winter") != std::string::npos);
  CHECK(german.find("eine Grube graben") != std::string::npos);
}

TEST_CASE("[property] bad sites are named with a reason and left out, all others are kept") {
  const TempFolder sites, out;
  make_site(sites, 1);
  std::ofstream(sites / "noise.gpkg") << "no database at all";
  std::ofstream(sites / "empty.gpkg");
  const Shell done = shell(kGather + sites.path.string() + " " + (sites / "gone.gpkg") +
                           " --into " + (out / "p.gpkg") + " 2>&1");
  CHECK(done.exit_code == 2);
  CHECK(done.words.find("1 new, 0 brought up to date, 0 unchanged, 3 left out") !=
        std::string::npos);
  for (const char* name : {"noise.gpkg: ", "empty.gpkg: ", "gone.gpkg: there is no such file"})
    CHECK_MESSAGE(done.words.find(name) != std::string::npos, done.words);
  CHECK(stamps(out / "p.gpkg").size() == 1);
  // A site file is no programme, and says so.
  const Shell wrong = shell(kGather + (sites / "noise.gpkg") + " --into '" +
                            (sites / "Terrace 0001.gpkg") + "' 2>&1");
  CHECK(wrong.exit_code == 2);
  CHECK(wrong.words.find("this is no programme of sites") != std::string::npos);
}

TEST_CASE(
    "[property] two copies edited apart are one site whichever comes first; a contradiction is asked about") {
  const TempFolder a, b, out;
  make_site(a, 5);
  fs::copy_file(a / "Terrace 0005.gpkg", b / "Terrace 0005.gpkg");
  const auto edit = [](const std::string& path, const survey::SiteNote& note, const char* name) {
    auto book = must(survey::FieldBook::open(path));
    must(book.put(note));
    if (*name) {
      auto station = must(book.all<survey::Station>()).front();
      station.note = name;
      must(book.put(station));
    }
    must(book.close());
  };
  edit(a / "Terrace 0005.gpkg", many::form(5, 7, survey::Topic::wind, {{"storm_from", "W"}}), "");
  edit(b / "Terrace 0005.gpkg",
       many::form(5, 8, survey::Topic::snow, {{"ground_snow_kn_m2", "3.5"}}), "");
  const std::string first = a / "'Terrace 0005.gpkg'", second = b / "'Terrace 0005.gpkg'";
  gather(first + " --into " + (out / "ab.gpkg"));
  CHECK(gather(second + " --into " + (out / "ab.gpkg"))["brought_up"] == 1);
  gather(second + " --into " + (out / "ba.gpkg"));
  gather(first + " --into " + (out / "ba.gpkg"));
  CHECK(stamps(out / "ab.gpkg") == stamps(out / "ba.gpkg"));
  const auto site = [&](const char* file) {
    return must(
               must(survey::Programme::open(out / file, survey::Programme::Open::read)).sites(true))
        .front();
  };
  CHECK(site("ab.gpkg").site.ground_snow_kn_m2 == 3.5);
  // Gathered again in any order: nothing new.
  CHECK(gather(first + " " + second + " --into " + (out / "ab.gpkg"))["unchanged"] == 2);
  // Both write another note to the station.
  edit(a / "Terrace 0005.gpkg", many::form(5, 9, survey::Topic::other, {}), "by the wall");
  edit(b / "Terrace 0005.gpkg", many::form(5, 9, survey::Topic::other, {}), "by the gate");
  gather(first + " --into " + (out / "ab.gpkg"));
  const Json done = gather(second + " --into " + (out / "ab.gpkg"));
  CHECK(done["sites"][0]["conflicts"] == 1);
  const auto asked = site("ab.gpkg");
  CHECK(asked.site.conflicts == 1);
  CHECK(asked.questions.back().about == "copies");
  CHECK(asked.questions.back().text.find("by the wall") != std::string::npos);
  CHECK(asked.questions.back().text.find("by the gate") != std::string::npos);
  // It stays asked while other things change, and ends with a merge that chooses.
  edit(a / "Terrace 0005.gpkg", many::form(5, 10, survey::Topic::frost, {{"snow_m", "0.4"}}), "");
  gather(first + " --into " + (out / "ab.gpkg"));
  CHECK(site("ab.gpkg").site.conflicts == 1);
  const Shell chosen = shell(std::string(ADRET_CLI) + " merge " + first + " " + second + " -o " +
                             (out / "chosen.gpkg") + " --take second 2>&1");
  REQUIRE_MESSAGE(chosen.exit_code == 0, chosen.words);
  gather((out / "chosen.gpkg") + " --into " + (out / "ab.gpkg"));
  CHECK(site("ab.gpkg").site.conflicts == 0);
}

TEST_CASE(
    "[property] names and telephones of people stay out of a programme, initials of who walked stay") {
  const TempFolder sites, out;
  make_site(sites, 2);
  {
    auto book = must(survey::FieldBook::open(sites / "Terrace 0002.gpkg"));
    survey::Person person;
    person.id = many::id_of(2, 20);
    person.name = "Somebody Unmistakable";
    person.telephone = "555 0199";
    must(book.put(person));
    auto site = must(book.site());
    site.for_whom = "Somebody Unmistakable";
    must(book.put(site));
    must(book.close());
  }
  gather(sites.path.string() + " --into " + (out / "p.gpkg"));
  auto programme = must(survey::Programme::open(out / "p.gpkg", survey::Programme::Open::read));
  const auto kept = must(programme.kept(many::id_of(2, 1)));
  REQUIRE(kept);
  const std::string rows = must(survey::unpacked(kept->packed));
  CHECK(rows.find("Unmistakable") == std::string::npos);
  std::ofstream(out / "kept.gpkg", std::ios::binary) << rows;
  auto book = must(survey::FieldBook::open(out / "kept.gpkg"));
  CHECK(must(book.all<survey::Visit>()).front().people == "AB");
  CHECK(must(programme.sites(false)).front().site.arrive_done > 0);
}

TEST_CASE(
    "[property] a GeoPackage of sites: four programs at once, one killed; each site once, as by one alone") {
  const TempFolder sites, out;
  for (int i = 0; i < 8; ++i) make_site(sites, i);
  const std::string before = many::bytes_in(sites);
  gather(sites.path.string() + " --into " + (out / "one.gpkg"));
  CHECK(four_at_once(sites.path.string() + " --into " + (out / "four.gpkg"), 1) == "0000000");
  CHECK(stamps(out / "four.gpkg") == stamps(out / "one.gpkg"));
  CHECK(stamps(out / "four.gpkg").size() == 8);
  CHECK(many::bytes_in(sites) == before);
  const std::string rows =
      shell("ogrinfo -q " + (out / "four.gpkg") +
            " -sql \"SELECT count(*) AS n, count(DISTINCT site_id) AS s FROM site\"")
          .words;
  CHECK(rows.find("n (Integer) = 8") != std::string::npos);
  CHECK(rows.find("s (Integer) = 8") != std::string::npos);
}

TEST_CASE(
    "[property] PostGIS: sites gathered twice by four programs at once, one killed; nothing lost, nothing twice") {
  const TempFolder sites, out;
  const int n = count();
  for (int i = 0; i < n; ++i) make_site(sites, i);
  const std::string before = many::bytes_in(sites);
  const Server server;
  const std::string arguments = sites.path.string() + " --into \"" + server.address().substr(1);
  const std::string into = arguments.substr(0, arguments.size() - 1) + "\"";
  const auto begin = std::chrono::steady_clock::now();
  CHECK(four_at_once(into, n > 100 ? 60 : 1.5) == "0000000");
  const double took_s =
      std::chrono::duration<double>(std::chrono::steady_clock::now() - begin).count();
  MESSAGE(n << " sites by four programs, twice: " << took_s << " s");
  const std::string all = std::to_string(n) + "|" + std::to_string(n) + "\n";
  CHECK(server.sql("SELECT count(*), count(DISTINCT site_id) FROM adret.site") == all);
  CHECK(server.sql("SELECT count(*), count(DISTINCT site_id) FROM adret.site_state") == all);
  CHECK(server.sql("SELECT count(*), count(DISTINCT state_no) FROM adret.kept_copy") == all);
  CHECK(server.sql("SELECT count(DISTINCT state_no) FROM adret.open_question") ==
        std::to_string(n) + "\n");
  CHECK(
      server.sql(
          "SELECT count(*) FROM adret.site WHERE ST_Distance(geom, "
          "ST_SetSRID(ST_MakePoint(longitude_deg, latitude_deg), 4326)) > 1e-12 OR geom IS NULL") ==
      "0\n");
  CHECK(many::bytes_in(sites) == before);
  // As one program alone makes them in a file.
  if (n <= 100) {
    gather(sites.path.string() + " --into " + (out / "one.gpkg"));
    std::string want;
    for (const auto& [id, stamp] : stamps(out / "one.gpkg")) want += id + "|" + stamp + "\n";
    CHECK(server.sql("SELECT site_id, stamp FROM adret.site ORDER BY site_id") == want);
  }
}

TEST_CASE("[property] PostGIS: who may add may not change or take away, who may look may not add") {
  const TempFolder sites;
  make_site(sites, 1);
  make_site(sites, 2);
  const Server server;
  gather("'" + (sites / "Terrace 0001.gpkg") + "' --into " + server.address());
  server.sql("CREATE ROLE ada LOGIN IN ROLE adret_gatherer");
  server.sql("CREATE ROLE ben LOGIN IN ROLE adret_reader");
  const Json done = gather(sites.path.string() + " --into " + server.address("ada"));
  CHECK(done["added"] == 1);
  CHECK(done["unchanged"] == 1);
  {
    auto book = must(survey::FieldBook::open(sites / "Terrace 0001.gpkg"));
    must(book.put(many::form(1, 7, survey::Topic::wind, {{"storm_from", "W"}})));
    must(book.close());
  }
  CHECK(gather(sites.path.string() + " --into " + server.address("ada"))["brought_up"] == 1);
  CHECK(server.sql("SELECT count(*) FROM adret.site") == "2\n");
  CHECK(server.sql("SELECT count(*) FROM adret.site_state") == "3\n");  // what was is still there
  CHECK(server.sql("SELECT gathered_by FROM adret.site WHERE name='Terrace 0001'") == "ada\n");
  for (const char* wrong : {"UPDATE adret.site_state SET name='x'", "DELETE FROM adret.site_state",
                            "DELETE FROM adret.thumbnail", "TRUNCATE adret.copy_seen",
                            "UPDATE adret.site SET name='x'", "DROP TABLE adret.kept_copy"}) {
    const Shell refused = server.ask(wrong, "ada");
    CHECK_MESSAGE(refused.exit_code != 0, wrong);
  }
  CHECK(server.ask("SELECT count(*) FROM adret.site", "ben").words == "2\n");
  CHECK(server.ask("SELECT count(*) FROM adret.kept_copy", "ben").exit_code != 0);
  const Shell reader =
      shell(kGather + sites.path.string() + " --again --into " + server.address("ben") + " 2>&1");
  CHECK(reader.exit_code == 1);
  CHECK(reader.words.find("adret_gatherer") != std::string::npos);
  // Constraints: a second first state, a state that follows another site's, a share above one.
  const std::string columns = server.sql(
      "SELECT string_agg(quote_ident(column_name), ',') FROM information_schema.columns "
      "WHERE table_name='site_state' AND column_name NOT IN ('state_no', 'follows')");
  const std::string same = columns.substr(0, columns.size() - 1);
  const auto quoted = [](std::string text) {  // within psql's own quotes
    for (std::size_t at = 0; (at = text.find('"', at)) != std::string::npos; at += 2)
      text.insert(at, "\\");
    return text;
  };
  const std::string list = quoted(same);
  for (const std::string& follows : {std::string("NULL::bigint"), std::string("1::bigint")}) {
    const Shell twice =
        server.ask("INSERT INTO adret.site_state (" + list + ", follows) SELECT " + list + ", " +
                   follows + " FROM adret.site WHERE name='Terrace 0002'");
    CHECK_MESSAGE(twice.exit_code != 0, follows);
  }
  CHECK(server.ask("UPDATE adret.site_state SET sighted_share=1.5").exit_code != 0);
  CHECK(server.ask("UPDATE adret.site_state SET winter_sun_h_per_day_low=20").exit_code != 0);
}

TEST_CASE("[property] a server that is not there is named, and nothing is lost") {
  const TempFolder sites;
  make_site(sites, 1);
  const Shell done = shell(kGather + sites.path.string() +
                           " --into 'postgresql://owner@/valley?host=/nonexistent' 2>&1");
  CHECK(done.exit_code == 1);
  CHECK(done.words.find("the server answers") != std::string::npos);
}

TEST_CASE(
    "[published] layer styles: the table is as map programs write it, and one opens site and programme drawn") {
  const TempFolder sites, out;
  const std::string site = make_site(sites, 3);
  gather("'" + site + "' --into " + (out / "p.gpkg"));
  {
    auto book = must(survey::FieldBook::open(site, survey::Access::read));
    must(book.export_to(out / "site.gpkg", {.styles = true}));
  }
  for (const char* file : {"p.gpkg", "site.gpkg"}) {
    INFO(file);
    // Columns as QGIS writes them (OGC's extension draft of the table `layer_styles`).
    const std::string table = shell("ogrinfo -so " + (out / file) + " layer_styles").words;
    for (const char* column :
         {"f_table_catalog", "f_table_schema", "f_table_name", "f_geometry_column", "styleName",
          "styleQML", "styleSLD", "useAsDefault", "description", "owner", "ui", "update_time"})
      CHECK_MESSAGE(table.find(std::string("\n") + column + ": ") != std::string::npos, column);
    // Each names a layer that is there with its geometry column, is the default, and is sound XML.
    const std::string wrong =
        shell(
            "ogrinfo -q " + (out / file) +
            " -sql \"SELECT count(*) AS wrong FROM layer_styles s LEFT JOIN gpkg_geometry_columns g ON "
            "g.table_name=s.f_table_name AND g.column_name=s.f_geometry_column WHERE g.table_name IS "
            "NULL OR useAsDefault<>1 OR f_table_catalog<>'' OR f_table_schema<>''\"")
            .words;
    CHECK(wrong.find("wrong (Integer) = 0") != std::string::npos);
    auto sql = survey::Database(out / file, "mode=ro");
    auto rows = sql.prepare("SELECT styleQML, styleSLD FROM layer_styles");
    int styles = 0;
    for (; rows.step(); ++styles)
      for (int column : {0, 1}) {
        std::ofstream(out / "style.xml") << rows.text(column);
        CHECK(shell("xmllint --noout --nonet " + (out / "style.xml") + " 2>&1").exit_code == 0);
      }
    CHECK(styles >= 2);
  }
  const std::string python =
      "/usr/bin/python3 " + std::string(ADRET_TEST_DATA) + "/../app/layer_styles.py ";
  if (shell("/usr/bin/python3 -c 'import qgis.core' 2>/dev/null").exit_code != 0) {
    // Half a gigabyte for one check: the long run asks for it, the daily one says that it was not made.
    if (std::getenv("ADRET_LONG")) FAIL("apt-get install python3-qgis");
    MESSAGE("not opened in a GIS: apt-get install python3-qgis");
    return;
  }
  const std::string drawn = shell(python + (out / "p.gpkg") + " site photo 2>/dev/null").words +
                            shell(python + (out / "site.gpkg") + " station path 2>/dev/null").words;
  for (const char* line :
       {"site True 1 RuleRenderer < 2 h:#42545e 2 - 4 h:#b07418 > 4 h:#d98a00 ?:#000000 label=name",
        "photo True 0 singleSymbol #286096 label=label",
        "station True 1 singleSymbol #1c2830 label=name",
        "path True 0 singleSymbol #1c2830 label=name"})
    CHECK_MESSAGE(drawn.find(line) != std::string::npos, drawn);
}

namespace {

survey::ProgrammeState made(const std::string& name, std::optional<double> value, double low,
                            double high) {
  static int count = 0;
  survey::ProgrammeState state;
  state.site.site_id = many::id_of(++count, 1);
  state.site.name = name;
  state.site.sky = "clear sky";
  state.site.content_sha256 = std::string(64, 'a');
  state.site.latitude_deg = 46.5 + 0.01 * (count % 30);
  state.site.longitude_deg = 10.3 + 0.01 * (count % 17);
  if (value) state.site.winter_sun_h = {value, low, high};
  return state;
}

void put_all(const std::string& path, const std::vector<survey::ProgrammeState>& states) {
  auto programme = must(survey::Programme::open(path, survey::Programme::Open::add));
  for (const auto& state : states)
    REQUIRE(must(programme.put(state, {}, 0, survey::sha256_hex(state.site.site_id), {})));
}

}  // namespace

TEST_CASE(
    "[property] ranks: surely ahead and surely behind are counted, all between is said to be alike") {
  std::mt19937 random(5);
  std::vector<survey::ProgrammeState> sites;
  for (int i = 0; i < 60; ++i) {
    const double value = 1 + 0.05 * double(random() % 120), half = 0.02 * double(random() % 40);
    sites.push_back(made("S" + std::to_string(i), value, value - half, value + half));
  }
  sites.push_back(made("unknown", {}, 0, 0));
  const auto order = app::ranked(sites, app::SortBy::hours);
  REQUIRE(order.size() == sites.size());
  CHECK(!order.back().known());
  CHECK(app::rank_words(order.back()) == "–");
  const auto figure = [&](const app::Ranked& rank) { return sites[rank.site].site.winter_sun_h; };
  for (std::size_t i = 0; i + 1 < order.size(); ++i) {
    int ahead = 0, behind = 0, alike = 0;
    for (std::size_t k = 0; k + 1 < order.size(); ++k) {
      if (k == i) continue;
      const bool over = *figure(order[k]).low > *figure(order[i]).high,
                 under = *figure(order[k]).high < *figure(order[i]).low;
      ahead += over;
      behind += under;
      alike += !over && !under;
    }
    CHECK(order[i].first == ahead + 1);
    CHECK(order[i].last == 60 - behind);
    CHECK(order[i].like_count == alike);
    if (i == 0) continue;
    CHECK(*figure(order[i - 1]).value >= *figure(order[i]).value);
    // Never above another within its range without saying so.
    CHECK(order[i].as_the_one_above == (*figure(order[i]).high >= *figure(order[i - 1]).low));
    if (order[i].as_the_one_above) CHECK(order[i].first < order[i].last);
  }
}

TEST_CASE(
    "[property] compare: table, CSV, JSON and report tell the same order, and what cannot be told apart") {
  const TempFolder out;
  auto dark = made("Low meadow", 1.5, 1.4, 1.6), doubtful = made("=Wide bench", 4.6, 3.0, 5.2),
       sure = made("High bench", 4.4, 4.3, 4.5), unknown = made("Not yet walked", {}, 0, 0);
  sure.site.water_distance_m = 40;
  dark.site.water_distance_m = 12;
  sure.verdict = {{"light", "for", "4.4 h of sun", "station A", 5, "", ""}};
  dark.verdict = {{"light", "against", "little sun, behind the ridge", "station A", 5, "", ""}};
  dark.questions = {{"ground", "no soil pit was described", ""}};
  dark.site.questions = 1;
  put_all(out / "valley.gpkg", {dark, doubtful, sure, unknown});
  const std::string base = std::string(ADRET_CLI) + " compare " + (out / "valley.gpkg");
  const Json json = Json::parse(
      shell(base + " --json --csv " + (out / "v.csv") + " --report " + (out / "v.pdf")).words);
  const auto& list = json["sites"];
  REQUIRE(list.size() == 4);
  CHECK(list[0]["name"] == "=Wide bench");
  CHECK(list[0]["rank_first"] == 1);
  CHECK(list[0]["rank_last"] == 2);
  CHECK(list[0]["not_told_apart_from"] == Json::array({"High bench"}));
  CHECK(list[2]["name"] == "Low meadow");
  CHECK(list[2]["rank_first"] == 3);
  CHECK(list[2]["rank_last"] == 3);
  CHECK(list[3]["rank_first"] == 0);
  const std::string csv = shell("cat " + (out / "v.csv")).words;
  CHECK(csv.find("\r\n1,2,High bench,") != std::string::npos);
  CHECK(csv.find(",'=Wide bench,") != std::string::npos);  // no spreadsheet runs it
  const std::string rows =
      shell(
          "/usr/bin/python3 -c \"import csv,sys; r=list(csv.DictReader(open(sys.argv[1],"
          "newline='',encoding='utf-8'))); print(len(r), r[2]['name'], "
          "r[2]['winter_sun_h_per_day'], r[2]['water_distance_m'])\" " +
          (out / "v.csv"))
          .words;
  CHECK(rows == "4 Low meadow 1.5 12\n");
  const std::string text = shell("pdftotext -layout " + (out / "v.pdf") + " -").words;
  for (const char* words : {"valley", "Cannot be told apart from High bench", "behind the ridge",
                            "Map of the sites", "no soil pit was described", "Not yet walked"})
    CHECK_MESSAGE(text.find(words) != std::string::npos, words);
  CHECK(shell("qpdf --check " + (out / "v.pdf") + " 2>&1").exit_code == 0);
  // Nearest water first, in German too.
  const Json water = Json::parse(shell(base + " --json --sort water").words)["sites"];
  CHECK(water[0]["name"] == "Low meadow");
  CHECK(water[1]["name"] == "High bench");
  const std::string german = shell(base + " --lang de").words;
  CHECK(german.find("Nicht zu unterscheiden von High bench.") != std::string::npos);
  // Gains under different skies do not compare, and the first lines say so.
  auto cloudy = made("Cloudy", 3.0, 2.9, 3.1);
  cloudy.site.sky = "weather file";
  cloudy.site.gain_kwh_m2 = {2.0, 1.9, 2.1};
  put_all(out / "valley.gpkg", {cloudy});
  CHECK(shell(base + " --sort gain").words.find("do not compare") != std::string::npos);
  CHECK(shell(base + " --sort hours").words.find("do not compare") == std::string::npos);
  CHECK(shell(base + " --sort best").exit_code == 2);
}
