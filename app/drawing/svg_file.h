// app/drawing/svg_file.h: the drawing language as an SVG that is measured in millimetres.
// Units:    points in, millimetres in the file (one user unit is 1 mm)
// Layers:   a group with the layer's name as its id; text stays text, so that it can be searched
// Accuracy: coordinates to 0.001 mm
// Source:   W3C Scalable Vector Graphics (SVG) 1.1, second edition
#pragma once

#include <functional>
#include <string>
#include <string_view>

#include "app/drawing/canvas.h"

namespace app {

std::string svg_in_mm(float width_pt, float height_pt, std::string_view title,
                      const std::function<void(Canvas&)>& drawing);

}  // namespace app
