// app/drawing/pdf_additions.h: what Cairo cannot write into a PDF: alternative texts of figures, the
// document's language, and what an archive asks for: what its colours mean, who made it and when in
// a form that machines read, and a name of its own. Appended as an incremental update; what was
// written stays as it is.
// Source: ISO 32000-1, 7.5.6 (incremental updates), 14.9.2 and 14.9.3 (Lang, Alt);
//         ISO 19005-2 (PDF/A-2, level U: every letter can be read out), 6.1.3, 6.2.3, 6.6.2, 6.6.4;
//         ISO 16684-1 (XMP)
#pragma once

#include <string>
#include <vector>

namespace app {

struct DocumentFacts;

// One text for each Figure element, in order. A file that is not as Cairo writes it is left alone.
void complete_pdf(std::string& pdf, const DocumentFacts& facts,
                  const std::vector<std::string>& texts);

}  // namespace app
