// horizon/plot/shape_problem.h: the adjustment of several things and stations as one least squares.
// Units:    radians, metres, logs of metres, as each parameter is named
// Frame:    the plot's east, north, up; a thing's place as bearing and log of distance from a base
// Valid:    inside place_shapes only
// Source:   Levenberg-Marquardt with derivatives by small steps
#pragma once

#include "horizon/plot/outline_fit.h"

namespace horizon {

// What is known of a thing before it is measured; logs, and their sigmas.
struct SizePrior {
  double ln_height = 0, ln_height_sigma = 1;
  double ln_length = 0, ln_length_sigma = 1;  // of a round one: its diameter
  double ln_width = 0, ln_width_sigma = 1;
  double ln_rise = 0, ln_rise_sigma = 1;  // of a gable over its eaves
};

struct Body {
  ShapeForm form = ShapeForm::round;
  SizePrior prior;
  Enu base = Enu::Zero();  // the eye from which bearing, distance and height are counted
  std::vector<int> views;  // of the problem's outlines
  // bearing, ln distance, tangent of the top's elevation; then turn, ln length, ln width, ln rise
  // as the form has them.
  Eigen::VectorXd start;
  static int size_of(ShapeForm form);
  Shape shape(const Eigen::Ref<const Eigen::VectorXd>& p) const;
};

class ShapeProblem {
 public:
  ShapeProblem(const PlotSurvey& survey, const std::vector<OutlineView>& views,
               std::vector<Body> bodies);
  Eigen::VectorXd start() const;
  double energy(const Eigen::VectorXd& x) const;  // minus the log of the posterior
  // To the least energy from x; `normal` is the matrix there. False if it found no such place.
  bool descend(Eigen::VectorXd& x, Eigen::MatrixXd& normal, int rounds) const;
  Shape shape(const Eigen::VectorXd& x, size_t body) const;
  // The stations as x has them, all of the survey's.
  std::vector<PlotStation> stations(const Eigen::VectorXd& x) const;
  double worst_residual(const Eigen::VectorXd& x, size_t body) const;

 private:
  void residuals(const Eigen::VectorXd& x, size_t body, int view, Residuals& out) const;
  void prior(const Eigen::VectorXd& x, size_t body, Residuals& out, double* extra) const;
  void assemble(const Eigen::VectorXd& x, Eigen::MatrixXd& normal, Eigen::VectorXd& right) const;

  const PlotSurvey& survey_;
  const std::vector<OutlineView>& views_;
  std::vector<Body> bodies_;
  std::vector<int> active_;      // stations that saw one of them
  std::vector<int> station_at_;  // by station: its place among the active ones, or -1
  std::vector<Eigen::Index> offsets_;
  Eigen::Index size_ = 0;
  GroundPlane ground_;
};

}  // namespace horizon
