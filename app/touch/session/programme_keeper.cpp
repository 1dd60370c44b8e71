#include "app/touch/session/programme_keeper.h"

#include <filesystem>
#include <functional>

#include "app/handover/programme_site.h"
#include "app/words/sentence.h"
#include "app/words/words.h"
#include "survey/book/text.h"
#include "survey/exchange/beside.h"
#include "survey/exchange/weather_file.h"

namespace app {
namespace {

constexpr int kLanes = 200'000, kFileLane = 99;

std::string stamp(const std::string& path) {
  std::error_code error;
  return path + " " +
         std::to_string(static_cast<long long>(  // 128 bits in some libraries
             std::filesystem::last_write_time(path, error).time_since_epoch().count()));
}

// As Light has it; one that cannot be read is told there.
std::shared_ptr<const horizon::WeatherYear> hourly_beside(const survey::FieldBook& book) {
  const std::string file = survey::weather_beside(book);
  const auto bytes = file.empty() ? horizon::Result<std::string>(tl::unexpected(horizon::Error{}))
                                  : survey::read_file(file);
  if (!bytes) return nullptr;
  auto read = survey::weather_of(*bytes);
  return read ? std::make_shared<const horizon::WeatherYear>(std::move(read->year)) : nullptr;
}

}  // namespace

const ProgrammeKeeper::Sites& ProgrammeKeeper::own(platform::Worker& worker,
                                                   const std::vector<std::string>& paths,
                                                   const std::string& language, Units units) {
  std::string now;
  int working = 0;
  std::vector<std::shared_ptr<Own>> all;
  for (const std::string& path : paths) {
    // A weather file that comes or goes changes the folder of them all.
    const auto weather = std::filesystem::path(path).parent_path() / "weather";
    const std::string key = stamp(path) + stamp(weather.string()) + " " + language +
                            (units == Units::metric ? "m" : "i");
    auto& site = known_[key];
    if (!site) {
      site = std::make_shared<Own>();
      const int lane = kLanes + static_cast<int>(std::hash<std::string>{}(path) % 100'000);
      worker.post(lane, [site, path, language, units]() -> platform::Worker::Done {
        const InLanguage in(language);
        Own found;
        found.working = false;
        try {
          ProgrammeOptions options;
          options.units = units;
          const auto book = survey::FieldBook::open(path, survey::Access::read);
          if (book) options.weather = hourly_beside(*book);
          auto state = book ? programme_state(*book, options)
                            : horizon::Result<survey::ProgrammeState>(tl::unexpected(book.error()));
          if (state)
            found.state = std::move(*state);
          else
            found.problem = in_words(state.error());
        } catch (const std::exception& failure) {
          found.problem = in_words(survey::error_of(failure));
        }
        return [site, found = std::move(found)] { *site = found; };
      });
    }
    working += site->working;
    now += key + (site->working ? "w\n" : "\n");
    all.push_back(site);
  }
  own_.working = working;
  if (now == own_for_) return own_;
  own_for_ = now;
  own_.list.clear();
  own_.problems.clear();
  for (const auto& site : all) {
    if (site->working) continue;
    if (site->problem.empty())
      own_.list.push_back(site->state);
    else
      own_.problems.push_back(site->problem);
  }
  ++own_.change;
  return own_;
}

const ProgrammeKeeper::Sites& ProgrammeKeeper::of_file(platform::Worker& worker,
                                                       const std::string& path) {
  auto& file = files_[stamp(path)];
  if (!file) file = std::make_shared<File>();
  if (file->asked) return file->sites;
  file->asked = true;
  file->sites.working = 1;
  worker.post(kFileLane, [file, path]() -> platform::Worker::Done {
    Sites found;
    found.change = 1;
    const auto programme = survey::Programme::open(path, survey::Programme::Open::read);
    auto sites = programme ? programme->sites(false)
                           : horizon::Result<std::vector<survey::ProgrammeState>>(
                                 tl::unexpected(programme.error()));
    if (sites)
      found.list = std::move(*sites);
    else
      found.problems.push_back(in_words(sites.error()));
    return [file, found = std::move(found)]() mutable { file->sites = std::move(found); };
  });
  return file->sites;
}

const survey::ProgrammeState* ProgrammeKeeper::details(platform::Worker& worker,
                                                       const std::string& path,
                                                       const survey::Id& site_id) {
  const auto file = files_[stamp(path)];
  if (!file) return nullptr;
  const auto known = file->details.find(site_id);
  if (known != file->details.end()) return known->second.get();
  file->details[site_id] = nullptr;
  worker.post(kFileLane, [file, path, site_id]() -> platform::Worker::Done {
    const auto programme = survey::Programme::open(path, survey::Programme::Open::read);
    auto site = programme
                    ? programme->site(site_id)
                    : horizon::Result<survey::ProgrammeState>(tl::unexpected(programme.error()));
    auto kept = std::make_shared<survey::ProgrammeState>();
    if (site) *kept = std::move(*site);
    return [file, site_id, kept] { file->details[site_id] = kept; };
  });
  return nullptr;
}

}  // namespace app
