// horizon/house/sky_temperature.h: how cold the sky is that a roof radiates to.
// Units:    degrees Celsius, Pa; cloud cover 0 to 1; hours of the sun from midnight
// Valid:    dew points of -30 to 25 C; in deep cold the clear sky's emissivity is held at 0.55
// Accuracy: emissivity 0.02 of a clear sky; clouds by one coefficient, whatever their height
// Source:   Martin & Berdahl 1984 with the terms for hour and pressure, as in ASHRAE 140; cloud
//           coefficient 0.784 of all clouds together. Cloud from global over clear-sky radiation
//           where nobody looked: Kasten & Czeplak 1980
#pragma once

namespace horizon {

// What the hour adds to the clear sky's emissivity: the same in all years, so worked out once.
double sky_hour_term(double sun_hour);
double clear_sky_emissivity(double dew_point_c, double hour_term, double pressure_pa);
double sky_temperature_c(double air_c, double dew_point_c, double cloud, double hour_term,
                         double pressure_pa);
// global_share: of the clear sky's global radiation.
double cloud_from_radiation(double global_share);

}  // namespace horizon
