// app/words/quantity.h: numbers, quantities, dates and bearings as people read them.
// Units:  in: SI as the names say; out: metric, or imperial as builders in North America use it
// Source: exact conversion factors of NIST SP 811, appendix B (1 ft = 0.3048 m, 1 Btu/ft2 =
//         11356.53 J/m2)
#pragma once

#include <optional>
#include <string>
#include <string_view>

#include "horizon/time.h"

namespace app {

enum class Units : unsigned char { metric, imperial };
std::optional<Units> units_named(std::string_view name);  // "metric", "imperial"

std::string spot_number(
    std::size_t index);  // I, II, III, ...: the sun map's own spots; a plan counts 1, 2, 3
std::string number(double value, int decimals = 0);  // decimal mark of the language; "1 482"
// Of ten winters, for a sentence and for a table: "3", but "more than 9" and ">9" where it is hardly
// ever otherwise, for draws make nothing certain; "fewer than 1", "<1" where hardly ever.
std::string of_ten(double share);
std::string of_ten_short(double share);
std::string with_sign(double value, int decimals);    // "+0.3", "−1.2", "0.0"
std::string hours_minutes(double hours);              // "3 h 12 min", "14 min"
std::string hours_decimal(double hours);              // "4.1 h"
std::string percent(double part);                     // 0.44 -> "44 %"
std::string degrees(double value, int decimals = 0);  // "171°"
std::string degree_range(double from, double to);     // "205°–231°"

std::string height(double metres, Units units);               // "1 482 m", "4 862 ft"
std::string distance(double metres, Units units);             // "12 m", "3.4 km", "39 ft", "2.1 mi"
std::string depth(double metres, Units units);                // "35 cm", "14 in"
std::string temperature(double celsius, Units units);         // "-35 °C", "-31 °F"
std::string wind_speed(double metres_a_second, Units units);  // "12 m/s", "27 mph"
std::string snow_load(double kilopascals, Units units);       // "2.4 kN/m²", "50 lb/ft²"
std::string energy(double kwh_m2, Units units);               // "1.84 kWh/m²", "583 Btu/ft²"
std::string area(double square_metres, Units units);          // "40 m²", "431 ft²"

std::string month_name(int month);  // 1 to 12
std::string month_short(int month);
std::string day_month(horizon::Date date);                        // "16 Feb"
std::string full_date(horizon::Date date);                        // "21 December 2026"
std::string compass_point(double azimuth_deg);                    // "SSE", one of 16
std::string position(double latitude_deg, double longitude_deg);  // "46.6213° N 10.3478° E"

}  // namespace app
