// horizon/plot/site_plan.h: what lies and stands on a plot, as every drawing of it has it?
// One value feeds the plan page, its SVG, the DXF and IFC files, the table of pegs and site.json.
// Units:    metres, degrees; one standard deviation
// Frame:    east, north (true), up from the origin, which is the ground at the main station
// Unknown:  an empty optional, or a row of `unknown`; never a guess
#pragma once

#include <Eigen/Core>
#include <array>
#include <optional>
#include <string>
#include <vector>

#include "horizon/place.h"
#include "horizon/plot/intersection.h"

namespace horizon {

struct PlanPoint {
  double east_m = 0, north_m = 0;
  std::optional<double> up_m;                 // of the ground, or of what is named
  std::optional<double> sigma_m, up_sigma_m;  // against the origin
  Eigen::Vector2d flat() const { return {east_m, north_m}; }
};

// A bearing as each north gives it.
struct PlanBearing {
  double true_deg = 0;
  std::optional<double> grid_deg;
  std::optional<double> compass_deg;  // as the compass of the walk will show it
  std::optional<double> compass_sigma_deg;
};

struct PlanRange {
  double value = 0, low = 0, high = 0;  // 90 %
};
// Of the sun at one height of a house or station, by the skyline predicted there.
struct PlanLight {
  std::string_view where;  // "eye", "bed", "glazing_foot", "glazing_head"
  double above_ground_m = 0;
  PlanRange winter_h_day, shortest_day_h;
};
struct PlanStation {
  std::string name, id, instrument;
  bool main = false;
  PlanPoint ground;
  double eye_height_m = 1.6;
  std::optional<double> winter_sun_h_day;
  std::vector<PlanLight> light;
  std::vector<Eigen::Vector2d> skyline;  // true azimuth, elevation as seen; round the compass
};

struct PlanObstacle {
  std::string name;
  std::string note;  // whose it is, whether it may go
  Kind kind = Kind::building;
  Placing placing = Placing::direction;
  std::vector<PlanPoint> tops;  // in order; joined by straight edges, or the one of a round thing
  std::optional<double> radius_m;           // of a round thing
  double height_m = 0, height_sigma_m = 0;  // of the highest, above the ground at its foot
  double width_m = 0;                       // along the tops, or across the round thing
  std::optional<ErrorEllipse> ellipse;      // of the highest
  double azimuth_deg = 0;                   // from the first station that saw it
  int stations = 0;
};

enum class PlanLineKind : std::uint8_t {
  boundary,
  setback,
  access,
  watercourse,
  service,
  building,
  other
};
inline constexpr int kPlanLineKindCount = 7;
std::string_view name_of(PlanLineKind kind);  // as spelt above
struct PlanLine {
  PlanLineKind kind = PlanLineKind::other;
  std::string name;
  bool closed = false;
  std::vector<PlanPoint> points;
};

// Ground that is ruled out: what the house keeps off, and by how much.
struct PlanLimit {
  std::string_view why;  // "water", "service", "building", "access", "steep", "wet", "hazard"
  std::string name;
  std::vector<Eigen::Vector2d> line;  // or a point
  double distance_m = 0;
};

struct PlanHazard {
  std::string kind, text;  // kind as the book spells it: "rockfall"
  int severity = 1;
  std::optional<PlanPoint> at;
};

struct PlanProbe {  // a pit or a percolation test
  std::string name;
  bool percolation = false;
  std::optional<PlanPoint> at;
  std::optional<double> depth_m, water_m, rock_m;  // below the ground; water and rock where met
};

struct PlanSlope {
  double slope_deg = 0, downhill_true_deg = 0;
  bool from_levels = false;  // else as measured at a pit
  std::optional<double> sigma_deg;
  PlanPoint at;
};

struct PlanContour {
  double up_m = 0;
  std::vector<Eigen::Vector2d> line;
};

struct PlanPeg {
  std::string name;  // "1a"
  PlanPoint at;
  double easting = 0, northing = 0;  // in the plan's grid
  Place place;
  double from_station_m = 0;  // from the main station
  PlanBearing bearing;        // from there
};

enum class PlanChoice : std::uint8_t { most_sun, least_digging, nearest, next_sun, chosen };
std::string_view name_of(PlanChoice choice);  // "most_sun", ...
struct PlanHouse {
  std::string name;  // "1", "2", "3"
  PlanChoice choice = PlanChoice::most_sun;
  double east_m = 0, north_m = 0;  // middle
  double facing_true_deg = 180, length_m = 0, depth_m = 0, height_m = 0;
  std::vector<PlanPeg> pegs;  // four: a and b at the glazing's foot (left, right as seen from
                              // outside it), c and d behind, anticlockwise in all
  std::vector<PlanLight> light;
  PlanRange winter_h_day;               // mean over the house, at the glazing's middle
  std::optional<PlanRange> digging_m3;  // to a level floor, cut equal to fill
  std::string hidden_by;                // the near thing that takes most of its winter sun
  double hidden_h_day = 0;
  std::optional<double> access_m, water_m;  // from where a vehicle stands; from the supply
};

struct PlanShadow {
  int hour = 12;  // by the site's clock
  std::string obstacle;
  std::vector<Eigen::Vector2d> outline;
};
struct PlanSunAt {  // of each hour that shadows are drawn for
  int hour = 12;
  double azimuth_deg = 0, elevation_deg = 0;
  bool behind_skyline = false;  // at the main station: then all of the plot about it is in shade
};

struct PlanPhoto {
  int number = 0;
  std::string what, file;  // of the package
  std::optional<PlanPoint> at;
  std::optional<double> true_deg;
  double view_deg = 0;  // 0: not known
};

struct PlanGrid {
  std::string code, name;            // "EPSG:32632", "WGS 84 / UTM zone 32N"
  double easting = 0, northing = 0;  // of the origin
  double convergence_deg = 0;        // true azimuth of grid north
  double scale = 1;                  // grid metres over true metres there
  bool chosen = false;               // by the site; else the zone of the place
};

// Something the plan cannot tell: a key of words and what fills it.
struct PlanUnknown {
  std::string key;
  std::string filled;
};

struct SitePlan {
  std::string site, origin_station;
  Place origin;              // its height in the datum
  std::string height_datum;  // "sea_level", "ellipsoid"
  std::optional<double> height_sigma_m;
  std::optional<PlanGrid> grid;
  std::optional<double> declination_deg, declination_sigma_deg;
  std::string declination_source;
  // What the compass of the walk reads too little, and how well that is known.
  std::optional<double> compass_off_deg, compass_sigma_deg;
  std::vector<PlanStation> stations;
  std::vector<PlanObstacle> obstacles;
  std::vector<PlanLine> lines;
  double setback_m = 0;
  std::vector<PlanLimit> limits;
  std::vector<PlanHazard> hazards;
  std::vector<PlanProbe> probes;
  std::optional<PlanSlope> slope;
  std::vector<PlanPoint> levels;        // spot heights
  std::vector<Eigen::Vector3d> ground;  // the levelled points that bear contours
  std::vector<std::array<int, 3>> ground_triangles;
  std::vector<PlanContour> contours;
  double contour_step_m = 0;
  std::vector<PlanHouse> houses;
  std::vector<PlanSunAt> suns;
  std::vector<PlanShadow> shadows;
  std::vector<PlanPhoto> photos;
  std::vector<PlanUnknown> unknown;

  // Grid coordinates of a spot by the origin's scale and turn; for a plot right to the millimetre.
  Eigen::Vector2d on_grid(const Eigen::Vector2d& spot) const;
};

// The inside of a closed line at a distance from each of its edges; nothing where none is left.
std::vector<Eigen::Vector2d> set_back(const std::vector<Eigen::Vector2d>& corners, double by_m);

}  // namespace horizon
