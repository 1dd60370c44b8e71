// horizon/skyline/ridge_bounds.h: ridge lines within bounds: one bound after the other, picked by their
// weights. Of horizon/skyline/ridge_lines.h alone.
// Units:  degrees; heights "bent" (ridge_shape.h)
// Source: as ridge_lines.h
#pragma once

#include <Eigen/Dense>
#include <span>
#include <vector>

#include "horizon/skyline/ridge_shape.h"

namespace horizon {

// Heights at the bounds that the lines of one shape could have, given the marks.
struct BoundedRidge {
  std::vector<double> low, high;  // bent
  Eigen::VectorXd mean;
  Eigen::MatrixXd root;

  BoundedRidge(const RidgeShape& shape, std::span<const RidgeSeen> seen,
               std::span<const RidgeSeen> at, std::span<const RidgeBound> bounds);

  struct Tried {
    Eigen::MatrixXd heights;  // one line a column
    std::vector<double> weights;
    double log_mean = 0;  // of the weights
  };
  // One bound after the other: each height within its own ends given those before, the weight how
  // likely that was.
  Tried tried(int count, Gauss& gauss) const;
  // The likely ones, in even steps of the weights' sum.
  Eigen::MatrixXd picked(int count, Gauss& gauss) const;
};

// Each shape's weight by how likely its lines keep the bounds, which lie at the azimuths of `at`.
void weigh_by_bounds(std::span<const RidgeSeen> seen, std::span<const RidgeSeen> at,
                     std::span<const RidgeBound> bounds, std::vector<WeighedRidge>& shapes,
                     Gauss& gauss);

}  // namespace horizon
