// horizon/plot/placed_shapes.h: where near things stand, how large they are, and how sure that is.
// Units:    metres, degrees; one standard deviation; an ellipse's 2.146 sigma hold 90 % of the draws
// Frame:    east, north, up of horizon/plot/plot.h
// Valid:    one station and more. From one without a distance only the direction is known; how far
//           it stands is then no surer than how tall and wide such things are
// Accuracy: the draws are of the posterior: counted in tests/horizon/plot/placed_shapes_test.cpp
// Method:   all outlines in one adjustment: per thing its place, height and size, per station its
//           position and heading. Shapes and turns that explain the marks as well stay as choices
//           with their weights (Laplace); draws by Metropolis steps that leave the adjustment's
//           normal distribution alone (preconditioned Crank-Nicolson)
// Source:   Tierney and Kadane 1986; Cotter, Roberts, Stuart, White 2013; the region of one more
//           observation by Hotelling's T2: Chew, J. Am. Stat. Assoc. 61 (1966) 605; sizes of trees and barns
//           before anything is measured: common practice, wide by a factor of two
#pragma once

#include "horizon/plot/shape.h"

namespace horizon {

struct ErrorEllipse {
  double major_m = 0, minor_m = 0;  // half axes, one standard deviation
  TrueAzimuth major_azimuth;        // in [0, 180)
};

enum class Placing : std::uint8_t {
  placed,     // distance known to a third
  rough,      // lines of sight that cut at a small angle: aim from a station further aside
  direction,  // one station, no distance
};

struct ShapeChoice {
  Shape shape;
  double weight = 1;  // all of a thing's sum to 1
};

struct PlacedShape {
  int obstacle = 0;
  std::vector<ShapeChoice> choices;  // the likeliest first
  std::vector<Shape> draws;          // of the same world at the same index for all things
  // Worlds hardly to be expected, yet not to be missed: nearer, farther, higher than the mean by three
  // sigmas; up to two other choices, however small their weight; where only the direction is known, as
  // near and as far as it may stand, step by step. Over the mean of the grounds; at the same index for
  // all things.
  std::vector<Shape> ends;
  Placing placing = Placing::direction;
  Eigen::Vector2d middle = Eigen::Vector2d::Zero();  // mean of the draws
  ErrorEllipse ellipse;                              // of the middle
  double height_m = 0, height_sigma_m = 0;           // of the top above the ground at its foot
  double height_low_m = 0, height_high_m = 0;        // 90 %
  int stations = 0;                                  // that saw it
  double worst_residual = 0;  // in sigmas: over 3.3 a mark is of another thing, or a slip
};

struct PlacedShapes {
  std::vector<PlacedShape> shapes;    // in the obstacles' order
  std::vector<PlotStation> stations;  // put right
  std::vector<GroundPlane> grounds;   // of each draw
};
inline constexpr int kWorldDraws = 160;
inline constexpr double kNearest_m =
    4;  // of what was seen from one side: who stands nearer paces it
PlacedShapes place_shapes(const PlotSurvey& survey, std::uint32_t seed = 1);

}  // namespace horizon
