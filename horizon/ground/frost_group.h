// horizon/ground/frost_group.h: how readily a soil grows ice lenses and heaves.
// Units:    per cent by mass finer than 0.02 mm
// Valid:    mineral soils; organic soils are no ground to build on
// Accuracy: the groups are defined on a laboratory grading; from a texture known by hand they are
//           a range, because fines of the whole soil and plasticity are estimates
// Source:   US Army Corps of Engineers, frost design soil classification (UFC 3-250-01), NFS to F4;
//           Casagrande's limit: most soils heave from 3 % finer than 0.02 mm
#pragma once

#include <cstdint>
#include <string_view>

#include "horizon/ground/texture.h"

namespace horizon {

enum class FrostGroup : std::uint8_t {
  nfs,  // not frost-susceptible
  pfs,  // possibly: needs a laboratory test
  s1,
  s2,
  f1,
  f2,
  f3,
  f4,  // the worst
};
std::string_view name_of(FrostGroup group);  // "NFS", "F3"

enum class FrostSoil : std::uint8_t {
  gravelly,
  sandy,
  very_fine_silty_sand,
  silt,
  clay,
  varved_clay,
};

struct FrostClass {
  FrostGroup group = FrostGroup::nfs;
  bool laboratory_test_wanted = false;  // the table puts it among the possibly susceptible too
};
// Without a plasticity index a clay counts as the worse of its two groups.
Result<FrostClass> frost_class(FrostSoil soil, double finer_than_002_percent,
                               std::optional<double> plasticity_index = {});

struct FrostRange {
  FrostGroup least = FrostGroup::nfs, most = FrostGroup::nfs;
  double finer_than_002_percent = 0;  // of the whole soil, estimated
};
// coarse_percent: stones and gravel over 2 mm, by volume.
FrostRange frost_range(const FineEarth& soil, double coarse_percent);

}  // namespace horizon
