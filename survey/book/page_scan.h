// survey/book/page_scan.h: rows straight from the pages of an SQLite file, without its indexes.
// Any bytes may come in: every length is checked against what is there.
#pragma once

#include <functional>
#include <string>

#include "survey/book/sql.h"

namespace survey {

// Calls `found` with the values of each record on every page that looks like a table's leaf.
void scan_pages(const std::string& path, const std::function<void(Cells&)>& found);

}  // namespace survey
