#include "app/touch/session/settings.h"

#include <algorithm>
#include <fstream>
#include <nlohmann/json.hpp>

#include "survey/book/durable.h"

namespace app {

Settings read_settings(const std::string& path) {
  Settings s;
  std::ifstream file(path, std::ios::binary);
  const auto json = nlohmann::json::parse(file, nullptr, false);
  if (!json.is_object()) return s;
  const auto text = [&](const char* key, std::string& to) {
    if (auto found = json.find(key); found != json.end() && found->is_string()) to = *found;
  };
  const auto number = [&](const char* key, double fallback, double low, double high) {
    auto found = json.find(key);
    if (found == json.end() || !found->is_number()) return fallback;
    return std::clamp(found->get<double>(), low, high);
  };
  s.theme = ThemeChoice(int(number("theme", 1, 0, 2)));
  s.units = number("imperial", 0, 0, 1) > 0 ? Units::imperial : Units::metric;
  s.text_scale = float(number("text_scale", 1, 0.85, 1.6));
  s.left_handed = number("left_handed", 0, 0, 1) > 0;
  s.speak = number("speak", 0, 0, 1) > 0;
  s.gloves = number("gloves", 0, 0, 1) > 0;
  s.instrument = Instrument(int(number("instrument", 0, 0, 1)));
  s.eye_height_m = number("eye_height_m", 1.6, 0, 30);
  s.warnings_read = number("warnings_read", 0, 0, 1) > 0;
  s.starts = int(number("starts", 0, 0, 9));
  text("language", s.language);
  text("site_path", s.site_path);
  text("station", s.station);
  text("screen", s.screen);
  return s;
}

bool write_settings(const std::string& path, const Settings& s) {
  const nlohmann::json json = {{"theme", int(s.theme)},
                               {"imperial", s.units == Units::imperial ? 1 : 0},
                               {"text_scale", s.text_scale},
                               {"starts", s.starts},
                               {"warnings_read", s.warnings_read ? 1 : 0},
                               {"left_handed", s.left_handed ? 1 : 0},
                               {"gloves", s.gloves ? 1 : 0},
                               {"speak", s.speak ? 1 : 0},
                               {"instrument", int(s.instrument)},
                               {"eye_height_m", s.eye_height_m},
                               {"language", s.language},
                               {"site_path", s.site_path},
                               {"station", s.station},
                               {"screen", s.screen}};
  const std::string text =
      json.dump(1, ' ', false, nlohmann::json::error_handler_t::replace) + '\n';
  return survey::write_file(path, text).has_value();
}

}  // namespace app
