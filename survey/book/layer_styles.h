// survey/book/layer_styles.h: how does a map program show the layers of a site file?
// Layout:   the table `layer_styles` that map programs keep beside the layers of a GeoPackage, an
//           attributes table; each style both as OGC SLD 1.1 (05-077r4) and as the programs' own XML
// Marks:    a sign of its own for each sort of thing, so that colour is never the only one
#pragma once

#include <span>
#include <string>
#include <vector>

#include "survey/book/sql.h"

namespace survey {

struct StyleClass {  // from <= value < below
  double from = 0, below = 0;
  const char *sign = "circle", *colour = "#000000";
  double size_mm = 3;
  const char* says = "";
};
struct LayerStyle {
  const char *table = "", *geometry = "", *sign = "circle";  // of SLD's well-known marks; "line"
  const char* colour = "#000000";                            // #rrggbb
  double size_mm = 3;
  const char* label = "";           // column; empty: none
  const char* by = "";              // column that the classes are of; empty: all alike
  std::vector<StyleClass> classes;  // what is in none has the style's own sign
};

void put_layer_styles(Database& db);  // of a site file
void put_layer_styles(Database& db, std::span<const LayerStyle> styles);
// The table as it is made, for telling ours from another's.
const std::string& layer_styles_sql();

}  // namespace survey
