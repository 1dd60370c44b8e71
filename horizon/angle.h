// horizon/angle.h: angles that cannot be mixed up.
// Units:  degrees in and out; stored as degrees so that a value survives database and report
//         exactly
// Frame:  azimuths clockwise from their own north (true, magnetic, grid), always in [0, 360);
//         elevations upwards from the horizontal plane of the observer
// Errors: none; a value that is not finite stays so, check input where it enters (`finite()`)
#pragma once

#include <cmath>
#include <numbers>

namespace horizon {

inline constexpr double kDegree = std::numbers::pi / 180.0;  // radians in a degree

// The same direction in [0, 360).
inline double wrap_360(double degrees) {
  double turned = degrees;
  // What fmod gives, without its cost where no or one turn is too many.
  if (!(degrees > -360.0 && degrees < 360.0))
    turned = degrees >= 360.0 && degrees < 720.0 ? degrees - 360.0 : std::fmod(degrees, 360.0);
  if (turned < 0) turned += 360.0;
  return turned >= 360.0 ? 0.0 : turned;  // -1e-20 + 360 rounds to 360
}

// The same direction in [-180, 180): the signed way from one azimuth to another.
inline double wrap_180(double degrees) { return wrap_360(degrees + 180.0) - 180.0; }

struct TrueNorth {};
struct MagneticNorth {};
struct GridNorth {};

template <class North>
class Azimuth {
 public:
  constexpr Azimuth() = default;
  static Azimuth degrees(double value) { return Azimuth(wrap_360(value)); }

  double degrees() const { return degrees_; }
  double radians() const { return degrees_ * kDegree; }
  bool finite() const { return std::isfinite(degrees_); }
  Azimuth turned_by(double clockwise_deg) const { return degrees(degrees_ + clockwise_deg); }
  friend bool operator==(Azimuth, Azimuth) = default;

 private:
  explicit constexpr Azimuth(double degrees) : degrees_(degrees) {}
  double degrees_ = 0;
};

using TrueAzimuth = Azimuth<TrueNorth>;
using MagneticAzimuth = Azimuth<MagneticNorth>;
using GridAzimuth = Azimuth<GridNorth>;

// Signed degrees clockwise from `from` to `to`, in [-180, 180).
template <class North>
double clockwise_deg(Azimuth<North> from, Azimuth<North> to) {
  return wrap_180(to.degrees() - from.degrees());
}

// declination_deg: positive where the needle points east of true north.
inline TrueAzimuth to_true(MagneticAzimuth azimuth, double declination_deg) {
  return TrueAzimuth::degrees(azimuth.degrees() + declination_deg);
}
inline MagneticAzimuth to_magnetic(TrueAzimuth azimuth, double declination_deg) {
  return MagneticAzimuth::degrees(azimuth.degrees() - declination_deg);
}

// convergence_deg: the true azimuth of grid north, positive where grid north lies east of true.
inline TrueAzimuth to_true(GridAzimuth azimuth, double convergence_deg) {
  return TrueAzimuth::degrees(azimuth.degrees() + convergence_deg);
}
inline GridAzimuth to_grid(TrueAzimuth azimuth, double convergence_deg) {
  return GridAzimuth::degrees(azimuth.degrees() - convergence_deg);
}

class Elevation {
 public:
  constexpr Elevation() = default;
  static constexpr Elevation degrees(double value) { return Elevation(value); }

  constexpr double degrees() const { return degrees_; }
  constexpr double radians() const { return degrees_ * kDegree; }
  bool finite() const { return std::isfinite(degrees_); }
  friend bool operator==(Elevation, Elevation) = default;

 private:
  explicit constexpr Elevation(double degrees) : degrees_(degrees) {}
  double degrees_ = 0;
};

}  // namespace horizon
