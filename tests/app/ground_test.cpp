// The ground of a site file: what is typed, kept, worked out and printed.
#include <doctest/doctest.h>
#include <unistd.h>

#include <cmath>
#include <cstdio>
#include <filesystem>
#include <nlohmann/json.hpp>
#include <random>

#include "app/words/form_words.h"
#include "app/words/sentence.h"
#include "app/words/words.h"
#include "survey/assess/ground_json.h"
#include "survey/assess/plot_findings.h"
#include "survey/book/text.h"
#include "tests/app/larkholm_book.h"
#include "tests/shell.h"

using namespace app;

namespace {

std::string fresh(const std::string& name) {
  const auto path =
      std::filesystem::temp_directory_path() /
      ("adret_ground_" + std::to_string(std::random_device{}()) + "_" + name + ".gpkg");
  std::filesystem::remove(path);
  return path.string();
}

struct Demo {
  std::string path = fresh("demo");
  Demo() {
    const std::string command = std::string(ADRET_DEMO) + " " + ADRET_TEST_DATA +
                                "/../../app/demo/larkholm_marks.csv " + path;
    REQUIRE(std::system(command.c_str()) == 0);
  }
  ~Demo() { std::filesystem::remove(path); }
};

std::string output_of(const std::string& arguments) {
  const Shell run = shell(std::string(ADRET_CLI) + " " + arguments);
  CHECK(run.exit_code == 0);
  return run.words;
}

horizon::Result<double> typed(const survey::FormField& field, std::string_view text, Units units) {
  return app::typed(field.measure, field.low, field.high, text, units);
}

}  // namespace

TEST_CASE(
    "[property] every number of a form has a unit, words and a plausible range in both units") {
  int numbers = 0;
  for (const survey::Form& form : survey::forms()) {
    CHECK(&form == form_of(form.topic));
    if (!form.caution.empty()) CHECK(has_words(form.caution));
    for (const survey::FormField& field : form.fields) {
      CAPTURE(field.key);
      CHECK(has_words("field." + std::string(field.key)));
      if (field.answer == survey::Answer::choice) {
        CHECK(field.choices.size() >= 2);
        for (const auto choice : field.choices) CHECK(has_words(key_of("choice", choice)));
      }
      if (field.answer != survey::Answer::number) continue;
      ++numbers;
      CHECK(field.low < field.high);
      // A number that is kept says its unit in its name.
      CHECK(field.key.find('_') != std::string_view::npos);
      for (const Units units : {Units::metric, Units::imperial}) {
        CHECK_FALSE(unit_of(field.measure, units).empty());
        for (const double si : {field.low, (field.low + field.high) / 2, field.high}) {
          const auto back = typed(field, typed_again(field.measure, si, units), units);
          REQUIRE(back.has_value());
          CHECK(std::abs(*back - si) <= 1e-9 * std::max(1.0, std::abs(si)));
        }
        const double span = field.high - field.low;
        for (const double si : {field.low - 0.01 * span - 1e-3, field.high + 0.01 * span + 1e-3}) {
          const auto refused = typed(field, typed_again(field.measure, si, units), units);
          REQUIRE_FALSE(refused.has_value());
          CHECK(app::in_words(refused.error()).find(unit_of(field.measure, units)) !=
                std::string::npos);
        }
        for (const char* wrong : {"", "x", "1e999", "nan", "3 4"})
          CHECK_FALSE(typed(field, wrong, units).has_value());
      }
    }
  }
  CHECK(numbers >= 20);
}

// NIST SP 811 (2008), appendix B.8: 1 ft = 0.3048 m, 1 in = 25.4 mm, 1 lbf/ft2 = 47.88026 Pa,
// 1 gal (US) = 3.785412 L, 1 mi/h = 0.44704 m/s; Fahrenheit = 1.8 Celsius + 32.
TEST_CASE("[published] typed imperial values become SI by the exact factors") {
  const auto si = [](Measure m, const char* text) {
    return *typed(m, -1e6, 1e6, text, Units::imperial);
  };
  CHECK(std::abs(si(Measure::length_m, "10") - 3.048) < 1e-12);
  CHECK(std::abs(si(Measure::depth_m, "72") - 1.8288) < 1e-12);
  CHECK(std::abs(si(Measure::temperature_c, "-31") + 35) < 1e-12);
  CHECK(std::abs(si(Measure::degree_days_cd, "1800") - 1000) < 1e-9);
  CHECK(std::abs(si(Measure::load_kn_m2, "50") - 2.394013) < 1e-6);
  CHECK(std::abs(si(Measure::flow_l_min, "1") - 3.785412) < 1e-6);
  CHECK(std::abs(si(Measure::speed_ms, "100") - 44.704) < 1e-9);
  CHECK(std::abs(si(Measure::level_mm, "1") - 25.4) < 1e-12);
}

TEST_CASE(
    "[property] what a form keeps is read again as it was kept, in whatever units it was typed") {
  for (const survey::Form& form : survey::forms())
    for (const survey::FormField& field : form.fields) {
      if (field.answer != survey::Answer::number) continue;
      for (const double part : {0.0, 0.37, 1.0}) {
        const double si = field.low + part * (field.high - field.low);
        CAPTURE(std::string(field.key));
        CAPTURE(si);
        const auto again = kept_value(field, survey::kept_number(si));
        REQUIRE(again);
        CHECK(*again == si);
        for (const Units units : {Units::metric, Units::imperial}) {
          const auto entered = typed(field, typed_again(field.measure, si, units), units);
          REQUIRE(entered);
          CHECK(std::abs(*entered - si) <= 1e-9 * std::max(1.0, std::abs(si)));
        }
      }
      const auto none = kept_value(field, survey::Kept("none"));
      REQUIRE_FALSE(none);
      CHECK(none.error().where == field.key);
      // Told with the range of the form itself.
      CHECK(words_of(none.error())
                .ends_with(range_words(field.measure, field.low, field.high, Units::metric)));
      CHECK_FALSE(kept_value(field, survey::kept_number(field.high * 2 + 10)));
    }
}

TEST_CASE("[regression] half a metre of snow on the frost form is half a metre in the findings") {
  const std::string path = fresh("snow");
  {
    auto book = larkholm::book(path, {.stations = 1, .photos = 0});
    survey::SiteNote note;
    note.topic = survey::Topic::frost;
    const survey::FormField* field = field_of(survey::Topic::frost, "snow_m");
    REQUIRE(field);
    const auto si = typed(*field, "50", Units::metric);  // centimetres, as a person types them
    REQUIRE(si);
    set_answer(note, "snow_m", survey::kept_number(*si));
    set_answer(note, "freezing_index_cd", survey::Kept("900"));
    set_answer(note, "frost_duration_d", survey::Kept("140"));
    set_answer(note, "mean_annual_c", survey::Kept("3"));
    REQUIRE(book.put(note));
    const auto findings = ground_findings(book);
    REQUIRE(findings);
    REQUIRE(findings->frost);
    CHECK(std::abs(findings->frost->snow_m - 0.5) < 1e-9);
  }
  std::filesystem::remove(path);
}

TEST_CASE("[regression] the demo site gives every ground finding with its evidence") {
  const Demo demo;
  const auto json = nlohmann::json::parse(output_of("ground --json " + demo.path));
  REQUIRE(json["pits"].size() == 2);
  const auto& pit = json["pits"][0];
  CHECK(pit["from"] == "Pit 1, laboratory grading");
  CHECK(json["pits"][1]["from"] == "Pit 2, texture by feel");
  for (const auto& one : json["pits"]) {
    CHECK(one["hydrologic_soil_group"].is_string());
    CHECK(one["available_water_top_metre_mm"].get<double>() > 50);
    CHECK(one["frost_depth_m"]["low"].get<double>() < one["frost_depth_m"]["high"].get<double>());
    CHECK(one["presumptive_bearing"]["source"] == "International Building Code, table 1806.2");
    CHECK(one["presumptive_bearing"]["caution"].get<std::string>().find("licensed engineer") !=
          std::string::npos);
  }
  CHECK(json["percolation"][0]["steady"].is_boolean());
  CHECK(json["percolation"][0]["fall_mm_h"].get<double>() > 90);
  CHECK(json["cold"]["average_winter"] == false);
  CHECK(json["cold"]["design_low_c"]["value"] == -35);
  CHECK(json["ground_temperature"].size() == 4);
  CHECK(json["wind"]["shelter"].size() == 16);
  CHECK(json["wind"]["cross_breeze"]["from"].get<std::string>().size() > 5);
  CHECK(json["snow"]["ground_snow_kn_m2"] == 6.2);
  for (const char* topic : {"water", "services", "access", "neighbour", "permission", "snow",
                            "frost", "wind", "cold_air"})
    CHECK_MESSAGE(json["forms"].contains(topic), topic);
  const auto& plot = json["plot"];
  CHECK(plot["best_places"].size() >= 1);
  CHECK(plot["map"]["winter_direct_sun_h_a_day"].size() ==
        plot["map"]["columns"].get<size_t>() * plot["map"]["rows"].get<size_t>());
  // The ash was put at about 33 m from station B and 22 m from C.
  for (const auto& thing : plot["obstacles"])
    if (thing["label"] == "Old ash") {
      CHECK(thing["stations"] == 2);
      CHECK(std::abs(std::hypot(thing["east_m"].get<double>(), thing["north_m"].get<double>()) -
                     33) < 5);
    }
  REQUIRE(plot["verdict"].size() == 4);
  for (const auto& spot : plot["verdict"])
    for (const auto& line : spot["lines"])
      CHECK((line["stance"] == "not known") == line["evidence"].get<std::string>().empty());
  // Winters to -35 C: the trade goes down six feet [common practice]; the table goes as deep, and a
  // thick board all the way keeps frost out.
  CHECK(pit["edge_insulation"]["common_practice_m"] == 1.83);
  REQUIRE(pit["edge_table"].size() == 24);
  CHECK(pit["edge_table"].back()["depth_m"] == 1.8);
  CHECK(pit["edge_table"].back()["coldest_inside_edge_c"].get<double>() >
        pit["edge_table"].front()["coldest_inside_edge_c"].get<double>());
  const std::string text = output_of("ground --imperial " + demo.path);
  CHECK(text.find("°F") != std::string::npos);
  CHECK(text.find("\u00A0ft") != std::string::npos);
}

TEST_CASE("[property] stored form answers of the demo are those a form could have typed") {
  const Demo demo;
  const auto book = larkholm::good(survey::FieldBook::open(demo.path, survey::Access::read));
  for (const auto& note : larkholm::good(book.all<survey::SiteNote>()))
    for (const auto& answer : note.fields) {
      CAPTURE(answer.key);
      const survey::FormField* field = field_of(note.topic, answer.key);
      REQUIRE(field);
      if (field->answer == survey::Answer::number)
        CHECK(kept_value(*field, survey::Kept(answer.value)).has_value());
      if (field->answer == survey::Answer::choice)
        CHECK(std::find(field->choices.begin(), field->choices.end(), answer.value) !=
              field->choices.end());
      if (field->answer == survey::Answer::yes_no)
        CHECK((answer.value == "yes" || answer.value == "no"));
    }
}

TEST_CASE("[property] what will be built and felled is in map and skyline of its year") {
  const Demo demo;
  const auto json = nlohmann::json::parse(output_of(
      "ground " + demo.path + " --json --build 'School wing=200,25,30,6,9,15' --fell Spruces=5"));
  const auto& later = json["plot"]["later"];
  REQUIRE(later.size() == 2);
  const auto names = [](const nlohmann::json& at) {
    std::string all;
    for (const auto& thing : at["obstacles"]) all += thing["label"].get<std::string>() + "|";
    return all;
  };
  CHECK(names(json["plot"]).find("Spruces") != std::string::npos);
  CHECK(names(later[0]).find("Spruces") == std::string::npos);
  CHECK(names(later[0]).find("School wing") == std::string::npos);
  CHECK(names(later[1]).find("School wing") != std::string::npos);
  const auto& before = later[0]["skyline"][200];
  const auto& after = later[1]["skyline"][200];
  CHECK(before["azimuth_true_deg"] == 200);
  // 22 m away its near edge stands 9 m above the ground there; the eye some 1.6 m above the station.
  CHECK(after["elevation_deg"].get<double>() > before["elevation_deg"].get<double>() + 2);
  CHECK(later[1]["map"]["winter_direct_sun_h_a_day"].size() ==
        json["plot"]["map"]["winter_direct_sun_h_a_day"].size());
  const std::string words = output_of("ground " + demo.path + " --fell Spruces=5");
  CHECK(words.find("in 10 years") != std::string::npos);
  for (const char* wrong : {"--fell Nothing=3", "--fell Spruces=99", "--build Wing=1,2,3",
                            "--build Wing=1,2,3,4,900,5", "--build =1,2,3,4,5,6"})
    CHECK(shell(std::string(ADRET_CLI) + " ground " + demo.path + " " + wrong).exit_code == 2);
}
