#include <cmath>
#include <cstdio>

#include "app/cli/cli.h"

namespace app {

void stop(const horizon::Error& error) {
  const std::string message =
      error.where.empty() ? error.message : error.where + ": " + error.message;
  throw Stop{error.code == horizon::Code::failed ? 1 : 2, message};
}

void stop_bad_input(std::string message, std::string where) {
  stop(horizon::Error{horizon::Code::bad_input, std::move(message), std::move(where)});
}

void tell(const std::string& file, const horizon::Error& error, const char* what) {
  std::fprintf(stderr, "adret-cli: %s: %s%s%s%s\n", file.c_str(), error.where.c_str(),
               error.where.empty() ? "" : ": ", what, error.message.c_str());
}

void add_place_options(CLI::App& verb, horizon::Place& place) {
  verb.add_option("--lat", place.latitude_deg, "Latitude in degrees, north positive")->required();
  verb.add_option("--lon", place.longitude_deg, "Longitude in degrees, east positive")->required();
  verb.add_option("--height-m", place.height_m, "Height above the sea in metres");
}

void check_place(const horizon::Place& place) {
  if (!(std::abs(place.latitude_deg) <= 90))
    stop_bad_input("the latitude lies between -90 and 90 degrees", "--lat");
  if (!(std::abs(place.longitude_deg) <= 360))
    stop_bad_input("the longitude lies between -180 and 180 degrees", "--lon");
  if (!(place.height_m >= -500 && place.height_m <= 9000))
    stop_bad_input("the height lies between -500 and 9000 metres", "--height-m");
}

}  // namespace app
