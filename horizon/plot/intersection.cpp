#include "horizon/plot/intersection.h"

#include <Eigen/Dense>
#include <algorithm>
#include <cmath>
#include <numbers>

namespace horizon {
namespace {

constexpr int kRounds = 30;
constexpr double kThird = 1.0 / 3.0;
// What the distance of a thing may be that nobody measured: a ridge half a kilometre or more away,
// anything else ten metres or more.
constexpr double kRidgeInverse = 0.0005, kRidgeInverseSigma = 0.0005;
constexpr double kNearInverse = 0.03, kNearInverseSigma = 0.03;

Enu direction(double az, double el) {
  return {std::sin(az) * std::cos(el), std::cos(az) * std::cos(el), std::sin(el)};
}

// Where the plumb planes of the aims cut, by least squares; nothing if they are parallel.
std::optional<Enu> crossing(const PlotSurvey& survey, const std::vector<int>& aims) {
  Eigen::Matrix2d normal = Eigen::Matrix2d::Zero();
  Eigen::Vector2d right = Eigen::Vector2d::Zero();
  for (const int a : aims) {
    const PlotAim& aim = survey.aims[static_cast<size_t>(a)];
    const double az = aim.azimuth.radians();
    const Eigen::Vector2d across(std::cos(az), -std::sin(az));
    const Enu& eye = survey.stations[static_cast<size_t>(aim.station)].eye;
    normal += across * across.transpose();
    right += across * across.dot(eye.head<2>());
  }
  if (normal.determinant() < 1e-7) return std::nullopt;
  const Eigen::Vector2d at = normal.ldlt().solve(right);
  double up = 0;
  for (const int a : aims) {
    const PlotAim& aim = survey.aims[static_cast<size_t>(a)];
    const Enu& eye = survey.stations[static_cast<size_t>(aim.station)].eye;
    const Eigen::Vector2d away = at - eye.head<2>();
    if (away.dot(
            Eigen::Vector2d(std::sin(aim.azimuth.radians()), std::cos(aim.azimuth.radians()))) <= 0)
      return std::nullopt;  // behind
    up += (eye.z() + away.norm() * std::tan(aim.elevation.radians())) /
          static_cast<double>(aims.size());
  }
  return Enu(at.x(), at.y(), up);
}

Result<void> check(const PlotSurvey& survey) {
  const auto bad = [](const char* what, size_t i, const char* message) {
    return fail(Code::bad_input, message, what + std::string(" ") + std::to_string(i + 1));
  };
  for (size_t i = 0; i < survey.stations.size(); ++i) {
    const PlotStation& s = survey.stations[i];
    if (!(s.eye.allFinite() && s.horizontal_sigma_m > 0 && s.up_sigma_m > 0 &&
          s.heading_sigma_deg > 0))
      return bad("station", i, "error.station_needs_position");
  }
  for (size_t i = 0; i < survey.marks.size(); ++i) {
    const PlotMark& m = survey.marks[i];
    if (m.obstacle < 0 || m.obstacle >= static_cast<int>(survey.obstacles.size()))
      return bad("mark", i, "error.mark_without_obstacle");
    if (m.distance_m && !(*m.distance_m > 0)) return bad("mark", i, "error.distance_needed");
    if (m.distance_sigma_m && !(*m.distance_sigma_m > 0))
      return bad("mark", i, "error.distance_error_needed");
  }
  for (size_t i = 0; i < survey.aims.size(); ++i) {
    const PlotAim& a = survey.aims[i];
    if (a.station < 0 || a.station >= static_cast<int>(survey.stations.size()))
      return bad("aim", i, "error.aim_without_station");
    if (a.mark < 0 || a.mark >= static_cast<int>(survey.marks.size()))
      return bad("aim", i, "error.aim_without_mark");
    if (!(a.azimuth.finite() && std::abs(a.elevation.degrees()) < 89.9))
      return bad("aim", i, "error.aim_angles_needed");
    if (!(a.azimuth_sigma_deg > 0 && a.elevation_sigma_deg > 0))
      return bad("aim", i, "error.aim_sigmas_needed");
  }
  for (size_t i = 0; i < survey.outlines.size(); ++i) {
    const PlotOutline& o = survey.outlines[i];
    if (o.station < 0 || o.station >= static_cast<int>(survey.stations.size()))
      return bad("outline", i, "error.aim_without_station");
    if (o.obstacle < 0 || o.obstacle >= static_cast<int>(survey.obstacles.size()))
      return bad("outline", i, "error.mark_without_obstacle");
    for (const OutlineMark& m : o.marks) {
      if (!(m.azimuth.finite() && std::abs(m.elevation.degrees()) < 89.9))
        return bad("outline", i, "error.aim_angles_needed");
      if (!(m.azimuth_sigma_deg > 0 && m.elevation_sigma_deg > 0))
        return bad("outline", i, "error.aim_sigmas_needed");
      if (m.distance_m && !(*m.distance_m > 0)) return bad("outline", i, "error.distance_needed");
    }
  }
  return {};
}

struct Prior {
  double inverse = 0, sigma = 0;
};

}  // namespace

Result<PlacedPlot> place_marks(const PlotSurvey& given) {
  if (const auto checked = check(given); !checked) return tl::unexpected(checked.error());
  PlotSurvey survey = given;
  PlacedPlot plot;
  if (!survey.outlines.empty()) {
    PlacedShapes shapes = place_shapes(survey);
    survey.stations = std::move(shapes.stations);
    plot.shapes = std::move(shapes.shapes);
    plot.grounds = std::move(shapes.grounds);
  }
  const size_t stations = survey.stations.size(), marks = survey.marks.size();
  plot.survey = survey;
  plot.marks.resize(marks);
  plot.rays.resize(marks);

  std::vector<std::vector<int>> aims_at(marks);
  for (size_t a = 0; a < survey.aims.size(); ++a)
    aims_at[static_cast<size_t>(survey.aims[a].mark)].push_back(static_cast<int>(a));

  std::vector<std::optional<Prior>> priors(marks);
  for (size_t m = 0; m < marks; ++m) {
    const PlotMark& mark = survey.marks[m];
    if (aims_at[m].empty())
      return fail(Code::bad_input, "error.mark_not_aimed_at", "mark " + std::to_string(m + 1));
    PlacedPlot::Ray& ray = plot.rays[m];
    for (const int a : aims_at[m])
      ray.from +=
          survey.stations[static_cast<size_t>(survey.aims[static_cast<size_t>(a)].station)].eye /
          static_cast<double>(aims_at[m].size());
    const auto crossed = crossing(survey, aims_at[m]);
    const bool ridge =
        survey.obstacles[static_cast<size_t>(mark.obstacle)].what.kind == Kind::ridge;
    if (mark.distance_m) {
      const double d = *mark.distance_m;
      priors[m] = Prior{1 / d, mark.distance_sigma_m.value_or(0.1 * d) / (d * d)};
    } else if (ridge) {
      priors[m] = Prior{kRidgeInverse, kRidgeInverseSigma};
    } else if (!crossed) {
      priors[m] = Prior{kNearInverse, kNearInverseSigma};
    }
    const PlotAim& first = survey.aims[static_cast<size_t>(aims_at[m].front())];
    Enu away = direction(first.azimuth.radians(), first.elevation.radians());
    ray.inverse_m = priors[m] ? priors[m]->inverse : 0;
    if (crossed && !ridge) {
      away = *crossed - ray.from;
      ray.inverse_m = 1 / std::max(0.5, away.norm());
    }
    ray.azimuth_rad = std::atan2(away.x(), away.y());
    ray.elevation_rad = std::atan2(away.z(), std::hypot(away.x(), away.y()));
  }

  // Unknowns: per station its error in east, north, up and heading; per mark its ray.
  const auto size = static_cast<Eigen::Index>(4 * stations + 3 * marks);
  const auto ray_at = [&](size_t m) { return static_cast<Eigen::Index>(4 * stations + 3 * m); };
  Eigen::VectorXd shift = Eigen::VectorXd::Zero(static_cast<Eigen::Index>(4 * stations));
  Eigen::MatrixXd normal(size, size);
  for (int round = 0; round < kRounds; ++round) {
    normal.setZero();
    Eigen::VectorXd right = Eigen::VectorXd::Zero(size);
    for (size_t s = 0; s < stations; ++s) {
      const PlotStation& one = survey.stations[s];
      const double sigmas[] = {one.horizontal_sigma_m, one.horizontal_sigma_m, one.up_sigma_m,
                               one.heading_sigma_deg * kDegree};
      for (int k = 0; k < 4; ++k) {
        const auto i = static_cast<Eigen::Index>(4 * s) + k;
        normal(i, i) += 1 / (sigmas[k] * sigmas[k]);
        right(i) -= shift(i) / (sigmas[k] * sigmas[k]);
      }
    }
    for (size_t m = 0; m < marks; ++m)
      if (priors[m]) {
        const double weight = 1 / (priors[m]->sigma * priors[m]->sigma);
        normal(ray_at(m) + 2, ray_at(m) + 2) += weight;
        right(ray_at(m) + 2) += weight * (priors[m]->inverse - plot.rays[m].inverse_m);
      }
    for (const PlotAim& aim : survey.aims) {
      const auto s = static_cast<Eigen::Index>(4 * aim.station);
      const auto m = static_cast<size_t>(aim.mark);
      const PlacedPlot::Ray& ray = plot.rays[m];
      const Enu eye = survey.stations[static_cast<size_t>(aim.station)].eye + shift.segment<3>(s);
      const double az = ray.azimuth_rad, el = ray.elevation_rad;
      const Enu v = (ray.from - eye) * ray.inverse_m + direction(az, el);
      const double h2 = v.x() * v.x() + v.y() * v.y(), h = std::sqrt(h2), r2 = h2 + v.z() * v.z();
      const Eigen::RowVector3d az_by_v(v.y() / h2, -v.x() / h2, 0);
      const Eigen::RowVector3d el_by_v(-v.x() * v.z() / (h * r2), -v.y() * v.z() / (h * r2),
                                       h / r2);
      Eigen::Matrix3d v_by_ray;
      v_by_ray.col(0) = Enu(std::cos(az) * std::cos(el), -std::sin(az) * std::cos(el), 0);
      v_by_ray.col(1) =
          Enu(-std::sin(az) * std::sin(el), -std::cos(az) * std::sin(el), std::cos(el));
      v_by_ray.col(2) = ray.from - eye;
      Eigen::Matrix<double, 2, 7> j;
      j.block<1, 3>(0, 0) = -ray.inverse_m * az_by_v;
      j.block<1, 3>(1, 0) = -ray.inverse_m * el_by_v;
      j(0, 3) = 1;
      j(1, 3) = 0;
      j.block<1, 3>(0, 4) = az_by_v * v_by_ray;
      j.block<1, 3>(1, 4) = el_by_v * v_by_ray;
      const Eigen::Vector2d off(
          wrap_180((aim.azimuth.radians() - std::atan2(v.x(), v.y()) - shift(s + 3)) / kDegree) *
              kDegree,
          aim.elevation.radians() - std::atan2(v.z(), h));
      const Eigen::Vector2d weight(std::pow(aim.azimuth_sigma_deg * kDegree, -2),
                                   std::pow(aim.elevation_sigma_deg * kDegree, -2));
      const Eigen::Matrix<double, 7, 2> jw = j.transpose() * weight.asDiagonal();
      const Eigen::Matrix<double, 7, 7> n = jw * j;
      const Eigen::Matrix<double, 7, 1> g = jw * off;
      const Eigen::Index at[2] = {s, ray_at(m)};
      const int from[2] = {0, 4}, count[2] = {4, 3};
      for (int p = 0; p < 2; ++p) {
        right.segment(at[p], count[p]) += g.segment(from[p], count[p]);
        for (int q = 0; q < 2; ++q)
          normal.block(at[p], at[q], count[p], count[q]) +=
              n.block(from[p], from[q], count[p], count[q]);
      }
    }
    const Eigen::LDLT<Eigen::MatrixXd> solver(normal);
    const Eigen::VectorXd step = solver.solve(right);
    if (!step.allFinite()) return fail(Code::failed, "error.marks_not_fixed");
    shift += step.head(shift.size());
    double largest = 0;
    for (size_t m = 0; m < marks; ++m) {
      PlacedPlot::Ray& ray = plot.rays[m];
      ray.azimuth_rad += std::clamp(step(ray_at(m)), -0.3, 0.3);
      ray.elevation_rad += std::clamp(step(ray_at(m) + 1), -0.3, 0.3);
      // An inverse distance of 0 is a summit at infinity; it may not turn to lie behind.
      ray.inverse_m = std::clamp(ray.inverse_m + step(ray_at(m) + 2), ray.inverse_m / 3,
                                 3 * ray.inverse_m + 1e-4);
      largest = std::max(largest, step.segment<2>(ray_at(m)).cwiseAbs().maxCoeff());
    }
    if (round > 2 && largest < 1e-9) break;
  }

  // The marks stand where they do with the stations put right: heights above the ground need both.
  for (size_t s = 0; s < stations; ++s)
    plot.survey.stations[s].eye += shift.segment<3>(static_cast<Eigen::Index>(4 * s));

  const Eigen::MatrixXd all = normal.ldlt().solve(Eigen::MatrixXd::Identity(size, size));
  plot.covariance = all.bottomRightCorner(static_cast<Eigen::Index>(3 * marks),
                                          static_cast<Eigen::Index>(3 * marks));
  for (size_t m = 0; m < marks; ++m) {
    PlacedMark& mark = plot.marks[m];
    const PlacedPlot::Ray& ray = plot.rays[m];
    const double inverse = std::max(ray.inverse_m, 1e-6), d = 1 / inverse;
    const double az = ray.azimuth_rad, el = ray.elevation_rad;
    mark.position = ray.from + d * direction(az, el);
    Eigen::Matrix3d j;
    j.col(0) = d * Enu(std::cos(az) * std::cos(el), -std::sin(az) * std::cos(el), 0);
    j.col(1) = d * Enu(-std::sin(az) * std::sin(el), -std::cos(az) * std::sin(el), std::cos(el));
    j.col(2) = -d * d * direction(az, el);
    const Eigen::Matrix3d cov = j *
                                plot.covariance.block<3, 3>(static_cast<Eigen::Index>(3 * m),
                                                            static_cast<Eigen::Index>(3 * m)) *
                                j.transpose();
    const Eigen::SelfAdjointEigenSolver<Eigen::Matrix2d> axes(cov.topLeftCorner<2, 2>());
    mark.ellipse.minor_m = std::sqrt(std::max(0.0, axes.eigenvalues()(0)));
    mark.ellipse.major_m = std::sqrt(std::max(0.0, axes.eigenvalues()(1)));
    const Eigen::Vector2d major = axes.eigenvectors().col(1);
    mark.ellipse.major_azimuth = TrueAzimuth::degrees(
        std::fmod(wrap_360(std::atan2(major.x(), major.y()) / kDegree), 180.0));
    mark.up_sigma_m = std::sqrt(std::max(0.0, cov(2, 2)));
    for (const int a : aims_at[m])
      for (const int b : aims_at[m]) {
        const double turn = std::abs(clockwise_deg(survey.aims[static_cast<size_t>(a)].azimuth,
                                                   survey.aims[static_cast<size_t>(b)].azimuth));
        mark.cut_deg = std::max(mark.cut_deg, std::min(turn, 180 - turn));
      }
    const double inverse_sigma = std::sqrt(plot.covariance(static_cast<Eigen::Index>(3 * m + 2),
                                                           static_cast<Eigen::Index>(3 * m + 2)));
    const bool alone = std::all_of(aims_at[m].begin(), aims_at[m].end(), [&](int a) {
      return survey.aims[static_cast<size_t>(a)].station ==
             survey.aims[static_cast<size_t>(aims_at[m].front())].station;
    });
    if (inverse_sigma < kThird * inverse)
      mark.placing = Placing::placed;
    else
      mark.placing = alone && !survey.marks[m].distance_m ? Placing::direction : Placing::rough;
    for (const int a : aims_at[m]) {
      const PlotAim& aim = survey.aims[static_cast<size_t>(a)];
      const auto s = static_cast<Eigen::Index>(4 * aim.station);
      const Enu eye = survey.stations[static_cast<size_t>(aim.station)].eye + shift.segment<3>(s);
      const Enu v = (ray.from - eye) * ray.inverse_m + direction(az, el);
      const double off_az =
          wrap_180(aim.azimuth.degrees() - (std::atan2(v.x(), v.y()) + shift(s + 3)) / kDegree);
      const double off_el =
          aim.elevation.degrees() - std::atan2(v.z(), std::hypot(v.x(), v.y())) / kDegree;
      mark.worst_residual = std::max({mark.worst_residual, std::abs(off_az) / aim.azimuth_sigma_deg,
                                      std::abs(off_el) / aim.elevation_sigma_deg});
    }
  }
  return plot;
}

MarkHeight height_of(const PlacedPlot& plot, int mark) {
  const PlacedMark& placed = plot.marks[static_cast<size_t>(mark)];
  const GroundPlane ground = ground_plane(plot.survey.stations);
  return {placed.position.z() - ground.up_at(placed.position.x(), placed.position.y()),
          placed.up_sigma_m};
}

}  // namespace horizon
