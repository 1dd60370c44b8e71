#include "horizon/bearing/landmark.h"

#include <algorithm>
#include <cmath>

namespace horizon {
namespace {

constexpr double kWorstSigma_deg = 2;
constexpr double kRefractionSigma = 0.05;

}  // namespace

Result<LandmarkBearing> landmark_bearing(const Eye& eye, const Landmark& landmark,
                                         double refraction_k) {
  if (!is_place(eye.place) || !is_place(landmark.place))
    return fail(Code::bad_input, "error.landmark_place_needed", landmark.name);
  const Sight line = sight(eye.place, landmark.place, refraction_k);
  const double across_m = std::hypot(eye.position_sigma_m, landmark.position_sigma_m);
  LandmarkBearing result;
  result.known = line.azimuth;
  result.distance_m = line.distance_m;
  result.known_sigma_deg = std::atan2(across_m, line.distance_m) / kDegree;
  if (!(result.known_sigma_deg <= kWorstSigma_deg))
    return fail(
        Code::out_of_range,
        {"error.landmark_too_near", {std::lround(across_m / std::tan(kWorstSigma_deg * kDegree))}},
        landmark.name);
  if (landmark.height_known) {
    result.expected = line.apparent;
    const double rise_m = line.slant_m * std::sin(line.geometric.radians());
    const double slant2 = line.slant_m * line.slant_m;
    const double by_height = std::hypot(eye.height_sigma_m, landmark.height_sigma_m) *
                             line.distance_m / slant2 / kDegree;
    const double by_distance = across_m * std::abs(rise_m) / slant2 / kDegree;
    result.expected_sigma_deg =
        std::hypot(by_height, by_distance, refraction_lift_deg(line.distance_m, kRefractionSigma));
  }
  return result;
}

LandmarkVerdict landmark_verdict(const LandmarkBearing& bearing, std::optional<Elevation> measured,
                                 double measured_sigma_deg) {
  LandmarkVerdict verdict;
  if (!bearing.expected || !measured || !measured->finite()) return verdict;
  verdict.off_deg = measured->degrees() - bearing.expected->degrees();
  verdict.normalised =
      std::abs(verdict.off_deg) / std::hypot(measured_sigma_deg, bearing.expected_sigma_deg);
  verdict.fit = verdict.normalised <= 2     ? LandmarkFit::fits
                : verdict.normalised <= 3.3 ? LandmarkFit::doubtful
                                            : LandmarkFit::wrong;
  return verdict;
}

HeadingCheck landmark_check(const LandmarkBearing& bearing, const std::string& name,
                            TrueAzimuth measured, double measured_sigma_deg) {
  HeadingCheck check;
  check.kind = CheckKind::landmark;
  check.measured = measured;
  check.known = bearing.known;
  check.measured_sigma_deg = measured_sigma_deg;
  check.known_sigma_deg = bearing.known_sigma_deg;
  check.label = name;
  return check;
}

HeadingCheck back_bearing_check(const Place& there, TrueAzimuth corrected_aim_there,
                                double aim_sigma_deg, const Place& here, TrueAzimuth measured_here,
                                double measured_sigma_deg) {
  const Geodesic line = geodesic(there, here);
  HeadingCheck check;
  check.kind = CheckKind::back_bearing;
  check.measured = measured_here;
  // The meridians of the two stations are not parallel.
  check.known = corrected_aim_there.turned_by(180 + clockwise_deg(line.azimuth, line.onward));
  check.measured_sigma_deg = measured_sigma_deg;
  check.known_sigma_deg = aim_sigma_deg;
  return check;
}

}  // namespace horizon
