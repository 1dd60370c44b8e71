// survey/exchange/programme_copy.h: a site's rows as a programme keeps them, for the next copy of the site to be
// merged with.
// Kept:   all rows and what merging needs to know of earlier ones; no photographs, no names of people
//         (initials of those who walked stay), and whom it is for is left out
// Errors: what does not unpack, another site's rows, a disk that is full
#pragma once

#include <string>

#include "survey/book/merge.h"
#include "survey/book/store.h"

namespace survey {

// Of every row that is kept; the same for copies that hold the same.
horizon::Result<std::string> content_sha256(const FieldBook& book);

// Of the row that a conflict's key names: another after each change; empty: there is none.
std::string stamp_of_row(const FieldBook& book, const std::string& key);

// zlib; unpacked up to 64 MB.
horizon::Result<std::string> packed(std::string_view bytes);
horizon::Result<std::string> unpacked(std::string_view bytes);

// As it is kept, written to `path`.
horizon::Result<void> write_kept(const FieldBook& book, const std::string& path);

}  // namespace survey
