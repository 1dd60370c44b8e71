#include "horizon/ground/texture.h"

#include <doctest/doctest.h>

#include <cmath>
#include <set>

#include "tests/near.h"

using namespace horizon;
using enum Texture;

namespace {
double doubled_area(std::span<const FineEarth> corners) {
  double sum = 0;
  for (size_t i = 0; i < corners.size(); ++i) {
    const TrianglePoint a = triangle_point(corners[i]),
                        b = triangle_point(corners[(i + 1) % corners.size()]);
    sum += a.x * b.y - b.x * a.y;
  }
  return std::abs(sum);
}
}  // namespace

// USDA Soil Survey Manual, chapter 3: the rule set, probed at its edges.
TEST_CASE("[published] texture classes at the edges of their definitions") {
  struct Probe {
    double sand, silt, clay;
    Texture texture;
  };
  const Probe probes[] = {
      {100, 0, 0, sand},
      {0, 100, 0, silt},
      {0, 0, 100, clay},
      {85, 15, 0, loamy_sand},
      {70, 30, 0, sandy_loam},
      {52, 41, 7, loam},
      {53, 40, 7, sandy_loam},
      {44, 50, 6, silt_loam},
      {20, 80, 0, silt},
      {8, 80, 12, silt_loam},
      {45, 28, 27, clay_loam},
      {45, 15, 40, clay},
      {46, 14, 40, sandy_clay},
      {20, 40, 40, silty_clay},
      {21, 39, 40, clay},
      {20, 53, 27, silty_clay_loam},
      {65, 0, 35, sandy_clay},
      {80, 0, 20, sandy_clay_loam},
      {53, 27, 20, sandy_clay_loam},
      {86, 14, 0, sand},
      {90, 0, 10, loamy_sand},
      {85, 0, 15, sandy_loam},
      {52, 28, 20, loam},
      {50, 50, 0, silt_loam},
      {51, 49, 0, sandy_loam},
      {45, 20, 35, clay_loam},
      {46, 19, 35, sandy_clay},
      {46, 20, 34, sandy_clay_loam},
      {0, 60, 40, silty_clay},
      {0, 73, 27, silty_clay_loam},
      {0, 88, 12, silt_loam},
      {23, 50, 27, clay_loam},
      {45, 0, 55, clay},
      {70.0, 9.8, 20.2, sandy_clay_loam},
  };
  for (const Probe& p : probes) {
    CAPTURE(p.sand);
    CAPTURE(p.silt);
    CHECK(name_of(texture_of({p.sand, p.silt, p.clay})) == name_of(p.texture));
  }
  // Saxton & Rawls 2006, table 3: each class's own point lies in it.
  for (int i = 0; i < kTextureCount; ++i)
    CHECK(texture_of(typical_of(static_cast<Texture>(i))) == static_cast<Texture>(i));
}

// The definitions themselves, as printed, one condition a class: exactly one must hold.
TEST_CASE("[published] every point of the triangle has the one class whose definition it meets") {
  for (int half_cl = 0; half_cl <= 200; ++half_cl)
    for (int half_si = 0; half_si + half_cl <= 200; ++half_si) {
      const double cl = half_cl / 2.0, si = half_si / 2.0, sa = 100 - cl - si;
      const bool holds[] = {
          si + 1.5 * cl < 15,
          si + 1.5 * cl >= 15 && si + 2 * cl < 30,
          (cl >= 7 && cl < 20 && sa > 52 && si + 2 * cl >= 30) ||
              (cl < 7 && si < 50 && si + 2 * cl >= 30),
          cl >= 7 && cl < 27 && si >= 28 && si < 50 && sa <= 52,
          (si >= 50 && cl >= 12 && cl < 27) || (si >= 50 && si < 80 && cl < 12),
          si >= 80 && cl < 12,
          cl >= 20 && cl < 35 && si < 28 && sa > 45,
          cl >= 27 && cl < 40 && sa > 20 && sa <= 45,
          cl >= 27 && cl < 40 && sa <= 20,
          cl >= 35 && sa > 45,
          cl >= 40 && si >= 40,
          cl >= 40 && sa <= 45 && si < 40,
      };
      int count = 0, which = -1;
      for (int i = 0; i < kTextureCount; ++i)
        if (holds[i]) ++count, which = i;
      REQUIRE(count == 1);
      REQUIRE(static_cast<int>(texture_of({sa, si, cl})) == which);
    }
}

TEST_CASE("[property] the drawn regions fill the triangle once and hold their classes") {
  double sum = 0;
  for (int i = 0; i < kTextureCount; ++i) {
    const auto corners = corners_of(static_cast<Texture>(i));
    sum += doubled_area(corners);
    // Half-way between each corner and the middle is inside: the regions are star-shaped so.
    FineEarth middle;
    for (const FineEarth& c : corners) {
      CHECK_NEAR(c.sand_percent + c.silt_percent + c.clay_percent, 100, 1e-9);
      middle.silt_percent += c.silt_percent / static_cast<double>(corners.size());
      middle.clay_percent += c.clay_percent / static_cast<double>(corners.size());
    }
    middle.sand_percent = 100 - middle.silt_percent - middle.clay_percent;
    CAPTURE(name_of(static_cast<Texture>(i)));
    CHECK(texture_of(middle) == static_cast<Texture>(i));
    const auto back = soil_at(triangle_point(middle));
    REQUIRE(back.has_value());
    CHECK_NEAR(back->clay_percent, middle.clay_percent, 1e-9);
    CHECK_NEAR(back->silt_percent, middle.silt_percent, 1e-9);
  }
  CHECK_NEAR(sum, std::sqrt(3.0) / 2, 1e-12);
  CHECK_FALSE(soil_at({-0.1, 0.1}).has_value());
}

TEST_CASE("[property] typed parts: two are enough, rounding is forgiven, nonsense is not") {
  CHECK_NEAR(fine_earth(40, {}, 20)->silt_percent, 40, 1e-12);
  CHECK_NEAR(fine_earth(40.4, 40.4, 20.2)->sand_percent, 40, 1e-9);  // adds up to 101
  CHECK_FALSE(fine_earth(40, 40, 25).has_value());
  CHECK_FALSE(fine_earth(40, {}, {}).has_value());
  CHECK_FALSE(fine_earth(80, {}, 30).has_value());
  CHECK_FALSE(fine_earth(-1, 50, 51).has_value());
  CHECK_FALSE(fine_earth(std::nan(""), 50, 50).has_value());
  for (int i = 0; i < kTextureCount; ++i)
    CHECK(texture_named(name_of(static_cast<Texture>(i))) == static_cast<Texture>(i));
  CHECK_FALSE(texture_named("mud").has_value());
}

// Thien 1979 (USDA guide): ribbon under 2.5 cm, to 5 cm, longer; gritty, smooth, neither.
TEST_CASE("[published] texture by feel: every path of the key") {
  const auto found = [](std::initializer_list<int> answers) {
    const auto step = walk_feel_key(std::vector<int>(answers));
    REQUIRE(step.has_value());
    REQUIRE(step->texture.has_value());
    return *step->texture;
  };
  CHECK(found({2}) == sand);
  CHECK(found({3, 0}) == loamy_sand);
  CHECK(found({3, 1, 0}) == sandy_loam);
  CHECK(found({3, 1, 1}) == silt_loam);
  CHECK(found({3, 1, 2}) == loam);
  CHECK(found({3, 2, 0}) == sandy_clay_loam);
  CHECK(found({3, 2, 1}) == silty_clay_loam);
  CHECK(found({3, 2, 2}) == clay_loam);
  CHECK(found({3, 3, 0}) == sandy_clay);
  CHECK(found({3, 3, 1}) == silty_clay);
  CHECK(found({3, 3, 2}) == clay);
  CHECK(found({0, 1, 0, 3, 0}) == loamy_sand);  // more water, more soil, and again
}

TEST_CASE("[property] the feel key is whole: every answer leads on or ends, all classes but silt") {
  std::set<int> asked = {0};
  std::set<Texture> reached;
  for (const FeelQuestion& question : feel_key())
    for (const FeelAnswer& answer : question.answers) {
      CHECK(answer.texture.has_value() != (answer.next >= 0));
      if (answer.texture)
        reached.insert(*answer.texture);
      else
        asked.insert(answer.next);
    }
  CHECK(asked.size() == feel_key().size());
  CHECK(*asked.rbegin() == static_cast<int>(feel_key().size()) - 1);
  CHECK(reached.size() == 11);
  CHECK_FALSE(reached.contains(silt));
  CHECK_FALSE(walk_feel_key(std::vector{9}).has_value());
  CHECK_FALSE(walk_feel_key(std::vector{-1}).has_value());
  CHECK_FALSE(walk_feel_key(std::vector{2, 0}).has_value());
  CHECK(walk_feel_key({})->question == 0);
}
