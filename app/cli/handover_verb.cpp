#include <algorithm>
#include <chrono>
#include <csignal>
#include <cstdio>
#include <memory>
#include <nlohmann/json.hpp>

#include "app/cli/cli.h"
#include "app/handover/handover.h"
#include "app/handover/printable.h"
#include "app/words/words.h"

namespace app {
namespace {

volatile std::sig_atomic_t interrupted = 0;

struct VerbOptions {
  std::string site, out, weather, language, paper = "a4", units, time;
  bool no_photos = false, no_people = false, unpacked = false, json = false, quiet = false;
  int draws = 200;
};

void run_handover(const VerbOptions& given) {
  auto book = open_site(given.site, survey::Access::read);
  for (const Unprintable& each : unprintable_texts(book))
    tell(given.site,
         {horizon::Code::bad_input,
          {"error.letters_without_font", {each.letters, each.text}},
          each.table},
         "note: ");
  const auto choices = value_or_stop(book.design());
  HandoverOptions options;
  options.out_folder = given.out;
  options.weather_path = weather_to_use(given.weather, book);
  options.photos = !given.no_photos;
  options.people = !given.no_people;
  options.unpacked = given.unpacked;
  options.draws = given.draws;
  auto& report = options.report;
  report.software_version = "Adret " ADRET_VERSION;
  report.language = !given.language.empty()     ? given.language
                    : !choices.language.empty() ? choices.language
                                                : "en";
  const auto known = languages();
  if (std::find(known.begin(), known.end(), report.language) == known.end()) {
    std::string all;
    for (const auto& code : known) all += (all.empty() ? "" : ", ") + code;
    stop_bad_input({"error.no_such_language", {report.language, all}}, "--lang");
  }
  report.paper = given.paper == "letter" ? Paper::letter : Paper::a4;
  report.units = choices.imperial_units ? Units::imperial : Units::metric;
  if (!given.units.empty()) report.units = *units_named(given.units);
  if (given.time.empty()) {
    report.time_utc_s =
        std::chrono::duration<double>(std::chrono::system_clock::now().time_since_epoch()).count();
  } else {
    auto time = horizon::parse_utc_s(given.time);
    if (!time) {
      time.error().where = "--time " + given.time;
      stop(time.error());
    }
    report.time_utc_s = *time;
  }
  std::signal(SIGINT, [](int) { interrupted = 1; });
  const bool show = !given.json && !given.quiet;
  int last = -1;
  const auto progress = [&](double part, std::string_view what) {
    const int percent = static_cast<int>(part * 100);
    if (!show || percent == last) return;
    last = percent;
    std::fprintf(stderr, "%3d %% %.*s\n", percent, static_cast<int>(what.size()), what.data());
  };
  const auto done =
      value_or_stop(make_handover(book, options, progress, [] { return interrupted != 0; }));
  if (given.json) {
    nlohmann::ordered_json json{{"report", done.report_path},
                                {"package", done.package_path},
                                {"package_bytes", done.package_bytes}};
    json["files"] = nlohmann::ordered_json::array();
    for (const auto& file : done.files) json["files"].push_back(file.name);
    std::printf("%s\n", json.dump(2).c_str());
    return;
  }
  std::printf("%s\n%s\n", done.report_path.c_str(), done.package_path.c_str());
  if (!done.unpacked_path.empty()) std::printf("%s\n", done.unpacked_path.c_str());
}

}  // namespace

void add_handover(CLI::App& cli) {
  auto options = std::make_shared<VerbOptions>();
  CLI::App* verb =
      cli.add_subcommand("handover", "Write the report and the site package for the designer.");
  verb->add_option("site", options->site, "the site file (.gpkg)")->required();
  verb->add_option("--out", options->out, "the folder to write into; made if missing")->required();
  verb->add_option("--lang", options->language, "language of the report")
      ->check(CLI::IsMember(languages()));
  verb->add_option("--paper", options->paper, "a4 or letter")
      ->check(CLI::IsMember({"a4", "letter"}));
  verb->add_option("--units", options->units, "metric or imperial")
      ->check(CLI::IsMember({"metric", "imperial"}));
  verb->add_option("--time", options->time,
                   "time of making, UTC, as 2026-12-21T09:00:00Z; makes the bytes repeatable");
  verb->add_option("--draws", options->draws, "draws for the ranges, 0 for none")
      ->check(CLI::Range(0, 10000));
  verb->add_option(
      "--weather", options->weather,
      "an hourly weather file (EPW, TMY3): the skies of the findings; an EPW is also adjusted to each "
      "skyline; default: the one kept beside the site; none");
  verb->add_flag("--no-photos", options->no_photos, "leave the photographs out");
  verb->add_flag("--no-people", options->no_people,
                 "leave out who is who: names, telephones, consents, initials");
  verb->add_flag("--unpacked", options->unpacked, "write the package's files as a folder too");
  verb->add_flag("--json", options->json, "tell what was written as JSON");
  verb->add_flag("--quiet", options->quiet, "tell no progress");
  verb->callback([options] { run_handover(*options); });
}

}  // namespace app
