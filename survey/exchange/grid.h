// survey/exchange/grid.h: map coordinates to places and back, and what grid north is worth.
// Units:    metres of easting and northing (or the system's own unit); degrees on WGS 84
// Frame:    convergence = true azimuth of grid north, east positive: true = grid + convergence
// Valid:    UTM from 80 S to 84 N; any projected system PROJ knows whose axes point east and north
// Accuracy: UTM 0.1 mm, its convergence 1e-9 degree; other systems as good as PROJ's
//           transformation from WGS 84, 1 to 5 m where it needs a shift grid that is not installed;
//           convergence 1e-5 degree
// Source:   NGA.STND.0037 (UTM, MGRS); the EPSG data set, by PROJ
#pragma once

#include <memory>
#include <optional>
#include <string>
#include <utility>

#include "horizon/place.h"
#include "horizon/result.h"

namespace survey {

struct Utm {
  int zone = 0;  // 1 to 60
  bool north = true;
  double easting_m = 0, northing_m = 0;
  double convergence_deg = 0;
  double scale = 1;
};
// With the wide zones of south-west Norway and Svalbard unless `regular_zones`.
int utm_zone_of(const horizon::Place& place, bool regular_zones = false);
// In the place's own zone, or in a given one up to 30 degrees away from its middle.
horizon::Result<Utm> utm_of(const horizon::Place& place, std::optional<int> zone = {});
horizon::Result<horizon::Place> place_of(const Utm& utm);
std::string format_utm(const Utm& utm);  // "32N 597000 5163000"

struct GridPoint {
  double easting = 0, northing = 0;
  double convergence_deg = 0;
  double scale = 1;  // grid length over true length along grid north
};

// A projected system by its code, "EPSG:2056". Opening one takes milliseconds, using it
// microseconds. Heights pass through unchanged.
class Grid {
 public:
  static horizon::Result<Grid> open(const std::string& code);
  horizon::Result<GridPoint> at(const horizon::Place& place) const;
  horizon::Result<std::pair<double, double>> easting_northing(const horizon::Place& place) const;
  horizon::Result<horizon::Place> place_of(double easting, double northing) const;
  const std::string& name() const { return name_; }  // "CH1903+ / LV95"
  double unit_m() const;                             // of easting and northing

 private:
  struct Transformation;
  std::shared_ptr<Transformation> transformation_;
  std::string name_;
};

}  // namespace survey
