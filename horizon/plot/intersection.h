// horizon/plot/intersection.h: where the things stand that were aimed at from several stations.
// Units:    metres, degrees; one standard deviation
// Frame:    east, north, up of horizon/plot/plot.h
// Valid:    any number of stations; a mark seen from one only keeps its direction, and its
//           distance stays as unsure as its kind makes it
// Accuracy: the covariance of the adjustment, to first order: good while a distance is known to a
//           third; simulation finds 90 % of the truth inside the 90 % band
// Errors:   bad_input names the aim, mark or station
// Source:   least squares with station positions and headings as observed unknowns; each mark as
//           direction and inverse distance, so that summits and fence posts are treated alike
#pragma once

#include "horizon/plot/placed_shapes.h"
#include "horizon/result.h"

namespace horizon {

struct PlacedMark {
  Placing placing = Placing::direction;
  Enu position = Enu::Zero();  // of a far or unplaced mark: along its direction, as good as that
  ErrorEllipse ellipse;
  double up_sigma_m = 0;
  double cut_deg = 0;         // the widest angle between two lines of sight, 0 to 90
  double worst_residual = 0;  // of its aims, in sigmas: over 3.3 it is another thing, or a slip
};

struct PlacedPlot {
  PlotSurvey survey;  // its stations put right by the adjustment
  std::vector<PlacedMark> marks;
  std::vector<PlacedShape> shapes;   // of the outlines
  std::vector<GroundPlane> grounds;  // of each draw of the shapes; empty without outlines

  // The adjustment's own unknowns, for horizon/plot/predicted_skyline.h.
  struct Ray {
    Enu from = Enu::Zero();
    double azimuth_rad = 0, elevation_rad = 0, inverse_m = 0;
  };
  std::vector<Ray> rays;       // one a mark
  Eigen::MatrixXd covariance;  // of azimuth_rad, elevation_rad, inverse_m of each ray in turn
};

Result<PlacedPlot> place_marks(const PlotSurvey& survey);

// Above the ground plane at its foot.
struct MarkHeight {
  double height_m = 0, sigma_m = 0;
};
MarkHeight height_of(const PlacedPlot& plot, int mark);

}  // namespace horizon
