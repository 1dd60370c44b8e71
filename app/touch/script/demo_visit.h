// app/touch/script/demo_visit.h: the invented site of Larkholm school garden, walked by a script: for
// screenshots, tests and the demo.
#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "horizon/result.h"

namespace app {

// A whole visit as a script: new site, position, two heading checks, 40 marks, two photos, a pit
// with three layers, percolation, findings, hand over. `folder` holds the demo photos.
std::string whole_visit(const std::string& folder);
// A folder "demo" below `folder` with the walked site in it.
horizon::Result<void> make_demo_folder(const std::string& folder);
// What a person typed in it: names that a narrow screen may shorten.
std::vector<std::string> demo_names();
// Heights of the valley as an ASCII grid: ridges as they were marked, without trees and barn.
std::string demo_heights();
// South and south-west as the marks have them, drawn as PNG to stand for photos.
bool write_demo_photos(const std::string& folder);

}  // namespace app
