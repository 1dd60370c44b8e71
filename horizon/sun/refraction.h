// horizon/sun/refraction.h: how much the air lifts the sun.
// Units:    degrees, hPa, degrees Celsius, metres above the sea
// Frame:    `true` is the direction without air, `apparent` as seen; from the eye's horizon upwards
// Valid:    elevations -90 to 90. The formula holds down to -1.9 degrees, its own largest value;
//           below, the lift fades evenly to nothing at the nadir: continuous, never singular
// Accuracy: 0.002 degree above 5 degrees, 0.02 below; real air at the horizon scatters by 0.1 and
//           more. The two directions undo each other to 1e-9 degree
// Source:   Saemundsson 1986, as Meeus, Astronomical Algorithms, 2nd ed., ch. 16, and SPA eq. 42;
//           ISO 2533 standard atmosphere
#pragma once

namespace horizon {

struct Air {
  double pressure_hpa = 1010;  // at the station, not reduced to sea level
  double temperature_c = 10;
};

// The standard atmosphere at a height, -500 to 11000 m.
double standard_pressure_hpa(double height_m);
double standard_temperature_c(double height_m);
Air standard_air(double height_m);

// The lift, to be added to a true elevation; never negative.
double refraction_deg(double true_elevation_deg, const Air& air);
// Its change with true elevation, degrees per degree.
double refraction_slope(double true_elevation_deg, const Air& air);

double apparent_elevation_deg(double true_elevation_deg, const Air& air);
double true_elevation_deg(double apparent_elevation_deg, const Air& air);

}  // namespace horizon
