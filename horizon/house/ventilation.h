// horizon/house/ventilation.h: how much air goes through openings by warmth and by wind.
// Units:    m3/s, m2, m, degrees Celsius, m/s
// Frame:    half of the area low, half high (stack); or half in each end wall (cross breeze)
// Valid:    free openings without nets; insect nets take half and more
// Accuracy: about 30 %
// Source:   orifice equation, discharge 0.6, and wind effectiveness 0.3 (oblique) to 0.6 (straight
//           through): ASHRAE Handbook of Fundamentals, ch. 16, natural ventilation
#pragma once

namespace horizon {

double stack_flow_m3_s(double vent_area_m2, double height_between_m, double inside_c,
                       double outside_c);
double wind_flow_m3_s(double vent_area_m2, double wind_ms, bool straight_through);
// Both drive the same openings: root of the sum of squares.
double vent_flow_m3_s(double vent_area_m2, double height_between_m, double inside_c,
                      double outside_c, double wind_ms, bool straight_through);
// What it takes for a flow.
double vent_area_m2(double flow_m3_s, double height_between_m, double inside_c, double outside_c,
                    double wind_ms, bool straight_through);

}  // namespace horizon
