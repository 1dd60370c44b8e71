#include "horizon/light/growing_light.h"

#include <algorithm>
#include <cmath>

namespace horizon {

std::vector<CropNeed> default_crop_needs() {
  // Where a source gives a range, its middle; they are targets for good growth, not for survival.
  return {
      {"seedlings and overwintering greens", 6, "common practice"},
      {"red-leaf lettuce, least", 8, "Paz, Fisher & Gomez 2019: 6.5 to 9.7"},
      {"leafy greens and herbs", 12, "Plants 2024, 13(5), 652: at least 12"},
      {"lettuce, full growth", 17, "from memory: a university's hydroponic lettuce handbook"},
      {"tomatoes", 25, "encyclopaedia article on daily light integral: 20 to 30"},
  };
}

int DaySpell::days(int days_in_year) const {
  return to_day >= from_day ? to_day - from_day + 1 : to_day - from_day + 1 + days_in_year;
}

std::vector<DaySpell> spells_at_or_above(const std::vector<double>& daily, double need,
                                         int window) {
  const int n = static_cast<int>(daily.size());
  std::vector<DaySpell> spells;
  if (n == 0) return spells;
  std::vector<char> enough(n);
  const int half = window / 2;
  for (int d = 0; d < n; ++d) {
    double total = 0;
    for (int k = -half; k <= half; ++k) total += daily[((d + k) % n + n) % n];
    enough[d] = total >= need * (2 * half + 1);
  }
  const auto first_low = std::find(enough.begin(), enough.end(), 0);
  if (first_low == enough.end()) return {{1, n}};
  // Once round the year from a day that is too dark, so that no spell is cut at New Year.
  const int start = static_cast<int>(first_low - enough.begin());
  for (int k = 1; k <= n; ++k) {
    const int d = (start + k) % n;
    if (!enough[d]) continue;
    if (!enough[(d + n - 1) % n]) spells.push_back({d + 1, d + 1});
    spells.back().to_day = d + 1;
  }
  std::sort(spells.begin(), spells.end(),
            [](const DaySpell& a, const DaySpell& b) { return a.from_day < b.from_day; });
  return spells;
}

std::vector<DaySpell> seasons_of(std::vector<DaySpell> spells, int days_in_year) {
  constexpr int kGap_d = 7;
  for (bool joined = true; joined && spells.size() > 1;) {
    joined = false;
    for (size_t i = 0; i < spells.size() && !joined; ++i) {
      const size_t next = (i + 1) % spells.size();
      const int gap = (spells[next].from_day - spells[i].to_day - 1 + days_in_year) % days_in_year;
      if (gap > kGap_d || spells[i].days(days_in_year) <= gap ||
          spells[next].days(days_in_year) <= gap)
        continue;
      spells[i].to_day = spells[next].to_day;
      spells.erase(spells.begin() + static_cast<std::ptrdiff_t>(next));
      joined = true;
    }
  }
  // One that meets its own beginning fills the year.
  if (spells.size() == 1 && days_in_year - spells[0].days(days_in_year) <= kGap_d)
    spells[0] = {1, days_in_year};
  std::sort(spells.begin(), spells.end(),
            [](const DaySpell& a, const DaySpell& b) { return a.from_day < b.from_day; });
  return spells;
}

const DaySpell* longest(const std::vector<DaySpell>& spells, int days_in_year) {
  const auto it =
      std::max_element(spells.begin(), spells.end(), [&](const DaySpell& a, const DaySpell& b) {
        return a.days(days_in_year) < b.days(days_in_year);
      });
  return it == spells.end() ? nullptr : &*it;
}

}  // namespace horizon
