// survey/book/layer_styles.h: how does a map program show the layers of a site file?
// Layout:   the table `layer_styles` that map programs keep beside the layers of a GeoPackage, an
//           attributes table; each style both as OGC SLD 1.1 (05-077r4) and as the programs' own XML
// Marks:    a sign of its own for each sort of thing, so that colour is never the only one
#pragma once

#include <string>

#include "survey/book/sql.h"

namespace survey {

void put_layer_styles(Database& db);
// The table as it is made, for telling ours from another's.
const std::string& layer_styles_sql();

}  // namespace survey
