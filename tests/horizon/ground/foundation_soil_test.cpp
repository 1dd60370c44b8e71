#include <doctest/doctest.h>

#include <cmath>

#include "horizon/ground/frost_group.h"
#include "horizon/ground/presumptive_bearing.h"
#include "tests/near.h"

using namespace horizon;

// US Army Corps of Engineers frost design soil classification, per cent finer than 0.02 mm.
TEST_CASE("[published] frost groups") {
  const auto group = [](FrostSoil soil, double finer, std::optional<double> pi = {}) {
    return name_of(frost_class(soil, finer, pi)->group);
  };
  using enum FrostSoil;
  CHECK(group(gravelly, 1.5) == "NFS");
  CHECK(group(gravelly, 2) == "PFS");
  CHECK(group(gravelly, 5) == "S1");
  CHECK(group(gravelly, 8) == "F1");
  CHECK(group(gravelly, 15) == "F2");
  CHECK(group(gravelly, 21) == "F3");
  CHECK(group(sandy, 3) == "NFS");
  CHECK(group(sandy, 5) == "S2");
  CHECK(frost_class(sandy, 5)->laboratory_test_wanted);
  CHECK(group(sandy, 12) == "F2");
  CHECK(group(sandy, 16) == "F3");
  CHECK(group(very_fine_silty_sand, 16) == "F4");
  CHECK(group(silt, 40) == "F4");
  CHECK(group(clay, 60, 20) == "F3");
  CHECK(group(clay, 60, 8) == "F4");
  CHECK(group(clay, 60) == "F4");  // not known: the worse
  CHECK(group(varved_clay, 60, 20) == "F4");
  CHECK_FALSE(frost_class(sandy, -1).has_value());
  CHECK_FALSE(frost_class(sandy, std::nan("")).has_value());
}

TEST_CASE("[property] frost range from a texture known by hand") {
  const FrostRange silt = frost_range(typical_of(Texture::silt), 0);
  CHECK(silt.least == FrostGroup::f4);
  const FrostRange sand = frost_range({98, 1, 1}, 0);
  CHECK(sand.least == FrostGroup::nfs);
  const FrostRange clay = frost_range(typical_of(Texture::clay), 0);
  CHECK(clay.least == FrostGroup::f3);
  CHECK(clay.most == FrostGroup::f4);
  const FrostRange stony = frost_range({98, 1, 1}, 80);
  CHECK(stony.finer_than_002_percent < sand.finer_than_002_percent);
  for (int coarse = 0; coarse <= 100; coarse += 10)
    for (int i = 0; i < kTextureCount; ++i) {
      const FrostRange range = frost_range(typical_of(static_cast<Texture>(i)), coarse);
      CHECK(range.least <= range.most);
    }
}

// International Building Code, table 1806.2; 1 psf = 0.0479 kPa.
TEST_CASE("[published] presumptive bearing") {
  using enum BearingClass;
  const struct {
    BearingClass soil;
    double psf, lateral, kpa;
  } rows[] = {{crystalline_bedrock, 12000, 1200, 574.6},
              {sedimentary_rock, 4000, 400, 191.5},
              {gravel, 3000, 200, 143.6},
              {sand, 2000, 150, 95.8},
              {clay, 1500, 100, 71.8}};
  for (const auto& row : rows) {
    const PresumptiveBearing bearing = presumptive_bearing(row.soil);
    CHECK_NEAR(bearing.vertical_psf, row.psf, 0);
    CHECK_NEAR(bearing.lateral_psf_per_ft, row.lateral, 0);
    CHECK_NEAR(bearing.vertical_kpa(), row.kpa, 0.05);
    CHECK(bearing.friction.has_value() != bearing.cohesion_psf.has_value());
  }
  CHECK_NEAR(*presumptive_bearing(clay).cohesion_psf, 130, 0);
  CHECK_NEAR(*presumptive_bearing(sand).friction, 0.25, 0);
  CHECK_NEAR(*presumptive_bearing(crystalline_bedrock).friction, 0.70, 0);
}

TEST_CASE("[property] organic soil and fill get no bearing") {
  CHECK_FALSE(bearing_class(typical_of(Texture::loam), 0, 20).has_value());
  CHECK_FALSE(bearing_class(typical_of(Texture::sand), 0, 0, true).has_value());
  CHECK(bearing_class(typical_of(Texture::silt), 0) == BearingClass::clay);
  CHECK(bearing_class(typical_of(Texture::sandy_loam), 10) == BearingClass::sand);
  CHECK(bearing_class(typical_of(Texture::sand), 70) == BearingClass::gravel);
  CHECK(bearing_class(typical_of(Texture::loam), 70) == BearingClass::sand);  // silty gravel
}
