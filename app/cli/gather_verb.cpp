// app/cli/gather_verb.cpp: sites from many hands into one programme.
#include <chrono>
#include <csignal>
#include <cstdio>
#include <filesystem>
#include <memory>
#include <nlohmann/json.hpp>

#include "app/cli/cli.h"
#include "app/handover/programme_gather.h"
#include "app/words/sentence.h"
#include "app/words/words.h"

namespace app {
namespace {

namespace fs = std::filesystem;
volatile std::sig_atomic_t interrupted = 0;

struct GatherVerb {
  std::vector<std::string> sites;
  std::string into, language = "en", units = "metric";
  GatherOptions options;
  bool json = false, no_weather = false, quiet = false;
};

// Files as given; of a folder every site file in it, but hidden ones.
std::vector<std::string> files_of(const std::vector<std::string>& given, const std::string& into) {
  std::vector<std::string> files;
  std::error_code error;
  for (const std::string& each : given) {
    if (!fs::is_directory(each, error)) {
      files.push_back(each);
      continue;
    }
    std::vector<std::string> inside;
    for (const auto& entry : fs::directory_iterator(each, error)) {
      const std::string name = entry.path().filename().string();
      if (entry.path().extension() == ".gpkg" && name[0] != '.' &&
          !fs::equivalent(entry.path(), into, error))
        inside.push_back(entry.path().string());
    }
    if (error && inside.empty())
      stop_bad_input({"error.folder_unreadable", {error.message()}}, each);
    std::sort(inside.begin(), inside.end());
    files.insert(files.end(), inside.begin(), inside.end());
  }
  return files;
}

void run_gather(GatherVerb& verb) {
  verb.options.site.software = "Adret " ADRET_VERSION;
  verb.options.site.units = *units_named(verb.units);
  verb.options.use_weather = !verb.no_weather;
  set_language(verb.language);
  std::signal(SIGINT, [](int) { interrupted = 1; });
  verb.options.cancelled = [] { return interrupted != 0; };
  auto programme = value_or_stop(survey::Programme::open(verb.into, survey::Programme::Open::add));
  for (const auto& remark : programme.remarks()) tell(verb.into, remark, "note: ");
  const auto files = files_of(verb.sites, verb.into);
  int counts[kGatheredCount] = {};
  auto rows = nlohmann::ordered_json::array();
  int number = 0;
  value_or_stop(gather(programme, files, verb.options, [&](const GatheredSite& site) {
    ++counts[static_cast<int>(site.what)];
    auto said = nlohmann::ordered_json::array();
    for (const auto& error : site.said) {
      said.push_back(in_words(error));
      tell(site.file, error, site.what == Gathered::skipped ? "" : "note: ");
    }
    rows.push_back({{"file", site.file},
                    {"site", site.site},
                    {"done", name_of(site.what)},
                    {"conflicts", site.conflicts},
                    {"said", said}});
    ++number;
    if (!verb.json && !verb.quiet) {
      std::printf(
          "%4d/%zu  %s  %s%s\n", number, files.size(),
          tr("programme.done." + std::string(name_of(site.what))).c_str(),
          (site.site.empty() ? site.file : site.site).c_str(),
          site.conflicts ? (" · " + tr_count("programme.conflicts", site.conflicts)).c_str() : "");
      std::fflush(stdout);
    }
  }));
  if (verb.json)
    std::printf("%s\n",
                nlohmann::ordered_json{{"into", programme.is_server() ? "postgresql" : verb.into},
                                       {"added", counts[0]},
                                       {"brought_up", counts[1]},
                                       {"unchanged", counts[2]},
                                       {"skipped", counts[3]},
                                       {"sites", rows}}
                    .dump(1, ' ', false, nlohmann::json::error_handler_t::replace)
                    .c_str());
  else
    std::printf("%s\n",
                tr("programme.gathered", {std::to_string(counts[0]), std::to_string(counts[1]),
                                          std::to_string(counts[2]), std::to_string(counts[3])})
                    .c_str());
  if (counts[static_cast<int>(Gathered::skipped)] > 0) throw Stop{2, ""};
}

}  // namespace

void add_gather(CLI::App& cli) {
  auto verb = std::make_shared<GatherVerb>();
  CLI::App* app = cli.add_subcommand(
      "gather", "Bring many sites, from many people, into one programme: a GeoPackage or PostGIS");
  app->add_option("sites", verb->sites, "Site files, or folders of them")->required();
  app->add_option("--into", verb->into,
                  "programme.gpkg, or postgresql://user@host/database; made where it is missing")
      ->required();
  app->add_option("--lang", verb->language, "Language of the texts")
      ->check(CLI::IsMember(languages()));
  app->add_option("--units", verb->units, "Of the texts: metric or imperial")
      ->check(CLI::IsMember({"metric", "imperial"}));
  app->add_option("--draws", verb->options.site.draws, "Draws for the ranges")
      ->check(CLI::Range(20, 10000));
  app->add_option("--winters", verb->options.site.winters, "Winters drawn for the crops' odds")
      ->check(CLI::Range(10, 1000));
  app->add_option("--thumbnail-px", verb->options.thumbnail_px, "Longer side of the small pictures")
      ->check(CLI::Range(32, 1024));
  app->add_flag("--no-weather", verb->no_weather, "Leave weather files beside the sites aside");
  app->add_flag("--again", verb->options.again, "Work out anew what has not changed, too");
  app->add_flag("--quiet", verb->quiet, "Only the sums");
  app->add_flag("--json", verb->json, "Machine-readable output");
  app->callback([verb] { run_gather(*verb); });
}

}  // namespace app
