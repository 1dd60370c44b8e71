// app/drawing/shapes.h: curves flattened to polylines, and the lines of the hatches.
// Units: those of the canvas; angles in degrees clockwise from up, as bearings are
// Accuracy: chords leave the curve by less than 0.05 units
#pragma once

#include <vector>

#include "app/drawing/canvas.h"

namespace app {

Path line(Point from, Point to);
Path rectangle(Rect rect);
Path circle(Point center, float radius);
// An open arc; to_deg may be smaller than from_deg (anticlockwise).
Path arc(Point center, float radius, float from_deg, float to_deg);
// A ring's part, as a polygon.
Path ring_sector(Point center, float inner, float outer, float from_deg, float to_deg);
Path rounded(Rect rect, float radius);
// Without points that lie closer than `off` to the line between those that stay; the first and the
// last stay.
std::vector<Point> fewer_points(const std::vector<Point>& points, float off);
// The point at this distance from the centre, in this direction.
Point polar(Point center, float radius, float bearing_deg);

// The strokes of a hatch over `bounds`, to be clipped to the filled shape. They lie on one grid of
// the canvas, so that the hatches of neighbours meet.
std::vector<Path> hatch_lines(Hatch hatch, Rect bounds);
float hatch_width(Hatch hatch);
Rect bounds_of(const Path& path);
Rect overlap(Rect a, Rect b);  // without area where they do not meet

}  // namespace app
