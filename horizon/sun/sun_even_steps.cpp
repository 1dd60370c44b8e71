// Four directions at a time where the processor can; built with the flags that CMakeLists.txt gives.
// Nothing is contracted or reordered, so the values are those of SunTrack::at().

#include <algorithm>

#include "horizon/sun/sun_track.h"

namespace horizon {
namespace {

#if defined(__x86_64__) && defined(__GNUC__) && !defined(__clang__) && \
    !defined(__SANITIZE_ADDRESS__) && !defined(__SANITIZE_THREAD__)
[[gnu::target_clones("avx2", "default")]]
#endif
void through_one_day(const SunEphemeris::Cubic cubic, double first_day, double day, const Observer observer,
                     double from_utc_s, double step_s, int begin, int end, SunDirection* out) {
  for (int i = begin; i < end; ++i) {
    const double utc_s = from_utc_s + step_s * i;
    out[i] = Observer::direction_of(observer.local(
        cubic.position(utc_s * (1 / 86400.0) - first_day - day), earth_rotation_turns(utc_s)));
  }
}

}  // namespace

void SunTrack::at_even_steps(double from_utc_s, double step_s,
                             std::span<SunDirection> directions) const {
  const int count = static_cast<int>(directions.size());
  const auto cubic_of = [&](int i) {
    return ephemeris_->cubic_index(ephemeris_->day_at(from_utc_s + step_s * i));
  };
  for (int begin = 0; begin < count;) {
    const int cubic = cubic_of(begin);
    int end = begin + 1;
    while (end < count && cubic_of(end) == cubic) ++end;
    through_one_day(ephemeris_->cubic(cubic), ephemeris_->first_day(), cubic, observer_, from_utc_s,
                    step_s, begin, end, directions.data());
    begin = end;
  }
}

}  // namespace horizon
