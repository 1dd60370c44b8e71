#include "horizon/ground/texture.h"

#include <array>
#include <cmath>
#include <string>

namespace horizon {
namespace {

constexpr std::array<std::string_view, kTextureCount> kNames = {"sand",
                                                                "loamy sand",
                                                                "sandy loam",
                                                                "loam",
                                                                "silt loam",
                                                                "silt",
                                                                "sandy clay loam",
                                                                "clay loam",
                                                                "silty clay loam",
                                                                "sandy clay",
                                                                "silty clay",
                                                                "clay"};

constexpr FineEarth kSand[] = {{100, 0, 0}, {85, 15, 0}, {90, 0, 10}};
constexpr FineEarth kLoamySand[] = {{85, 15, 0}, {70, 30, 0}, {85, 0, 15}, {90, 0, 10}};
constexpr FineEarth kSandyLoam[] = {{70, 30, 0},  {50, 50, 0}, {43, 50, 7}, {52, 41, 7},
                                    {52, 28, 20}, {80, 0, 20}, {85, 0, 15}};
constexpr FineEarth kLoam[] = {{52, 41, 7}, {43, 50, 7}, {23, 50, 27}, {45, 28, 27}, {52, 28, 20}};
constexpr FineEarth kSiltLoam[] = {{50, 50, 0}, {20, 80, 0}, {8, 80, 12},
                                   {0, 88, 12}, {0, 73, 27}, {23, 50, 27}};
constexpr FineEarth kSilt[] = {{20, 80, 0}, {0, 100, 0}, {0, 88, 12}, {8, 80, 12}};
constexpr FineEarth kSandyClayLoam[] = {
    {80, 0, 20}, {52, 28, 20}, {45, 28, 27}, {45, 20, 35}, {65, 0, 35}};
constexpr FineEarth kClayLoam[] = {{45, 28, 27}, {20, 53, 27}, {20, 40, 40}, {45, 15, 40}};
constexpr FineEarth kSiltyClayLoam[] = {{20, 53, 27}, {0, 73, 27}, {0, 60, 40}, {20, 40, 40}};
constexpr FineEarth kSandyClay[] = {{65, 0, 35}, {45, 20, 35}, {45, 0, 55}};
constexpr FineEarth kSiltyClay[] = {{20, 40, 40}, {0, 60, 40}, {0, 40, 60}};
constexpr FineEarth kClay[] = {{45, 15, 40}, {20, 40, 40}, {0, 40, 60}, {0, 0, 100}, {45, 0, 55}};

const std::array<std::span<const FineEarth>, kTextureCount> kCorners = {
    kSand,          kLoamySand, kSandyLoam,     kLoam,      kSiltLoam,  kSilt,
    kSandyClayLoam, kClayLoam,  kSiltyClayLoam, kSandyClay, kSiltyClay, kClay};

// Saxton & Rawls 2006, table 3: the points their values of the classes stand for.
constexpr std::array<FineEarth, kTextureCount> kTypical = {{{88, 7, 5},
                                                            {80, 15, 5},
                                                            {65, 25, 10},
                                                            {40, 40, 20},
                                                            {20, 65, 15},
                                                            {10, 85, 5},
                                                            {60, 15, 25},
                                                            {30, 35, 35},
                                                            {10, 55, 35},
                                                            {50, 10, 40},
                                                            {10, 45, 45},
                                                            {25, 25, 50}}};

constexpr FeelAnswer kBall[] = {
    {"Too dry to hold: add a little water, knead, try again", 0, {}},
    {"Too wet, it smears: add dry soil, knead, try again", 0, {}},
    {"Moist, and it still falls apart", -1, Texture::sand},
    {"It holds together", 1, {}},
};
constexpr FeelAnswer kRibbon[] = {
    {"No ribbon forms", -1, Texture::loamy_sand},
    {"Under 2.5 cm (1 in)", 2, {}},
    {"2.5 to 5 cm (1 to 2 in)", 3, {}},
    {"5 cm (2 in) or longer", 4, {}},
};
constexpr FeelAnswer kShort[] = {
    {"Gritty above all", -1, Texture::sandy_loam},
    {"Smooth above all, like flour", -1, Texture::silt_loam},
    {"Neither", -1, Texture::loam},
};
constexpr FeelAnswer kMedium[] = {
    {"Gritty above all", -1, Texture::sandy_clay_loam},
    {"Smooth above all, like flour", -1, Texture::silty_clay_loam},
    {"Neither", -1, Texture::clay_loam},
};
constexpr FeelAnswer kLong[] = {
    {"Gritty above all", -1, Texture::sandy_clay},
    {"Smooth above all, like flour", -1, Texture::silty_clay},
    {"Neither", -1, Texture::clay},
};
constexpr std::string_view kFeelHow =
    "Wet a pinch in the palm until it runs and rub it with a finger.";
const FeelQuestion kKey[] = {
    {"Does the moist soil hold as a ball?",
     "Take a heaped spoon of soil without stones, moisten it to putty and squeeze it.", kBall},
    {"How long a ribbon hangs before it breaks?",
     "Push the ball flat between thumb and finger and let the ribbon hang over.", kRibbon},
    {"How does it feel when very wet?", kFeelHow, kShort},
    {"How does it feel when very wet?", kFeelHow, kMedium},
    {"How does it feel when very wet?", kFeelHow, kLong},
};

}  // namespace

std::string_view name_of(Texture texture) { return kNames[static_cast<int>(texture)]; }

std::optional<Texture> texture_named(std::string_view name) {
  for (int i = 0; i < kTextureCount; ++i)
    if (name_of(static_cast<Texture>(i)) == name) return static_cast<Texture>(i);
  return std::nullopt;
}

Result<FineEarth> fine_earth(std::optional<double> sand, std::optional<double> silt,
                             std::optional<double> clay) {
  const int missing = !sand + !silt + !clay;
  if (missing > 1) return fail(Code::bad_input, "error.two_soil_parts_needed");
  for (const auto& part : {sand, silt, clay})
    if (part && !(*part >= 0 && *part <= 100))
      return fail(Code::bad_input, "error.soil_parts_range");
  FineEarth soil{sand.value_or(0), silt.value_or(0), clay.value_or(0)};
  const double sum = soil.sand_percent + soil.silt_percent + soil.clay_percent;
  if (missing == 1) {
    if (sum > 100 + 1e-9) return fail(Code::bad_input, "error.two_soil_parts_above_100");
    double& rest = !sand ? soil.sand_percent : !silt ? soil.silt_percent : soil.clay_percent;
    rest = std::max(0.0, 100 - sum);
    return soil;
  }
  if (std::abs(sum - 100) > 1 + 1e-9) return fail(Code::bad_input, "error.soil_parts_not_100");
  if (std::abs(sum - 100) > 1e-6)
    for (double* part : {&soil.sand_percent, &soil.silt_percent, &soil.clay_percent})
      *part *= 100 / sum;
  return soil;
}

Texture texture_of(const FineEarth& soil) {
  // Whole millionths of a per cent: 9.8 + 2 * 10.1 is 30 here, and just under in doubles.
  constexpr long long k = 1000000;
  const long long si = std::llround(soil.silt_percent * k),
                  cl = std::llround(soil.clay_percent * k);
  const long long sa = 100 * k - si - cl;
  if (2 * si + 3 * cl < 30 * k) return Texture::sand;
  if (si + 2 * cl < 30 * k) return Texture::loamy_sand;
  if (cl >= 40 * k) {
    if (sa > 45 * k) return Texture::sandy_clay;
    return si >= 40 * k ? Texture::silty_clay : Texture::clay;
  }
  if (cl >= 35 * k && sa > 45 * k) return Texture::sandy_clay;
  if (cl >= 27 * k) {
    if (sa > 45 * k) return Texture::sandy_clay_loam;
    return sa > 20 * k ? Texture::clay_loam : Texture::silty_clay_loam;
  }
  if (si >= 50 * k) return si >= 80 * k && cl < 12 * k ? Texture::silt : Texture::silt_loam;
  if (cl >= 20 * k && si < 28 * k) return Texture::sandy_clay_loam;
  if (cl < 7 * k || sa > 52 * k) return Texture::sandy_loam;
  return Texture::loam;
}

FineEarth typical_of(Texture texture) { return kTypical[static_cast<int>(texture)]; }

TrianglePoint triangle_point(const FineEarth& soil) {
  return {(soil.silt_percent + soil.clay_percent / 2) / 100,
          soil.clay_percent / 100 * std::sqrt(3.0) / 2};
}

std::optional<FineEarth> soil_at(const TrianglePoint& point) {
  const double clay = point.y * 200 / std::sqrt(3.0);
  const double silt = point.x * 100 - clay / 2;
  const double sand = 100 - silt - clay;
  if (!(clay >= 0 && silt >= 0 && sand >= 0)) return std::nullopt;
  return FineEarth{sand, silt, clay};
}

std::span<const FineEarth> corners_of(Texture texture) {
  return kCorners[static_cast<int>(texture)];
}

std::span<const FeelQuestion> feel_key() { return kKey; }

Result<FeelStep> walk_feel_key(std::span<const int> answers) {
  FeelStep step;
  for (size_t i = 0; i < answers.size(); ++i) {
    const std::string where = "answer " + std::to_string(i + 1);
    if (step.texture) return fail(Code::bad_input, "error.soil_class_already_found", where);
    const auto& choices = kKey[step.question].answers;
    if (answers[i] < 0 || answers[i] >= static_cast<int>(choices.size()))
      return fail(Code::bad_input, {"error.answer_range", {choices.size() - 1}}, where);
    const FeelAnswer& chosen = choices[answers[i]];
    if (chosen.texture)
      step.texture = chosen.texture;
    else
      step.question = chosen.next;
  }
  return step;
}

}  // namespace horizon
