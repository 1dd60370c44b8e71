// app/drawing/pdf_additions.h: what Cairo cannot write into a PDF: alternative texts of figures and
// the document's language. Appended as an incremental update; what was written stays as it is.
// Source: ISO 32000-1, 7.5.6 (incremental updates), 14.9.2 and 14.9.3 (Lang, Alt)
#pragma once

#include <string>
#include <vector>

namespace app {

// One text for each Figure element, in order. A file that is not as Cairo writes it is left alone.
void add_alternative_texts(std::string& pdf, const std::vector<std::string>& texts,
                           const std::string& language);

}  // namespace app
