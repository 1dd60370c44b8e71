// horizon/plot/predicted_skyline.h: the skyline at a spot where nobody stood.
// Units:    metres, degrees; bands hold 90 % of the truth
// Frame:    spots in the plot's east, north, up; true azimuths; elevations as seen
// Valid:    spots among or near the stations; outlines that look the same from there: a house whose
//           back roof was never seen may rise above what is predicted
// Accuracy: stated with each answer. Marks of the ridge keep their elevation but for their parallax
// Source:   horizon/plot/intersection.h; straight edges in space are great circles from any spot
#pragma once

#include <array>
#include <span>
#include <vector>

#include "horizon/plot/intersection.h"

namespace horizon {

// The outline at one spot, piece by piece; the highest counts.
class SpotView {
 public:
  // With the likeliest shapes, or with those of one draw.
  SpotView(const PlacedPlot& plot, std::span<const PlacedPlot::Ray> rays, const Enu& eye,
           int draw = -1);

  enum class Form : std::uint8_t { line, circle, round, level };
  struct Piece {
    Form form = Form::line;
    double from_deg = 0, width_deg = 0;  // from in [0, 360)
    double a = 0, b = 0;  // line, round: elevations at its ends, or of base and top; circle: sums
    int obstacle = 0;
    std::array<int, 2> marks = {-1, -1};
    bool open = false;  // across a gap of the ridge that nobody sighted

    double elevation_deg(double along_deg) const;  // along: clockwise from from_deg
  };
  std::span<const Piece> pieces() const { return pieces_; }
  // Nothing where no piece reaches: an azimuth without ridge.
  const Piece* highest_at(double azimuth_deg, double* elevation_deg) const;
  // At many azimuths, rising in [0, 360): the height there, `nothing` where no piece reaches.
  void highest_at(std::span<const double> azimuths_deg, double nothing,
                  std::vector<double>& elevations_deg) const;
  int inside() const { return inside_; }  // the round obstacle that the spot lies in, or -1

  struct MarkSeen {
    double azimuth_deg = 0, elevation_deg = 0, distance_m = 0;
  };
  const MarkSeen& mark(int index) const { return seen_[static_cast<size_t>(index)]; }

 private:
  void add_shape(const Shape& shape, int obstacle, const Enu& eye);
  std::vector<Piece> pieces_;
  std::vector<MarkSeen> seen_;
  int inside_ = -1;
};

struct PredictedElevation {
  double elevation_deg = 0, sigma_deg = 0;
  double low_deg = 0, high_deg = 0;  // 90 %; near the side of a thing it reaches over the step
  int obstacle = -1;                 // -1 where there is no ridge and nothing nearer
  bool open = false;
};
PredictedElevation predicted_elevation(const PlacedPlot& plot, const Enu& eye, TrueAzimuth azimuth);

// For the sun year and the light: each straight edge is a layer of its own, so that what stands in
// front hides what stands behind. Heading errors are part of each point's sigma.
Skyline predicted_skyline(const PlacedPlot& plot, const Enu& eye);

}  // namespace horizon
