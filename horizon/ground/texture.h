// horizon/ground/texture.h: which of the twelve texture classes a soil belongs to.
// Units:    per cent by mass of the fine earth (under 2 mm)
// Valid:    sand + silt + clay = 100; every such point has exactly one class
// Accuracy: exact at the edges of the classes (integer arithmetic in millionths of a per cent)
// Errors:   bad_input where parts are missing, negative or do not add up
// Source:   USDA Soil Survey Manual, texture classes; where its words overlap at 45 % sand the
//           class without sand in its name is taken. By feel: Thien, J. Agron. Education 8 (1979)
#pragma once

#include <cstdint>
#include <optional>
#include <span>
#include <string_view>
#include <vector>

#include "horizon/result.h"

namespace horizon {

enum class Texture : std::uint8_t {
  sand,
  loamy_sand,
  sandy_loam,
  loam,
  silt_loam,
  silt,
  sandy_clay_loam,
  clay_loam,
  silty_clay_loam,
  sandy_clay,
  silty_clay,
  clay,
};
inline constexpr int kTextureCount = 12;
std::string_view name_of(Texture texture);  // "sandy loam"
std::optional<Texture> texture_named(std::string_view name);

struct FineEarth {
  double sand_percent = 0, silt_percent = 0, clay_percent = 0;
};
// Two of the three are enough. Three that miss 100 by at most 1 (rounded by the laboratory) are
// brought to 100 in proportion.
Result<FineEarth> fine_earth(std::optional<double> sand_percent, std::optional<double> silt_percent,
                             std::optional<double> clay_percent);

Texture texture_of(const FineEarth& soil);
// A point well inside the class, for a soil known by feel only.
FineEarth typical_of(Texture texture);

// The triangle with sides of 1: sand at (0, 0), silt at (1, 0), clay at the top.
struct TrianglePoint {
  double x = 0, y = 0;
};
TrianglePoint triangle_point(const FineEarth& soil);
std::optional<FineEarth> soil_at(const TrianglePoint& point);  // nothing outside the triangle
// The corners of the class in the triangle, in order round it.
std::span<const FineEarth> corners_of(Texture texture);

// The key by feel, as questions. Silt is not told from silt loam by hand.
struct FeelAnswer {
  std::string_view text;
  int next = -1;                   // the question that follows, or
  std::optional<Texture> texture;  // the class found
};
struct FeelQuestion {
  std::string_view text, how;
  std::span<const FeelAnswer> answers;
};
std::span<const FeelQuestion> feel_key();  // begins with question 0

struct FeelStep {
  int question = 0;                // to ask next, if no class is found yet
  std::optional<Texture> texture;  // the class found
};
// The answers given so far, each an index. Bad input: an answer that the question does not have,
// or answers after the class was found.
Result<FeelStep> walk_feel_key(std::span<const int> answers);

}  // namespace horizon
