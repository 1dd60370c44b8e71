// horizon/house/lanes.h: four numbers reckoned side by side, each exactly as it would be alone.
// Frame:    lane 0 to 3; what is written for `Real` runs with plain numbers and with lanes
// Accuracy: the same operations in the same order: the same digits
#pragma once

#include <cstdint>

namespace horizon {

struct Lanes {
  static constexpr int kCount = 4;
  using Pair = double __attribute__((vector_size(16)));
  Pair p[2];

  Lanes(double all = 0) : p{{all, all}, {all, all}} {}  // NOLINT: a plain number is four alike
  Lanes(Pair a, Pair b) : p{a, b} {}
  double operator[](int lane) const { return p[lane / 2][lane % 2]; }
  void set(int lane, double value) { p[lane / 2][lane % 2] = value; }
  Lanes operator-() const { return {-p[0], -p[1]}; }
  Lanes& operator+=(const Lanes& b);
  Lanes& operator-=(const Lanes& b);
};

inline Lanes operator+(const Lanes& a, const Lanes& b) {
  return {a.p[0] + b.p[0], a.p[1] + b.p[1]};
}
inline Lanes operator-(const Lanes& a, const Lanes& b) {
  return {a.p[0] - b.p[0], a.p[1] - b.p[1]};
}
inline Lanes operator*(const Lanes& a, const Lanes& b) {
  return {a.p[0] * b.p[0], a.p[1] * b.p[1]};
}
inline Lanes operator/(const Lanes& a, const Lanes& b) {
  return {a.p[0] / b.p[0], a.p[1] / b.p[1]};
}
inline Lanes& Lanes::operator+=(const Lanes& b) { return *this = *this + b; }
inline Lanes& Lanes::operator-=(const Lanes& b) { return *this = *this - b; }

struct LanesWhich {
  using Mask = std::int64_t __attribute__((vector_size(16)));
  Mask m[2];
};
inline LanesWhich operator<(const Lanes& a, const Lanes& b) {
  return {{a.p[0] < b.p[0], a.p[1] < b.p[1]}};
}
inline LanesWhich operator>(const Lanes& a, const Lanes& b) { return b < a; }
inline LanesWhich operator&(const LanesWhich& a, const LanesWhich& b) {
  return {{a.m[0] & b.m[0], a.m[1] & b.m[1]}};
}
inline bool any(const LanesWhich& w) {
  const LanesWhich::Mask both = w.m[0] | w.m[1];
  return (both[0] | both[1]) != 0;
}
inline Lanes pick(const LanesWhich& w, const Lanes& yes, const Lanes& no) {
  return {w.m[0] ? yes.p[0] : no.p[0], w.m[1] ? yes.p[1] : no.p[1]};
}
// Is any of them under 0? By the signs, so -0 may count.
inline bool any_below_0(const Lanes& a, const Lanes& b) {
  using Bits = LanesWhich::Mask;
  const Bits all = (Bits)a.p[0] | (Bits)a.p[1] | (Bits)b.p[0] | (Bits)b.p[1];
  return (all[0] | all[1]) < 0;
}

// The same words for plain numbers.
inline bool any(bool which) { return which; }
inline bool any_below_0(double a, double b) { return a < 0 || b < 0; }
inline double pick(bool which, double yes, double no) { return which ? yes : no; }

template <class Real>
inline constexpr int kLanesOf = 1;
template <>
inline constexpr int kLanesOf<Lanes> = Lanes::kCount;

inline double lane_of(double value, int) { return value; }
inline double lane_of(const Lanes& value, int lane) { return value[lane]; }
inline void set_lane(double& to, int, double value) { to = value; }
inline void set_lane(Lanes& to, int lane, double value) { to.set(lane, value); }

}  // namespace horizon
