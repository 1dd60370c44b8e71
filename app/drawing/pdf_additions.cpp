#include "app/drawing/pdf_additions.h"

#include <utf8.h>

#include <cstdio>
#include <cstdlib>
#include <map>

namespace app {
namespace {

// A text string object: UTF-16 with mark, in hexadecimal (ISO 32000-1, 7.9.2.2).
std::string text_object(const std::string& text) {
  std::string out = "<FEFF";
  for (const char16_t unit : utf8::utf8to16(utf8::replace_invalid(text))) {
    char hex[5];
    std::snprintf(hex, sizeof hex, "%04X", static_cast<unsigned>(unit));
    out += hex;
  }
  return out + ">";
}

}  // namespace

void add_alternative_texts(std::string& pdf, const std::vector<std::string>& texts,
                           const std::string& language) {
  const auto tail = pdf.rfind("startxref");
  const auto trailer = pdf.rfind("trailer");
  if (tail == std::string::npos || trailer == std::string::npos) return;
  const auto table = std::strtoul(pdf.c_str() + tail + 9, nullptr, 10);
  if (pdf.compare(table, 4, "xref") != 0) return;
  const auto number_after = [&](const char* key) {
    const auto at = pdf.find(key, trailer);
    return at == std::string::npos
               ? 0ul
               : std::strtoul(pdf.c_str() + at + std::string(key).size(), nullptr, 10);
  };
  const auto size = number_after("/Size"), root = number_after("/Root"),
             info = number_after("/Info");
  // "xref\n0 N\n" and then 20 bytes an object.
  auto entry = pdf.find('\n', pdf.find('\n', table) + 1) + 1;
  std::map<unsigned long, std::string> changed;
  std::size_t figure = 0;
  for (unsigned long number = 0; number < size && entry + 20 <= pdf.size(); ++number, entry += 20) {
    if (pdf[entry + 17] != 'n') continue;
    const auto from = std::strtoul(pdf.c_str() + entry, nullptr, 10);
    std::string head = pdf.substr(from, 160);
    const auto end_of_object = head.find("endobj");
    if (number == root) {
      const auto end = pdf.find("endobj", from);
      std::string object = pdf.substr(from, end - from);
      const auto open = object.find("<<");
      if (open == std::string::npos) return;
      object.insert(open + 2, " /Lang " + text_object(language) +
                                  " /ViewerPreferences << /DisplayDocTitle true >>\n  ");
      changed[number] = object;
    } else if (head.substr(0, end_of_object).find("/S /Figure") != std::string::npos &&
               head.find("/StructElem") < end_of_object) {
      if (figure >= texts.size()) return;
      const auto end = pdf.find("endobj", from);
      std::string object = pdf.substr(from, end - from);
      object.insert(object.find("/S /Figure") + 10, "\n   /Alt " + text_object(texts[figure++]));
      changed[number] = object;
    }
  }
  if (figure != texts.size() || changed.empty()) return;
  if (pdf.back() != '\n') pdf += '\n';
  std::string rows;
  for (const auto& [number, object] : changed) {
    char row[64];
    std::snprintf(row, sizeof row, "%lu 1\n%010zu 00000 n \n", number, pdf.size());
    rows += row;
    pdf += object + "endobj\n";
  }
  const std::string start = std::to_string(pdf.size());
  pdf += "xref\n" + rows + "trailer\n<< /Size " + std::to_string(size) + " /Root " +
         std::to_string(root) + " 0 R /Info " + std::to_string(info) + " 0 R /Prev " +
         std::to_string(table) + " >>\nstartxref\n" + start + "\n%%EOF\n";
}

}  // namespace app
