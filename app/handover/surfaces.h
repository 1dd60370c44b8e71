// app/handover/surfaces.h: the skyline as shading surfaces that a design tool can cast rays at.
// Units:    metres
// Frame:    x east, y north, z up, true north; the origin is the ground under the station's eye
// Accuracy: seen from the eye the surfaces' upper edge is the horizon mask within 0.01 degree
// Method:   what has a measured distance stands there: a building or a pole as an upright block, a
//           tree as its outline with half a cone (evergreen) or half a dome (leafy) behind; all
//           else is a ring of upright faces far outside. Behind a near body the ring shows what would be
//           seen without it, but never more than the mask
#pragma once

#include <array>
#include <string>
#include <vector>

#include "app/handover/site_report.h"

namespace app {

struct Vertex {
  double x = 0, y = 0, z = 0;
};
using Face = std::array<Vertex, 4>;  // in order round the face; two corners may be one
struct Surface {
  std::string name;
  horizon::Kind kind = horizon::Kind::ridge;
  bool open = false;  // nobody aimed here
  bool near = false;  // stands at its measured distance
  double distance_m = 0;
  std::vector<Face> faces;
};

struct ShadingModel {
  double eye_height_m = 0;
  double ring_radius_m = 0;
  std::vector<Surface> surfaces;
};
ShadingModel shading_model(const StationReport& station);

// AutoCAD Release 12 drawing interchange: a 3DFACE for each face, a layer for each kind.
std::string dxf_of(const ShadingModel& model, const std::string& title);
// glTF 2.0 with its buffer inside; y is up and -z is north there, as glTF has it.
std::string gltf_of(const ShadingModel& model, const std::string& title);

}  // namespace app
