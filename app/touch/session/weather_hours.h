// app/touch/session/weather_hours.h: the hourly weather kept beside a site, read once while the file stays the same.
// Threads: any
// Errors:  a file that cannot be read is none here; the house says what is wrong with it
#pragma once

#include <memory>
#include <mutex>
#include <string>

#include "horizon/light/weather_year.h"

namespace app {

class WeatherHours {
 public:
  // Null where the path is empty.
  std::shared_ptr<const horizon::WeatherYear> of(const std::string& path);

 private:
  std::mutex mutex_;
  std::string known_;  // path and time of change
  std::shared_ptr<const horizon::WeatherYear> year_;
};

}  // namespace app
