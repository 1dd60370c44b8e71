// survey/book/geometry.h: points and lines as GeoPackage geometry blobs.
// Units:  degrees and metres; a measure, where there is one, is the time in UTC seconds
// Frame:  x longitude, y latitude, WGS 84 (srs 4326)
// Errors: a blob that is no geometry of its kind, or has numbers out of range: bad_input
// Source: OGC 12-128r18, 2.1.3 (header), OGC 06-103r4 clause 8 (well-known binary)
#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "horizon/result.h"
#include "survey/book/model.h"

namespace survey {

std::string geometry_of(const Position& position);
std::string geometry_of(const std::vector<PathPoint>& line);
horizon::Result<Position> point_of(std::string_view blob);
horizon::Result<std::vector<PathPoint>> line_of(std::string_view blob);

}  // namespace survey
