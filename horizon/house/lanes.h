// horizon/house/lanes.h: eight numbers reckoned side by side, each exactly as it would be alone.
// Frame:    lane 0 to 7; what is written for `Real` runs with plain numbers and with lanes
// Accuracy: the same operations in the same order: the same digits, however many a register holds
#pragma once

#include <cstdint>

// What is short goes into its caller, whose registers may be wider than its own would be.
#define ADRET_INTO_CALLER [[gnu::always_inline]] inline

namespace horizon {

struct Lanes {
  static constexpr int kCount = 8;
  // As aligned as the widest registers ask for.
  using All = double __attribute__((vector_size(8 * kCount), aligned(8 * kCount)));
  All v;

  ADRET_INTO_CALLER Lanes(double all = 0)  // NOLINT: a plain number is eight alike
      : v{all, all, all, all, all, all, all, all} {}
  ADRET_INTO_CALLER explicit Lanes(const All& all) : v(all) {}
  double operator[](int lane) const { return v[lane]; }
  void set(int lane, double value) { v[lane] = value; }
  ADRET_INTO_CALLER Lanes operator-() const { return Lanes(-v); }
  ADRET_INTO_CALLER Lanes& operator+=(const Lanes& b) { return v += b.v, *this; }
  ADRET_INTO_CALLER Lanes& operator-=(const Lanes& b) { return v -= b.v, *this; }
};

ADRET_INTO_CALLER Lanes operator+(const Lanes& a, const Lanes& b) { return Lanes(a.v + b.v); }
ADRET_INTO_CALLER Lanes operator-(const Lanes& a, const Lanes& b) { return Lanes(a.v - b.v); }
ADRET_INTO_CALLER Lanes operator*(const Lanes& a, const Lanes& b) { return Lanes(a.v * b.v); }
ADRET_INTO_CALLER Lanes operator/(const Lanes& a, const Lanes& b) { return Lanes(a.v / b.v); }

struct LanesWhich {
  using Mask = std::int64_t __attribute__((vector_size(8 * Lanes::kCount)));
  Mask m;
};
ADRET_INTO_CALLER LanesWhich operator<(const Lanes& a, const Lanes& b) { return {a.v < b.v}; }
ADRET_INTO_CALLER LanesWhich operator>(const Lanes& a, const Lanes& b) { return {a.v > b.v}; }
ADRET_INTO_CALLER LanesWhich operator&(const LanesWhich& a, const LanesWhich& b) {
  return {a.m & b.m};
}
ADRET_INTO_CALLER LanesWhich operator|(const LanesWhich& a, const LanesWhich& b) {
  return {a.m | b.m};
}
ADRET_INTO_CALLER bool any(const LanesWhich& w) {
  const auto four =
      __builtin_shufflevector(w.m, w.m, 0, 1, 2, 3) | __builtin_shufflevector(w.m, w.m, 4, 5, 6, 7);
  const auto two =
      __builtin_shufflevector(four, four, 0, 1) | __builtin_shufflevector(four, four, 2, 3);
  return (two[0] | two[1]) != 0;
}
ADRET_INTO_CALLER Lanes pick(const LanesWhich& w, const Lanes& yes, const Lanes& no) {
  return Lanes(w.m ? yes.v : no.v);
}

// The same words for plain numbers.
inline bool any(bool which) { return which; }
inline double pick(bool which, double yes, double no) { return which ? yes : no; }

// Runs it with the widest registers that this processor has. `what` and all it calls go into it.
#if defined(__x86_64__) && !defined(__EMSCRIPTEN__)
template <class What>
[[gnu::target("avx512f"), gnu::noinline]] void in_eights(const What& what) {
  what();
}
template <class What>
[[gnu::target("avx2"), gnu::noinline]] void in_fours(const What& what) {
  what();
}
template <class What>
void in_widest(const What& what) {
  static const bool eights = __builtin_cpu_supports("avx512f"),
                    fours = __builtin_cpu_supports("avx2");
  if (eights) return in_eights(what);
  if (fours) return in_fours(what);
  what();
}
#else
template <class What>
void in_widest(const What& what) {
  what();
}
#endif

template <class Real>
inline constexpr int kLanesOf = 1;
template <>
inline constexpr int kLanesOf<Lanes> = Lanes::kCount;

inline double lane_of(double value, int) { return value; }
inline double lane_of(const Lanes& value, int lane) { return value[lane]; }
inline void set_lane(double& to, int, double value) { to = value; }
inline void set_lane(Lanes& to, int lane, double value) { to.set(lane, value); }

}  // namespace horizon
