#include "app/touch/session/site_findings.h"

#include <filesystem>
#include <functional>

#include "app/touch/session/session.h"
#include "app/words/sentence.h"
#include "survey/assess/assessment.h"
#include "survey/exchange/beside.h"

namespace app {

const SiteFindings::Site& SiteFindings::of(platform::Worker& worker, const std::string& path) {
  std::error_code error;
  const auto changed = static_cast<long long>(
      std::filesystem::last_write_time(path, error).time_since_epoch().count());
  auto& site = known_[path + " " + std::to_string(changed)];
  if (site) return *site;
  site = std::make_shared<Site>();
  // A lane for each site: a queued job of one lane gives way to a newer.
  const int lane = 100 + int(std::hash<std::string>{}(path) % 100000);
  worker.post(lane, [site, path]() -> platform::Worker::Done {
    Site found;
    found.working = false;
    const auto work = [&]() -> horizon::Result<void> {
      auto book = survey::FieldBook::open(path, survey::Access::read);
      if (!book) return tl::unexpected(book.error());
      const auto assessed = survey::assess(*book);
      if (!assessed) return tl::unexpected(assessed.error());
      for (const auto& each : assessed->stations) {  // the main station first
        if (each.skyline().points.empty() || !each.station.horizontal_sigma_m) continue;
        auto input = survey::station_input(assessed->settings, each);
        if (const auto weather = WeatherHours().of(survey::weather_beside(*book))) {
          input.sky.weather = weather;
          input.sky.source = horizon::SkySource::weather;
        }
        if (auto sound = horizon::check_station(input); !sound)
          return tl::unexpected(sound.error());
        found.main = horizon::findings_of(input);
        if (auto house = house_winters(assessed->settings, input, found.main->best_facing.value))
          found.house = std::move(*house);
        else
          found.no_house = in_words(house.error());
        break;
      }
      return {};
    };
    try {
      if (auto done = work(); !done) found.problem = in_words(done.error());
    } catch (const std::exception& failure) {
      found.problem = in_words(survey::error_of(failure));
    }
    return [site, found = std::move(found)] { *site = found; };
  });
  return *site;
}

}  // namespace app
