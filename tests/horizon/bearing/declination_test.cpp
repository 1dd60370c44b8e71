#include "horizon/bearing/declination.h"

#include <doctest/doctest.h>

#include <cmath>

#include "horizon/time.h"
#include "tests/csv_rows.h"
#include "tests/near.h"

using namespace horizon;

namespace {

MagneticField field_at(double year, double height_km, double lat, double lon) {
  const auto field = magnetic_field({lat, lon, height_km * 1000}, year);
  REQUIRE(field.has_value());
  return *field;
}

}  // namespace

// NOAA/NCEI and CIRES, WMM2025 test values: 12 rows of the technical report (printed to 0.1 nT)
// and rows of the high-precision list (printed to 1e-6 nT, met to 1e-3:
// 1e-8 of the field); angles printed to 0.01 degree.
TEST_CASE("[published] the WMM2025 test values, to the printed digits") {
  for (const CsvRow& row : csv_rows("wmm2025_test.csv")) {
    const bool fine = row.text.at("set") == "test100";
    const double nt = fine ? 1e-3 : 0.05001, rate = fine ? 5e-6 : 0.00501;
    const MagneticField f =
        field_at(row["decimal_year"], row["height_km_ellipsoid"], row["lat_deg"], row["lon_deg"]);
    CHECK_NEAR(f.now.x_nt, row["X_nT"], nt);
    CHECK_NEAR(f.now.y_nt, row["Y_nT"], nt);
    CHECK_NEAR(f.now.z_nt, row["Z_nT"], nt);
    CHECK_NEAR(f.now.horizontal_nt, row["H_nT"], nt);
    CHECK_NEAR(f.now.total_nt, row["F_nT"], nt);
    CHECK_NEAR(f.now.inclination_deg, row["I_deg"], 0.00501);
    CHECK_NEAR(f.now.declination_deg, row["D_deg"], 0.00501);
    CHECK_NEAR(f.per_year.declination_deg, row["Ddot_deg_per_yr"], rate);
  }
}

// An independent evaluation of the same published coefficients for valley sites.
TEST_CASE("[published] valley sites of five continents") {
  struct Row {
    double year, height_km, lat, lon, declination;
  };
  for (const Row& r :
       {Row{2025.0, 0, 46.5, 7.9, 3.248}, Row{2026.5, 1.5, 34.15, 77.58, 2.439},
        Row{2028.0, 2.5, -16.5, -68.15, -10.225}, Row{2026.5, 0, 39.7392, -104.9903, 7.517},
        Row{2027.0, 0, -43.5, 172.6, 24.704}, Row{2029.9, 0.3, 69.65, 18.96, 12.104},
        Row{2026.5, 0.6, 36.2, 138.0, -8.340}, Row{2026.5, 3.4, 35, 76.5, 2.777}})
    CHECK_NEAR(field_at(r.year, r.height_km, r.lat, r.lon).now.declination_deg, r.declination,
               0.0006);
  CHECK_NEAR(field_at(2025, 0, 46.5, 7.9).now.horizontal_nt, 22083.8, 0.06);
  CHECK_NEAR(field_at(2025, 0, 46.5, 7.9).now.inclination_deg, 62.618, 0.0006);
}

// WMM2025 error model and zones: CIRES wmm/uncertainty.py and pygeomag, figures recomputed.
TEST_CASE("[published] the error model of the declination, and the zones near the magnetic poles") {
  CHECK_NEAR(field_sigma(2000).declination_deg, 2.72095, 1e-5);
  CHECK_NEAR(field_sigma(6000).declination_deg, 0.93953, 1e-5);
  CHECK_NEAR(field_sigma(10786).declination_deg, 0.56554, 1e-5);
  CHECK_NEAR(field_sigma(20876.6).declination_deg, 0.36733, 1e-5);
  CHECK_NEAR(field_sigma(30126).declination_deg, 0.31612, 1e-5);
  CHECK(field_sigma(0).declination_deg == 180);
  CHECK(compass_zone(1999.9) == CompassZone::blackout);
  CHECK(compass_zone(2000) == CompassZone::caution);
  CHECK(compass_zone(5999.9) == CompassZone::caution);
  CHECK(compass_zone(6000) == CompassZone::normal);
  CHECK(name_of(field_at(2026, 0, 85, 140).zone) == "blackout");
  CHECK(name_of(field_at(2026, 0, 46.6, 10.3).zone) == "normal");
}

TEST_CASE("[property] the yearly change is the change over a year") {
  for (const double lat : {-78.0, -33.0, 0.0, 46.6, 71.0}) {
    const MagneticField a = field_at(2026.5, 1, lat, 10.3), b = field_at(2027.5, 1, lat, 10.3),
                        middle = field_at(2027.0, 1, lat, 10.3);
    CHECK_NEAR(b.now.x_nt - a.now.x_nt, middle.per_year.x_nt, 1e-6);
    CHECK_NEAR(b.now.z_nt - a.now.z_nt, middle.per_year.z_nt, 1e-6);
    CHECK_NEAR(b.now.horizontal_nt - a.now.horizontal_nt, middle.per_year.horizontal_nt, 0.2);
    CHECK_NEAR(b.now.total_nt - a.now.total_nt, middle.per_year.total_nt, 0.2);
    CHECK_NEAR(b.now.declination_deg - a.now.declination_deg, middle.per_year.declination_deg,
               1e-3);
    CHECK_NEAR(b.now.inclination_deg - a.now.inclination_deg, middle.per_year.inclination_deg,
               1e-3);
  }
}

TEST_CASE(
    "[property] the field is one and the same from both sides of the date line and at a pole") {
  const MagneticField west = field_at(2027, 0, -43.5, -180), east = field_at(2027, 0, -43.5, 180);
  CHECK_NEAR(west.now.declination_deg, east.now.declination_deg, 1e-9);
  CHECK_NEAR(field_at(2027, 0, -43.5, 540).now.y_nt, east.now.y_nt, 1e-6);
  // At the pole the same horizontal vector is seen along every meridian.
  const MagneticField zero = field_at(2027, 0, 90, 0), quarter = field_at(2027, 0, 90, 90);
  CHECK_NEAR(zero.now.horizontal_nt, quarter.now.horizontal_nt, 1e-6);
  CHECK_NEAR(zero.now.x_nt, quarter.now.y_nt, 1e-6);
  CHECK_NEAR(zero.now.y_nt, -quarter.now.x_nt, 1e-6);
  CHECK_NEAR(field_at(2027, 0, 90, 20).now.total_nt, field_at(2027, 0, 89.99999, 20).now.total_nt,
             0.01);
}

TEST_CASE("[published] outside 2025.0 to 2030.0 there is no value, and the cure is named") {
  for (const double year : {2024.999, 2030.001, 1900.0}) {
    const auto field = magnetic_field({46.6, 10.3, 1482}, year);
    REQUIRE_FALSE(field.has_value());
    CHECK(field.error().code == Code::out_of_range);
    CHECK(field.error().key == "error.magnetic_model_dates");
  }
  CHECK(magnetic_field({46.6, 10.3, 1482}, 2025.0).has_value());
  CHECK(magnetic_field({46.6, 10.3, 1482}, 2030.0).has_value());
}

TEST_CASE("[property] what is no place or no date is refused") {
  CHECK_FALSE(magnetic_field({90.1, 0, 0}, 2026).has_value());
  CHECK_FALSE(magnetic_field({NAN, 0, 0}, 2026).has_value());
  CHECK_FALSE(magnetic_field({0, INFINITY, 0}, 2026).has_value());
  CHECK_FALSE(magnetic_field({0, 0, -5000}, 2026).has_value());
  CHECK_FALSE(magnetic_field({0, 0, NAN}, 2026).has_value());
  CHECK_FALSE(magnetic_field({0, 0, 0}, NAN).has_value());
}

TEST_CASE("[property] decimal years count leap years by their own length") {
  const auto year_at = [](const char* text) { return decimal_year_of(parse_utc_s(text).value()); };
  CHECK_NEAR(year_at("2025-01-01T00:00:00Z"), 2025.0, 1e-12);
  CHECK_NEAR(year_at("2027-07-02T12:00:00Z"), 2027.5, 1e-9);
  CHECK_NEAR(year_at("2028-07-02T00:00:00Z"), 2028.5, 1e-9);
  CHECK_NEAR(year_at("2029-12-31T00:00:00Z"), 2030 - 1 / 365.0, 1e-9);
}
