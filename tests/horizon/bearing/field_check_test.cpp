#include "horizon/bearing/field_check.h"

#include <doctest/doctest.h>

#include <Eigen/Geometry>
#include <cmath>
#include <random>
#include <vector>

#include "tests/csv_rows.h"
#include "tests/near.h"

using namespace horizon;

namespace {

std::vector<MagneticField> compass_places() {
  std::vector<MagneticField> fields;
  for (const CsvRow& row : csv_rows("wmm2025_test.csv")) {
    if (row["H_nT"] < 6000) continue;
    fields.push_back(*magnetic_field(
        {row["lat_deg"], row["lon_deg"], 1000 * row["height_km_ellipsoid"]}, row["decimal_year"]));
  }
  return fields;
}

FieldReading reading_of(const Eigen::Vector3d& field) {
  FieldReading reading;
  reading.total_nt = field.norm();
  reading.inclination_deg = std::atan2(field.z(), std::hypot(field.x(), field.y())) / kDegree;
  return reading;
}

Eigen::Vector3d vector_of(const FieldElements& e) { return {e.x_nt, e.y_nt, e.z_nt}; }

// Field of a magnetic dipole in free space: mu0 / 4 pi r^3 (3 (m.r) r - m), in nanotesla.
Eigen::Vector3d dipole_nt(const Eigen::Vector3d& moment_am2, const Eigen::Vector3d& towards,
                          double distance_m) {
  const Eigen::Vector3d r = towards.normalized();
  return 100.0 * (3 * moment_am2.dot(r) * r - moment_am2) / std::pow(distance_m, 3);
}

std::vector<TrueAzimuth> aims_of(std::initializer_list<double> degrees) {
  std::vector<TrueAzimuth> aims;
  for (const double d : degrees) aims.push_back(TrueAzimuth::degrees(d));
  return aims;
}

}  // namespace

// NOAA/NCEI, WMM2025 test values, as printed.
TEST_CASE("[published] the model's own test values read as clean") {
  for (const CsvRow& row : csv_rows("wmm2025_test.csv")) {
    const auto model = magnetic_field(
        {row["lat_deg"], row["lon_deg"], 1000 * row["height_km_ellipsoid"]}, row["decimal_year"]);
    FieldReading reading;
    reading.total_nt = row["F_nT"];
    reading.inclination_deg = row["I_deg"];
    const FieldVerdict v = field_check(reading, *model);
    CHECK(v.state == (row["H_nT"] < 2000 ? FieldState::unusable : FieldState::clean));
    CHECK(std::abs(v.total_off_nt) < 0.06);
    CHECK(std::abs(v.inclination_off_deg) < 0.006);
    CHECK(v.step_back_factor == 1);
  }
}

TEST_CASE("[property] sensor noise alone is called disturbed once in a hundred") {
  std::mt19937 random(29);
  std::normal_distribution<double> normal(0, 1);
  int disturbed = 0, not_clean = 0, runs = 0;
  for (const MagneticField& model : compass_places())
    for (int i = 0; i < 200; ++i, ++runs) {
      FieldReading reading = reading_of(vector_of(model.now));
      reading.total_nt += std::hypot(1000, 138) * normal(random);
      *reading.inclination_deg += std::hypot(1.0, 0.2) * normal(random);
      if (std::abs(*reading.inclination_deg) > 90) continue;
      const FieldState state = field_check(reading, model).state;
      disturbed += state == FieldState::disturbed;
      not_clean += state != FieldState::clean;
    }
  CHECK_NEAR(static_cast<double>(disturbed) / runs, 0.01, 0.004);
  CHECK_NEAR(static_cast<double>(not_clean) / runs, 0.10, 0.012);
}

// A truck's moment is of the order of 1000 A m2: 100 000 nT m3 / r^3.
TEST_CASE(
    "[published] a dipole near by is found, its heading error named, and walking away cures") {
  std::mt19937 random(31);
  std::normal_distribution<double> normal(0, 1);
  const auto any = [&] {
    return Eigen::Vector3d(normal(random), normal(random), normal(random)).normalized();
  };
  int found_near = 0, found_far = 0, runs = 0;
  double squared_named = 0, squared_real = 0, after = 0;
  int over_worst = 0, found = 0;
  for (const MagneticField& model : compass_places()) {
    if (model.now.horizontal_nt < 15000) continue;  // the cure below is stated for small angles
    for (int i = 0; i < 60; ++i, ++runs) {
      const Eigen::Vector3d moment = 1000 * any(), towards = any();
      const Eigen::Vector3d earth = vector_of(model.now);
      const auto heading_error = [&](double distance_m) {
        const Eigen::Vector3d field = earth + dipole_nt(moment, towards, distance_m);
        return wrap_180(std::atan2(field.y(), field.x()) / kDegree - model.now.declination_deg);
      };
      const FieldVerdict at_2m =
          field_check(reading_of(earth + dipole_nt(moment, towards, 2)), model);
      found_near += at_2m.state == FieldState::disturbed;
      found_far += field_check(reading_of(earth + dipole_nt(moment, towards, 8)), model).state !=
                   FieldState::clean;
      const FieldVerdict at_3m =
          field_check(reading_of(earth + dipole_nt(moment, towards, 3)), model);
      squared_named += std::pow(at_3m.heading_error_deg, 2);
      squared_real += std::pow(heading_error(3), 2);
      if (at_3m.state != FieldState::disturbed) continue;
      ++found;
      over_worst += std::abs(heading_error(3)) > at_3m.worst_heading_error_deg;
      after += std::pow(heading_error(3 * at_3m.step_back_factor), 2);
    }
  }
  CHECK(found_near > 0.97 * runs);
  CHECK(found_far == 0);
  // Typical error named against the real one, both as root mean squares.
  CHECK(std::sqrt(squared_named / squared_real) > 0.7);
  CHECK(std::sqrt(squared_named / squared_real) < 1.3);
  CHECK(over_worst < 0.15 * found);
  CHECK(std::sqrt(after / found) < 1.6);
}

TEST_CASE("[property] a reading that is none, or no compass country, is unusable") {
  const MagneticField model = *magnetic_field({46.6213, 10.3478, 1482}, 2026.9);
  FieldReading reading;
  CHECK(field_check(reading, model).state == FieldState::unusable);
  reading.total_nt = NAN;
  CHECK(field_check(reading, model).state == FieldState::unusable);
  reading.total_nt = model.now.total_nt;
  reading.inclination_deg = 95;
  CHECK(field_check(reading, model).state == FieldState::unusable);
  reading.inclination_deg.reset();
  CHECK(field_check(reading, model).state == FieldState::clean);
  reading.total_nt += 2000;
  CHECK(field_check(reading, model).state == FieldState::doubtful);
  reading.total_nt += 2000;
  CHECK(field_check(reading, model).state == FieldState::disturbed);
}

// Quantiles of chi-squared in any handbook's table: 90 % 2.706 and 4.605, 99 % 6.635 and 9.210.
TEST_CASE("[published] one reading of ten sound ones is doubtful, one of a hundred disturbed") {
  const MagneticField model = *magnetic_field({46.6213, 10.3478, 1482}, 2026.9);
  const double total_sigma = std::hypot(1000, model.sigma.total_nt);
  const double dip_sigma = std::hypot(1.0, model.sigma.inclination_deg);
  const auto state = [&](double chi_squared, bool with_dip) {
    FieldReading reading;
    const double each = std::sqrt(chi_squared / (with_dip ? 2 : 1));
    reading.total_nt = model.now.total_nt + each * total_sigma;
    if (with_dip) reading.inclination_deg = model.now.inclination_deg - each * dip_sigma;
    return field_check(reading, model).state;
  };
  CHECK(state(2.65, false) == FieldState::clean);
  CHECK(state(2.75, false) == FieldState::doubtful);
  CHECK(state(6.55, false) == FieldState::doubtful);
  CHECK(state(6.70, false) == FieldState::disturbed);
  CHECK(state(4.55, true) == FieldState::clean);
  CHECK(state(4.65, true) == FieldState::doubtful);
  CHECK(state(9.15, true) == FieldState::doubtful);
  CHECK(state(9.27, true) == FieldState::disturbed);
}

// The distance of two vectors in the meridian plane, less what the noise alone makes of it.
TEST_CASE("[published] what disturbs is as large as the field measured less the field expected") {
  const MagneticField model = *magnetic_field({46.6213, 10.3478, 1482}, 2026.9);
  FieldReading reading;
  reading.total_nt = model.now.total_nt;
  reading.inclination_deg = model.now.inclination_deg - 8;
  const double f = reading.total_nt, was = model.now.inclination_deg * kDegree,
               is = *reading.inclination_deg * kDegree;
  const double apart =
      std::hypot(f * std::cos(is) - f * std::cos(was), f * std::sin(is) - f * std::sin(was));
  const double noise = std::hypot(std::hypot(1000, model.sigma.total_nt),
                                  f * std::hypot(1.0, model.sigma.inclination_deg) * kDegree);
  const FieldVerdict verdict = field_check(reading, model);
  const double disturbance = std::sqrt(apart * apart - noise * noise);
  CHECK_NEAR(verdict.disturbance_nt, disturbance, 0.01);
  // Each of its two parts as large as the other; the worst is twice that, across a weak needle.
  const double part = disturbance / std::sqrt(2.0), h = model.now.horizontal_nt;
  CHECK_NEAR(verdict.heading_error_deg, std::atan(part / h) / kDegree, 1e-6);
  CHECK_NEAR(verdict.worst_heading_error_deg, std::asin(2 * part / h) / kDegree, 1e-6);
  CHECK_NEAR(verdict.step_back_factor, std::cbrt(part / (h * std::tan(kDegree))), 1e-9);
}

// The same numbers come out of scipy 1.10's circmean, circvar and circstd.
TEST_CASE("[published] mean direction, resultant and circular standard deviation") {
  struct Row {
    std::initializer_list<double> aims;
    double mean, resultant, sd;
  };
  for (const Row& r : {Row{{350, 10}, 0, .984808, 10.0256}, Row{{355, 5, 15}, 5, .989872, 8.17537},
                       Row{{170, 190, 180, 175}, 178.741026, .991692, 7.40103},
                       Row{{359.2, .4, 1.1, 359.8, .6}, .220004, .999934, .658487},
                       Row{{10, 20, 30, 40}, 25, .981060, 11.20463}}) {
    const AimSpread spread = spread_of(aims_of(r.aims));
    REQUIRE(spread.mean.has_value());
    CHECK_NEAR(wrap_180(spread.mean->degrees() - r.mean), 0, 1e-6);
    CHECK_NEAR(spread.resultant, r.resultant, 6e-7);
    CHECK_NEAR(spread.variance, 1 - r.resultant, 6e-7);
    CHECK_NEAR(spread.sd_deg, r.sd, 6e-5);
  }
  CHECK_FALSE(spread_of(aims_of({0, 180})).mean.has_value());
  CHECK(spread_of(aims_of({0, 180})).resultant == 0);
  CHECK(spread_of({}).count == 0);
  CHECK(spread_of(aims_of({5, NAN})).count == 1);
}

TEST_CASE("[property] the stated sigma of a mean of five aims is its scatter") {
  std::mt19937 random(37);
  std::normal_distribution<double> normal(0, 2);
  double real = 0, stated = 0;
  const int kRuns = 4000;
  for (int i = 0; i < kRuns; ++i) {
    std::vector<TrueAzimuth> aims;
    for (int k = 0; k < 5; ++k) aims.push_back(TrueAzimuth::degrees(359.5 + normal(random)));
    const AimSpread spread = spread_of(aims);
    real += std::pow(wrap_180(spread.mean->degrees() - 359.5), 2);
    stated += std::pow(spread.mean_sigma_deg, 2);
  }
  CHECK_NEAR(std::sqrt(stated / real), 1, 0.05);
}

TEST_CASE("[common practice] fore and back bearing of one line differ by 180 degrees") {
  const LineCheck good =
      line_check(TrueAzimuth::degrees(10), 0.5, TrueAzimuth::degrees(190.8), 0.5);
  CHECK(good.agrees);
  CHECK_NEAR(good.disagreement_deg, 0.8, 1e-12);
  CHECK_NEAR(good.fore.degrees(), 10.4, 1e-12);
  const LineCheck bad = line_check(TrueAzimuth::degrees(359), 0.5, TrueAzimuth::degrees(174), 0.5);
  CHECK_FALSE(bad.agrees);
  CHECK_NEAR(bad.disagreement_deg, -5, 1e-12);
  const auto agrees = [](double sigmas) {  // 99 % of a normal variate lie within 2.576 sigmas
    const auto back = TrueAzimuth::degrees(190 + sigmas * std::hypot(0.3, 0.4));
    return line_check(TrueAzimuth::degrees(10), 0.3, back, 0.4).agrees;
  };
  CHECK(agrees(2.55));
  CHECK_FALSE(agrees(2.60));
  // Where neither has an error the mean lies half way.
  CHECK_NEAR(line_check(TrueAzimuth::degrees(10), 0, TrueAzimuth::degrees(191), 0).fore.degrees(),
             10.5, 1e-12);
}
