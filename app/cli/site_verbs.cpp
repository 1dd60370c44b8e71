// The verbs on site files: new, import, export, merge, check.
#include <algorithm>
#include <chrono>
#include <cmath>
#include <cstdio>
#include <filesystem>
#include <memory>
#include <nlohmann/json.hpp>

#include "app/cli/cli.h"
#include "app/words/sentence.h"
#include "horizon/sun/sun.h"
#include "survey/assess/site_check.h"
#include "survey/book/durable.h"
#include "survey/book/merge.h"
#include "survey/book/ranges.h"
#include "survey/book/recover.h"
#include "survey/book/store.h"
#include "survey/exchange/exchange.h"

namespace app {
namespace {

namespace fs = std::filesystem;
using nlohmann::json;
using survey::FieldBook;

double now_utc_s() {
  using namespace std::chrono;
  return std::floor(duration<double>(system_clock::now().time_since_epoch()).count());
}

void print(const json& answer) {
  std::printf("%s\n", answer.dump(2, ' ', false, json::error_handler_t::replace).c_str());
}

json json_of(const std::vector<horizon::Error>& errors) {
  json list = json::array();
  for (const auto& error : errors)
    list.push_back({{"where", error.where}, {"message", words_of(error)}});
  return list;
}

// ---- new

struct NewOptions : PlaceOptions {
  std::string file, name, station = "1";
  std::optional<double> utc_offset_h;
  double eye_height_m = 1.6;
};

void run_new(const NewOptions& options) {
  check_place(options.place);
  survey::Site site;
  site.name = options.name.empty() ? fs::path(options.file).stem().string() : options.name;
  site.position = {options.place.latitude_deg, options.place.longitude_deg, {}};
  if (options.has_height) site.position.height_m = options.place.height_m;
  // The sun's own zone, where nobody says another: never UTC by silence.
  const double offset_h =
      options.utc_offset_h.value_or(horizon::solar_zone_h(options.place.longitude_deg));
  if (!survey::range::kClockOffset_h.holds(offset_h) || std::abs(offset_h) > 14)
    stop_bad_input("error.clock_range", "--utc-offset-h");
  site.created = {now_utc_s(), offset_h};
  clear_folder_of(options.file);
  FieldBook book = value_or_stop(FieldBook::create(options.file, site));
  survey::Station station;
  station.name = options.station;
  station.position = site.position;
  station.eye_height_m = options.eye_height_m;
  station.time = site.created;
  station.main = true;
  value_or_stop(book.put(station));
  end_with(book);
  std::printf("%s: site \"%s\", station \"%s\", clock UTC%+g h%s\n", options.file.c_str(),
              site.name.c_str(), station.name.c_str(), offset_h,
              options.utc_offset_h ? "" : " (from the longitude; --utc-offset-h sets another)");
  tell_clock(options.file, offset_h, options.place.longitude_deg);
}

// ---- import

struct ImportArguments {
  std::string site, station, reference = "true", instrument, system;
  std::vector<std::string> files;
  std::optional<double> utc_offset_h;
  bool json = false;
};

survey::Id station_named(const FieldBook& book, const std::string& name) {
  const auto stations = value_or_stop(book.all<survey::Station>());
  const auto found = std::ranges::find(stations, name, &survey::Station::name);
  if (found == stations.end()) stop_bad_input("error.no_station_of_name", "--station " + name);
  return found->id;
}

constexpr int kMostTold = 20;  // of one file's errors; a wrong file has thousands alike

void tell_all(const std::string& file, const std::vector<horizon::Error>& errors,
              const char* what) {
  for (int i = 0; i < std::min<int>(kMostTold, static_cast<int>(errors.size())); ++i)
    tell(file, errors[i], what);
  if (errors.size() > kMostTold)
    tell(file,
         {horizon::Code::bad_input, {"error.more_like_these", {errors.size() - kMostTold}}, ""},
         what);
}

// What was done, in a sentence.
std::string done_words(const FieldBook& book, const survey::ImportReport& r) {
  using survey::FileKind;
  if (r.weather) {
    const horizon::WeatherYear& y = r.weather->file.year;
    char place[96];
    std::snprintf(place, sizeof place, " (%.2f, %.2f, %.0f m)", y.place.latitude_deg,
                  y.place.longitude_deg, y.place.height_m);
    return "weather of " + (y.station.empty() ? "an unnamed place" : y.station) + place +
           (r.already ? " was here already: " : ": kept as ") + r.weather->path +
           "; light, ground and handover follow it";
  }
  if (r.terrain) {
    char words[128];
    std::snprintf(words, sizeof words, "height grid of %d x %d cells of %.0f m", r.terrain->columns,
                  r.terrain->rows, r.terrain->cell_m);
    return words + std::string(r.already ? " was here already: " : ": kept as ") + r.terrain->path +
           "; `adret-cli terrain` works out the skyline";
  }
  std::string words;
  const auto add = [&](int n, const char* one, const char* many) {
    if (n > 0)
      words += (words.empty() ? "" : ", ") + std::to_string(n) + " " + (n == 1 ? one : many);
  };
  add(r.sightings, "sighting", "sightings");
  add(r.contacts, "contact of sun or moon", "contacts of sun and moon");
  add(r.diary_rows, "row of a diary", "rows of a diary");
  add(r.stations, "station", "stations");
  add(r.landmarks, "landmark", "landmarks");
  add(r.paths, "path", "paths");
  add(r.notes, "pit", "pits");
  add(r.photos, "photo", "photos");
  add(r.rows, "row", "rows");
  words = words.empty() ? "nothing new" : words + " added";
  if (!r.tied_to.empty())
    if (const auto station = book.get<survey::Station>(r.tied_to))
      words += ", taken at station \"" + station->name + "\" by its position";
  if (r.already > 0) words += "; " + std::to_string(r.already) + " were here already";
  return std::string(name_of(r.kind)) + ": " + words;
}

json json_of_import(const FieldBook& book, const std::string& file, const survey::ImportReport& r) {
  json answer = {{"file", file},
                 {"kind", std::string(name_of(r.kind))},
                 {"sightings", r.sightings},
                 {"stations", r.stations},
                 {"landmarks", r.landmarks},
                 {"paths", r.paths},
                 {"pits", r.notes},
                 {"photos", r.photos},
                 {"contacts", r.contacts},
                 {"diary_rows", r.diary_rows},
                 {"rows", r.rows},
                 {"already_there", r.already},
                 {"errors", json_of(r.errors)},
                 {"notes", json_of(r.remarks)}};
  if (r.weather) {
    const horizon::WeatherYear& y = r.weather->file.year;
    answer["kept_as"] = r.weather->path;
    answer["weather"] = {{"station", y.station},
                         {"latitude_deg", y.place.latitude_deg},
                         {"longitude_deg", y.place.longitude_deg},
                         {"height_m", y.place.height_m},
                         {"utc_offset_h", y.utc_offset_h}};
  }
  if (r.terrain) {
    answer["kept_as"] = r.terrain->path;
    answer["terrain"] = {
        {"columns", r.terrain->columns}, {"rows", r.terrain->rows}, {"cell_m", r.terrain->cell_m}};
    answer["terrain"]["ground_at_site_m"] =
        r.terrain->ground_m ? json(*r.terrain->ground_m) : json();
  }
  if (!r.tied_to.empty())
    if (const auto station = book.get<survey::Station>(r.tied_to))
      answer["station"] = station->name;
  return answer;
}

void run_import(const ImportArguments& arguments) {
  const auto reference = horizon::reference_named(arguments.reference);
  if (!reference) stop_bad_input("error.write_reference", "--reference " + arguments.reference);
  FieldBook book = open_site(arguments.site, survey::Access::write);
  survey::ImportOptions options;
  options.reference = *reference;
  options.instrument = arguments.instrument;
  options.utc_offset_h =
      arguments.utc_offset_h.value_or(value_or_stop(book.site()).created.utc_offset_h);
  if (!arguments.station.empty()) options.station_id = station_named(book, arguments.station);
  if (!arguments.system.empty()) options.terrain_system = arguments.system;
  bool any_bad = false;
  json answer = json::array();
  for (const std::string& file : arguments.files) {
    const auto result = survey::import_file(book, file, options);
    if (!result) {
      any_bad = true;
      const auto& error = result.error();
      tell(file, {error.code, error.sentence(), error.where == file ? "" : error.where}, "");
      answer.push_back({{"file", file}, {"errors", json_of({result.error()})}});
      continue;
    }
    any_bad = any_bad || !result->errors.empty();
    tell_all(file, result->remarks, "note: ");
    tell_all(file, result->errors, "");
    if (!arguments.json) std::printf("%s: %s\n", file.c_str(), done_words(book, *result).c_str());
    answer.push_back(json_of_import(book, file, *result));
  }
  end_with(book);
  if (arguments.json) print(answer);
  if (any_bad) throw Stop{2, ""};
}

// ---- export

struct ExportArguments {
  std::string site, file, table, photos;
};

void run_export(const ExportArguments& arguments) {
  const FieldBook book = open_site(arguments.site, survey::Access::read);
  if (arguments.file.empty() && arguments.photos.empty())
    stop_bad_input("error.name_a_file", arguments.site);
  if (!arguments.file.empty()) {
    clear_folder_of(arguments.file);
    const std::string end = fs::path(arguments.file).extension().string();
    if (end == ".gpkg") {
      value_or_stop(book.export_to(arguments.file));
    } else {
      std::string text;
      if (!arguments.table.empty())
        text = value_or_stop(survey::table_csv_of(book, arguments.table));
      else if (end == ".geojson" || end == ".json")
        text = value_or_stop(survey::geojson_of(book));
      else if (end == ".gpx")
        text = value_or_stop(survey::gpx_of(book));
      else if (end == ".csv")
        text = value_or_stop(survey::marks_csv_of(book));
      else
        stop_bad_input("error.export_ending", arguments.file);
      value_or_stop(survey::write_file(arguments.file, text, survey::Existing::keep));
    }
    std::printf("%s\n", arguments.file.c_str());
  }
  if (arguments.photos.empty()) return;
  for (const std::string& name : value_or_stop(survey::export_photos(book, arguments.photos)))
    std::printf("%s\n", (fs::path(arguments.photos) / name).string().c_str());
}

// ---- merge

struct MergeArguments {
  std::string mine, theirs, out, take;
  std::vector<std::string> choose;
  bool json = false;
};

survey::Take take_named(const std::string& word, const std::string& option) {
  if (word == "mine" || word == "first") return survey::Take::mine;
  if (word == "theirs" || word == "second") return survey::Take::theirs;
  stop_bad_input("error.write_first_or_second", option + " " + word);
}

void run_merge(const MergeArguments& arguments) {
  survey::Choices choices;
  if (!arguments.take.empty()) choices.all = take_named(arguments.take, "--take");
  for (const std::string& choice : arguments.choose) {
    const std::size_t equals = choice.rfind('=');
    if (equals == std::string::npos) stop_bad_input("error.write_choice", "--choose " + choice);
    choices.by_key[choice.substr(0, equals)] = take_named(choice.substr(equals + 1), "--choose");
  }
  survey::MergeReport report;
  bool refused = false;
  {
    // In a hidden folder until it is whole: a copy of the first file must not look like the merge.
    clear_folder_of(arguments.out);
    const auto place = value_or_stop(survey::Unfinished::folder(arguments.out));
    const std::string work = (fs::path(place.path()) / "merged.gpkg").string();
    std::error_code ignored;
    if (fs::exists(arguments.out, ignored)) stop_bad_input("error.file_exists", arguments.out);
    bool first = false, second = false;
    const FieldBook mine = open_site(arguments.mine, survey::Access::received, &first);
    const FieldBook theirs = open_site(arguments.theirs, survey::Access::received, &second);
    refused = first || second;
    value_or_stop(mine.export_to(work));
    FieldBook out = value_or_stop(FieldBook::open(work));
    report = value_or_stop(survey::merge(out, theirs, choices));
    value_or_stop(out.close());
    value_or_stop(survey::move_file(work, arguments.out, survey::Existing::keep));
  }
  if (arguments.json) {
    json conflicts = json::array();
    for (const survey::Conflict& c : report.conflicts)
      conflicts.push_back({{"key", c.key()},
                           {"table", c.table},
                           {"row", c.row_name},
                           {"column", c.column},
                           {"reading", c.reading},
                           {"first", c.mine},
                           {"second", c.theirs},
                           {"first_changed_utc", c.mine_changed_utc},
                           {"second_changed_utc", c.theirs_changed_utc}});
    print({{"added", report.added},
           {"changed", report.changed},
           {"removed", report.removed},
           {"kept_because_needed", report.kept},
           {"photos", report.photo_bytes},
           {"removed_rows", report.removed_rows},
           {"readings_taken_back_in_one_copy", report.readings_kept},
           {"conflicts", conflicts}});
  } else {
    std::printf(
        "%s: %d rows added, %d changed, %d removed, %d kept because others need them, "
        "%d photos\n",
        arguments.out.c_str(), report.added, report.changed, report.removed, report.kept,
        report.photo_bytes);
    for (const std::string& row : report.removed_rows) std::printf("removed: %s\n", row.c_str());
    for (const std::string& row : report.readings_kept)
      std::printf("taken back in one copy, kept and voided: %s\n", row.c_str());
    for (const survey::Conflict& c : report.conflicts)
      std::printf(
          "both changed %s \"%s\"%s%s\n  first:  %s  (%s)\n  second: %s  (%s)\n"
          "  decide:  --choose %s=first   or   --choose %s=second\n",
          c.table.c_str(), c.row_name.c_str(), c.column.empty() ? "" : ", ", c.column.c_str(),
          c.mine.c_str(), c.mine_changed_utc.c_str(), c.theirs.c_str(),
          c.theirs_changed_utc.c_str(), c.key().c_str(), c.key().c_str());
  }
  if (!report.conflicts.empty()) {
    std::fprintf(stderr,
                 "adret-cli: %zu conflicts are left as in the first file; decide and merge again\n",
                 report.conflicts.size());
    throw Stop{2, ""};
  }
  if (refused) throw Stop{2, ""};
}

// ---- check

struct CheckArguments {
  std::string site, recover;
  bool json = false, no_photos = false;
};

void run_recover(const CheckArguments& arguments) {
  const survey::Recovery saved = value_or_stop(survey::recover(arguments.site, arguments.recover));
  for (const auto& note : saved.notes) tell(arguments.recover, note, "");
  if (arguments.json) {
    print({{"file", arguments.recover},
           {"rows", saved.rows},
           {"photos", saved.photo_bytes},
           {"unreadable_rows", saved.unreadable},
           {"notes", json_of(saved.notes)}});
    return;
  }
  std::printf("%s:", arguments.recover.c_str());
  for (const auto& [table, rows] : saved.rows) std::printf(" %d %s,", rows, table.c_str());
  std::printf(" %d photos with their bytes; %d rows could not be read\n", saved.photo_bytes,
              saved.unreadable);
}

void run_check(const CheckArguments& arguments) {
  if (!arguments.recover.empty()) return run_recover(arguments);
  const FieldBook book = value_or_stop(
      FieldBook::open(arguments.site, survey::Access::read));  // check tells its remarks
  survey::CheckOptions options;
  options.photos = !arguments.no_photos;
  const auto items = value_or_stop(survey::check_site(book, options));
  bool damage = false;
  json list = json::array();
  for (const survey::CheckItem& item : items) {
    damage = damage || item.weight == survey::Weight::damage;
    list.push_back({{"weight", survey::name_of(item.weight)},
                    {"where", item.where},
                    {"message", words_of(item.what)}});
    if (!arguments.json)
      std::printf("%s: %s: %s\n", std::string(survey::name_of(item.weight)).c_str(),
                  item.where.c_str(), words_of(item.what).c_str());
  }
  if (arguments.json)
    print({{"sound", !damage}, {"items", list}});
  else if (items.empty())
    std::printf("%s: sound and complete\n", arguments.site.c_str());
  else if (!damage)
    std::printf("%s: the file is sound\n", arguments.site.c_str());
  if (damage) throw Stop{2, ""};
}

}  // namespace

void add_site_verbs(CLI::App& cli) {
  {
    auto options = std::make_shared<NewOptions>();
    CLI::App* verb = cli.add_subcommand("new", "Begin a site file with one station");
    verb->add_option("file", options->file, "The site file to make, *.gpkg")->required();
    verb->add_option("--name", options->name, "Name of the site; else the file's");
    add_place_options(*verb, *options);
    verb->add_option("--station", options->station, "Name of the first station");
    verb->add_option("--eye-height-m", options->eye_height_m, "Eye above the ground in metres")
        ->check(within(survey::range::kEyeHeight_m));
    verb->add_option("--utc-offset-h", options->utc_offset_h, "The site's clock, hours from UTC");
    verb->callback([options] { run_new(*options); });
  }
  {
    auto arguments = std::make_shared<ImportArguments>();
    CLI::App* verb = cli.add_subcommand(
        "import",
        "Add sightings (CSV), GPX, GeoJSON, photos, weather (EPW, TMY3), height grids or another site "
        "file to a site");
    verb->add_option("site", arguments->site, "The site file")->required();
    verb->add_option("files", arguments->files, "Files to read")->required();
    verb->add_option("--station", arguments->station, "Station that they belong to");
    verb->add_option("--reference", arguments->reference,
                     "North of bearings that name none: true, magnetic, grid, device");
    verb->add_option("--instrument", arguments->instrument, "What the sightings were read with");
    verb->add_option("--utc-offset-h", arguments->utc_offset_h,
                     "Of clock times without an offset, hours; else the site's")
        ->check(within(survey::Range{-14, 14}));
    verb->add_option("--system", arguments->system,
                     "Of a height grid that does not name its own, such as EPSG:32632");
    verb->add_flag("--json", arguments->json, "Machine-readable output");
    verb->callback([arguments] { run_import(*arguments); });
  }
  {
    auto arguments = std::make_shared<ExportArguments>();
    CLI::App* verb = cli.add_subcommand(
        "export", "Write a site as one clean .gpkg, as .geojson or .gpx, or its sightings as .csv");
    verb->add_option("site", arguments->site, "The site file")->required();
    verb->add_option("file", arguments->file, "The file to write; its ending says what");
    verb->add_option("--table", arguments->table, "Write this table as .csv");
    verb->add_option("--photos", arguments->photos, "Write the photographs into this folder");
    verb->callback([arguments] { run_export(*arguments); });
  }
  {
    auto arguments = std::make_shared<MergeArguments>();
    CLI::App* verb =
        cli.add_subcommand("merge", "Join two copies of a site that were edited apart");
    verb->add_option("first", arguments->mine, "One copy")->required();
    verb->add_option("second", arguments->theirs, "The other copy")->required();
    verb->add_option("-o,--out", arguments->out, "The site file to make; both copies stay")
        ->required();
    verb->add_option("--take", arguments->take, "first or second, for every conflict");
    verb->add_option("--choose", arguments->choose, "KEY=first or KEY=second, for one conflict");
    verb->add_flag("--json", arguments->json, "Machine-readable output");
    verb->callback([arguments] { run_merge(*arguments); });
  }
  {
    auto arguments = std::make_shared<CheckArguments>();
    CLI::App* verb = cli.add_subcommand(
        "check", "Is the file sound, are its values likely, what is still missing");
    verb->add_option("site", arguments->site, "The site file")->required();
    verb->add_option("--recover", arguments->recover,
                     "Save what a damaged file still holds into this new one");
    verb->add_flag("--no-photos", arguments->no_photos, "Do not compare photographs and hashes");
    verb->add_flag("--json", arguments->json, "Machine-readable output");
    verb->callback([arguments] { run_check(*arguments); });
  }
}

}  // namespace app
