// horizon/photo/turn_adjust.h: which way did the camera look at each key frame of a turn?
// Units:    radians inside, degrees in the names that say so
// Frame:    rotations take the camera's right, up and forward into east, north, up, where north is
//           the turn's own zero: the mean of what the sensors said, anywhere if they know no north
// Method:   all rotations between frames, what gravity says of each, and, weakly, the sensors'
//           azimuths in one adjustment by least squares. Common to the whole turn: how far the
//           focal length is off, the camera's mounting against the level, the gyro's drift. Only a
//           loop that closes fixes the focal length and the drift
// Accuracy: `step_sigma_deg` a link and what the loop leaves
// Errors:   none: without a loop focal_sigma_part tells what is not known
// Source:   adjustment of a closed traverse (Ghilani, Adjustment Computations), on rotations
#pragma once

#include <Eigen/Core>
#include <vector>

namespace horizon {

struct TurnNode {
  Eigen::Matrix3d rotation = Eigen::Matrix3d::Identity();  // first guess, then adjusted
  Eigen::Matrix3d sensed = Eigen::Matrix3d::Identity();
  double time_s = 0;
};
struct TurnLink {
  int from = 0, to = 0;
  Eigen::Matrix3d rotation = Eigen::Matrix3d::Identity();  // a ray of `from` in `to`
  double sigma_rad = 0.001;
  bool by_picture = true;  // else by the sensors, where nothing was to be seen
};
struct TurnPriors {
  double focal_part = 0.03;       // 1 sigma
  double level_deg = 0.35;        // of gravity at one frame
  double mounting_deg = 0.7;      // of the camera against the level
  double azimuth_deg = 5;         // of the sensors over the whole turn
  double drift_deg_per_s = 0.05;  // of the sensors' azimuth
};
struct TurnAdjusted {
  double focal_factor = 1;  // the true focal length over the assumed
  double focal_sigma_part = 0.03;
  double mounting_up_deg = 0, mounting_roll_deg = 0, mounting_sigma_deg = 0;
  double drift_deg_per_s = 0;
  double spread = 0;  // of the links, over their sigmas
};
// Needs one node at least.
TurnAdjusted adjust_turn(std::vector<TurnNode>& nodes, const std::vector<TurnLink>& links,
                         const TurnPriors& priors);

// The picture's bearing, tilt and roll, as horizon/photo/camera.h has them.
struct TurnAim {
  double bearing_deg = 0, tilt_deg = 0, roll_deg = 0;
};
TurnAim aim_of(const Eigen::Matrix3d& rotation);
Eigen::Matrix3d rotation_of(const TurnAim& aim);

}  // namespace horizon
