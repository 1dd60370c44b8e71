// horizon/skyline/skyline.h: what stands round a station, as corrected sightings.
// Units:    degrees, metres
// Frame:    true azimuth; elevation as seen (terrestrial refraction included) from the eye
// Words:    a point is one corrected sighting; an obstacle is a labelled thing of one kind; the
//           outline is layer 0, the line where sky begins; layers 1, 2, ... stand behind it
// Source:   the joining rules are this project's own, see docs/decisions.md
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "horizon/angle.h"

namespace horizon {

enum class Kind : std::uint8_t { ridge, evergreen, leafy, building, pole };
inline constexpr int kKindCount = 5;
std::string_view name_of(Kind kind);  // "ridge", "evergreen", "leafy", "building", "pole"
std::optional<Kind> kind_named(std::string_view name);

// How the line runs between two neighbouring points of the same obstacle.
enum class Edge : std::uint8_t {
  straight,      // straight in azimuth and elevation: a rough ridge, a row of trees
  great_circle,  // a straight edge in space, such as a roof ridge or a wall, seen from one point
};

// A leafy tree lets part of the beam through, more of it when bare.
// The defaults are common practice for open-grown broadleaf trees; enter what is seen on site.
struct Foliage {
  std::uint16_t leaf_months = 0;  // bit 0 = January; 0 = May to October, by hemisphere
  double light_through_in_leaf = 0.15;
  double light_through_bare = 0.60;
};
// month 1 to 12; the south has its leaves from November to April.
double light_through(const Foliage& foliage, int month, bool southern);

struct Obstacle {
  Kind kind = Kind::ridge;
  std::string label;
  Edge edge = Edge::straight;
  Foliage foliage;
  std::optional<double> width_deg;  // of a pole; without it, from its distance, else 0.5
};

struct SkylinePoint {
  TrueAzimuth azimuth;
  Elevation elevation;
  double azimuth_sigma_deg = 0.5;    // this aim's own error; the shared heading error is apart
  double elevation_sigma_deg = 0.3;  // one standard deviation
  double level_sigma_deg = 0;        // beside it: one error that all points with one share
  std::optional<double> distance_m;
  int obstacle = 0;       // index into Skyline::obstacles
  int layer = 0;          // 0 = the outline, above 0 = behind it
  int source = -1;        // the caller's own number for it: a row, a sighting
  bool computed = false;  // from a terrain grid, or between where the sun was seen; not aimed at
  int contact = -1;       // measured by the light of sun or moon: the caller's number of it
  // Nothing was measured here but where the line cannot be: it lies below, or above, this.
  std::optional<double> below_deg, above_deg;
  bool only_bound() const { return below_deg || above_deg; }
};

struct Skyline {
  std::vector<Obstacle> obstacles;
  std::vector<SkylinePoint> points;  // in any order
  double heading_sigma_deg = 0;      // one error shared by every azimuth
  bool headings_disagree = false;    // its heading checks contradict each other: say so
  double max_gap_deg = 15;           // neighbours further apart than this leave an open stretch
};

}  // namespace horizon
