// horizon/photo/turn_film.h: what a turn keeps of its frames. Inside horizon/photo only.
// Units: pixels of the grey picture kAlignWidth wide; the rest as turn.h
#pragma once

#include <Eigen/Core>
#include <array>
#include <vector>

#include "horizon/photo/turn.h"
#include "horizon/photo/turn_adjust.h"
#include "horizon/photo/turn_align.h"

namespace horizon {

struct LookColumn {
  float x = 0, y = 0;  // from the middle of the picture, y down
  float sigma = 0;
  bool sure = false, sun = false;
  bool fair = false;  // worth something where many looks agree; what is sure is fair
  Kind kind = Kind::ridge;
};
// One search for the line, laid on a key frame.
struct TurnLook {
  int key = 0;
  Eigen::Matrix3d on_key = Eigen::Matrix3d::Identity();  // a ray of the key frame in this one
  std::vector<LookColumn> columns;
};
struct TurnKey {
  GreyPyramid grey;
  AlignReference reference;
  double unwrapped_deg = 0;
};

// How often a degree was passed in a way that shows nothing, by reason.
using FaultCounts = std::array<std::array<std::uint16_t, 360>, kTurnFaults>;

// The looks laid together by bearing.
std::vector<TurnBin> fused(const std::vector<TurnLook>& looks, const std::vector<TurnNode>& nodes,
                           double focal_px, const FaultCounts& faults);
std::vector<TurnStretch> open_stretches(const std::vector<TurnBin>& bins);

inline constexpr int kLookWidth = 480;
struct Glare {
  double x = 0, y = 0, radius = 0;  // of the grey picture, from its top left
};
// As bright as the sun: a round spot without any drawing, the sky bright round it.
std::optional<Glare> glare_in(const WorkPicture& work);
// The line sought in a picture; `work` is the same kLookWidth wide or narrower.
std::vector<LookColumn> look_columns(const PictureView& picture, const WorkPicture& work,
                                     const std::optional<Glare>& glare);

}  // namespace horizon
