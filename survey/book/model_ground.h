// survey/book/model_ground.h: soil, water, wind, access and what may hurt.
// Units:  metres below the surface for depths; per cent by mass of the fine earth (sand, silt,
//         clay), per cent by volume (coarse fragments)
// Words:  soil terms as in the field handbooks: texture class, structure, consistence, mottles
#pragma once

#include "survey/book/model.h"

namespace survey {

struct SoilPit {
  Id id, visit_id;
  Moment time;
  std::string name;
  std::optional<Position> position;
  std::string method;  // "pit", "auger", "bar"
  std::optional<double> depth_m;
  std::optional<double> water_m;    // free water below the surface
  std::optional<double> rock_m;     // refusal or bedrock below the surface
  std::optional<double> slope_deg;  // of the ground
  std::optional<double> slope_faces_true_deg;
  std::string note;
};

struct SoilLayer {
  Id id, pit_id;
  double top_m = 0, bottom_m = 0;  // 0 <= top < bottom
  std::string texture;             // class by feel: "sandy loam"
  std::string feel;                // answers to horizon::feel_key() that led to it: "1 0 2"
  std::optional<double> sand_percent, silt_percent, clay_percent;
  std::optional<double> coarse_percent;  // stones and gravel
  std::optional<double> organic_percent;
  std::optional<double> ph;
  std::string colour;  // "10YR 3/2" or in words
  std::string structure, moisture, consistence, roots, mottles;
  std::string note;
};

struct PercolationTest {
  Id id, pit_id;
  Moment time;
  std::string name;
  std::optional<Position> position;
  double hole_depth_m = 0.3;
  double hole_width_m = 0.3;  // diameter, or side of a square hole
  bool square_hole = false;
  double soaked_h = 0;  // how long the hole stood wet before the first reading
  // The clock that nobody can set, at `time`: horizon::ClockMark. Empty: the device has none.
  std::optional<double> since_boot_s;
  std::string boot;
  std::string note;
};

struct PercolationReading {
  Id id, test_id;
  Moment time;
  double water_depth_mm = 0;  // above the bottom of the hole
  bool refilled = false;      // topped up right after this reading, to `refilled_to_mm`
  std::optional<double> refilled_to_mm;
  std::optional<double> since_boot_s;  // as the test's
  std::string boot;
};

enum class Topic : std::uint8_t {
  water,
  wind,
  access,
  services,
  neighbour,
  permission,
  snow,
  frost,
  cold_air,
  building,
  other,
};
inline constexpr int kTopicCount = 11;
std::string_view name_of(Topic topic);  // as spelt above

// A form or a free note. The keys of `fields` are fixed by the screen that asks; unit in the name.
struct SiteNote {
  Id id, visit_id;
  Topic topic = Topic::other;
  Moment time;
  std::optional<Position> position;
  std::string text;
  std::vector<Field> fields;
};

enum class HazardKind : std::uint8_t {
  rockfall,
  avalanche,
  landslide,
  flood,
  ice,
  steep_ground,
  falling_tree,
  buried_service,
  overhead_line,
  traffic,
  animal,
  other,
};
inline constexpr int kHazardKindCount = 12;
std::string_view name_of(HazardKind kind);  // as spelt above

struct Hazard {
  Id id, visit_id;
  HazardKind kind = HazardKind::other;
  int severity = 1;  // 1 note, 2 take care, 3 keep away until a specialist has looked
  Moment time;
  std::optional<Position> position;
  std::string text;
};

// Who is asked, who decides, who may say no. Personal data: one switch leaves them all out of a
// hand-over.
enum class Role : std::uint8_t { client, owner, neighbour, authority, surveyor, designer, other };
inline constexpr int kRoleCount = 7;
std::string_view name_of(Role role);  // as spelt above

struct Person {
  Id id;
  Role role = Role::other;
  std::string name;
  std::string telephone, mail;
  std::string consent;  // to what, since when: "agrees, 14 November"
  std::string note;
};

enum class PathKind : std::uint8_t {
  walked,
  boundary,
  access,
  watercourse,
  service,
  building,
  other
};
inline constexpr int kPathKindCount = 7;
std::string_view name_of(PathKind kind);  // as spelt above

struct PathPoint {
  Position position;
  std::optional<double> utc_s;
  friend bool operator==(const PathPoint&, const PathPoint&) = default;
};

// A line walked, drawn or read from a file. Heights and times are kept where every point has them.
struct Path {
  Id id;
  PathKind kind = PathKind::walked;
  std::string name;
  std::vector<PathPoint> points;  // two or more
  bool closed = false;            // the last point is joined to the first
  Moment time;
  std::string note;
};

}  // namespace survey
