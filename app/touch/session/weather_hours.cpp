#include "app/touch/session/weather_hours.h"

#include <filesystem>

#include "survey/book/text.h"
#include "survey/exchange/weather_file.h"

namespace app {

std::shared_ptr<const horizon::WeatherYear> WeatherHours::of(const std::string& path) {
  if (path.empty()) return nullptr;
  std::error_code error;
  const auto changed = std::filesystem::last_write_time(path, error).time_since_epoch().count();
  const std::string now = path + " " + std::to_string(static_cast<long long>(changed));
  const std::lock_guard held(mutex_);
  if (now == known_) return year_;
  known_ = now;
  year_ = nullptr;
  const auto bytes = survey::read_file(path);
  if (!bytes) return nullptr;
  auto file = survey::weather_of(*bytes);
  if (file) year_ = std::make_shared<const horizon::WeatherYear>(std::move(file->year));
  return year_;
}

}  // namespace app
