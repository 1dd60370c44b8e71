#include "horizon/ground/frost_group.h"

#include <algorithm>
#include <cmath>

namespace horizon {

std::string_view name_of(FrostGroup group) {
  constexpr std::string_view names[] = {"NFS", "PFS", "S1", "S2", "F1", "F2", "F3", "F4"};
  return names[static_cast<int>(group)];
}

Result<FrostClass> frost_class(FrostSoil soil, double finer, std::optional<double> plasticity) {
  if (!(finer >= 0 && finer <= 100)) return fail(Code::bad_input, "error.fines_percent_range");
  switch (soil) {
    case FrostSoil::gravelly:
      if (finer <= 1.5) return FrostClass{FrostGroup::nfs};
      if (finer <= 3) return FrostClass{FrostGroup::pfs, true};
      if (finer <= 6) return FrostClass{FrostGroup::s1};
      if (finer <= 10) return FrostClass{FrostGroup::f1};
      return FrostClass{finer <= 20 ? FrostGroup::f2 : FrostGroup::f3};
    case FrostSoil::sandy:
    case FrostSoil::very_fine_silty_sand:
      if (finer <= 3) return FrostClass{FrostGroup::nfs};
      if (finer <= 6) return FrostClass{FrostGroup::s2, true};
      if (finer <= 15) return FrostClass{FrostGroup::f2, finer <= 10};
      return FrostClass{soil == FrostSoil::sandy ? FrostGroup::f3 : FrostGroup::f4};
    case FrostSoil::clay:
      return FrostClass{plasticity && *plasticity > 12 ? FrostGroup::f3 : FrostGroup::f4};
    case FrostSoil::silt:
    case FrostSoil::varved_clay:
      return FrostClass{FrostGroup::f4};
  }
  return fail(Code::bad_input, "error.soil_kind_unknown");
}

FrostRange frost_range(const FineEarth& soil, double coarse_percent) {
  // By mass: stones 2650 kg/m3 solid, fine earth 1500 with its pores.
  const double stones = coarse_percent / 100 * 2650, earth = (1 - coarse_percent / 100) * 1500;
  const double earth_share = earth / std::max(1e-9, stones + earth);
  // Silt is 0.002 to 0.05 mm; spread evenly over the logarithm, this much of it is under 0.02.
  const double silt_share = std::log(20.0 / 2.0) / std::log(50.0 / 2.0);
  FrostRange range;
  range.finer_than_002_percent = earth_share * (soil.clay_percent + silt_share * soil.silt_percent);

  // Over half under 0.05 mm, or nearly so: a silt or a clay by the engineer's naming as well.
  const bool fine = earth_share * (soil.silt_percent + soil.clay_percent) >= 50;
  if (fine) {
    range.most = FrostGroup::f4;
    // With a quarter of clay the plasticity index may lie on either side of 12.
    range.least = soil.clay_percent >= 25 ? FrostGroup::f3 : FrostGroup::f4;
    return range;
  }
  const FrostSoil kind = earth_share < 0.5 ? FrostSoil::gravelly : FrostSoil::sandy;
  const FrostSoil worst = kind == FrostSoil::gravelly ? kind : FrostSoil::very_fine_silty_sand;
  // The estimate of the fines is good to a third either way.
  range.least = frost_class(kind, range.finer_than_002_percent * 0.67)->group;
  range.most = frost_class(worst, std::min(100.0, range.finer_than_002_percent * 1.33))->group;
  return range;
}

}  // namespace horizon
