#include "app/drawing/pdf_additions.h"

#include <cairo.h>
#include <utf8.h>

#include <cstdio>
#include <cstdlib>
#include <map>
#include <pugixml.hpp>
#include <sstream>

#include "app/drawing/cairo_canvas.h"
#include "app/drawing/srgb_profile.h"
#include "horizon/time.h"
#include "survey/book/sql.h"

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

// What the document says of itself (its Info dictionary), once more for machines.
std::string xmp(const DocumentFacts& facts) {
  pugi::xml_document packet;
  auto rdf = packet.append_child("x:xmpmeta").append_child("rdf:RDF");
  rdf.parent().append_attribute("xmlns:x") = "adobe:ns:meta/";
  rdf.append_attribute("xmlns:rdf") = "http://www.w3.org/1999/02/22-rdf-syntax-ns#";
  auto about = rdf.append_child("rdf:Description");
  about.append_attribute("rdf:about") = "";
  about.append_attribute("xmlns:dc") = "http://purl.org/dc/elements/1.1/";
  about.append_attribute("xmlns:xmp") = "http://ns.adobe.com/xap/1.0/";
  about.append_attribute("xmlns:pdf") = "http://ns.adobe.com/pdf/1.3/";
  about.append_attribute("xmlns:pdfaid") = "http://www.aiim.org/pdfa/ns/id/";
  const auto plain = [&](const char* name, const std::string& value) {
    if (!value.empty()) about.append_child(name).text() = value.c_str();
  };
  const auto listed = [&](const char* name, const char* list, const std::string& value) {
    if (value.empty()) return;
    auto item = about.append_child(name).append_child(list).append_child("rdf:li");
    if (list == std::string("rdf:Alt")) item.append_attribute("xml:lang") = "x-default";
    item.text() = value.c_str();
  };
  listed("dc:title", "rdf:Alt", facts.title);
  listed("dc:creator", "rdf:Seq", facts.author);
  listed("dc:description", "rdf:Alt", facts.subject);
  listed("dc:language", "rdf:Bag", facts.language);
  plain("pdf:Keywords", facts.keywords);
  plain("pdf:Producer",
        std::string("cairo ") + cairo_version_string() + " (https://cairographics.org)");
  plain("xmp:CreatorTool", "Adret");
  plain("xmp:CreateDate", horizon::format_utc(facts.time_utc_s));
  plain("pdfaid:part", "2");
  plain("pdfaid:conformance", "U");
  std::ostringstream out;
  out << "<?xpacket begin=\"\xEF\xBB\xBF\" id=\"W5M0MpCehiHzreSzNTczkc9d\"?>\n";
  packet.save(out, " ", pugi::format_indent | pugi::format_no_declaration);
  out << "<?xpacket end=\"w\"?>";
  return out.str();
}

std::string stream_object(unsigned long number, const std::string& keys, const std::string& bytes) {
  return std::to_string(number) + " 0 obj\n<< " + keys + " /Length " +
         std::to_string(bytes.size()) + " >>\nstream\n" + bytes + "\nendstream\n";
}

}  // namespace

void complete_pdf(std::string& pdf, const DocumentFacts& facts,
                  const std::vector<std::string>& texts) {
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
      object.insert(open + 2, " /Lang " + text_object(facts.language) +
                                  " /ViewerPreferences << /DisplayDocTitle true >>\n   /Metadata " +
                                  std::to_string(size) +
                                  " 0 R\n   /OutputIntents [ << /Type /OutputIntent /S /GTS_PDFA1"
                                  " /OutputConditionIdentifier (sRGB) /Info (sRGB IEC61966-2.1)"
                                  " /DestOutputProfile " +
                                  std::to_string(size + 1) + " 0 R >> ]\n  ");
      changed[number] = object;
    } else if (head.substr(0, end_of_object).find("/S /Figure") != std::string::npos &&
               head.find("/StructElem") < end_of_object) {
      if (figure >= texts.size()) return;
      const auto end = pdf.find("endobj", from);
      std::string object = pdf.substr(from, end - from);
      object.insert(object.find("/S /Figure") + 10, "\n   /Alt " + text_object(texts[figure++]));
      changed[number] = object;
    } else if (head.substr(0, end_of_object).find("/Subtype /CIDFontType2") != std::string::npos) {
      std::string object = pdf.substr(from, pdf.find("endobj", from) - from);
      if (object.find("/CIDToGIDMap") != std::string::npos) continue;
      object.insert(object.find("/CIDFontType2") + 13, "\n   /CIDToGIDMap /Identity");
      changed[number] = object;
    }
  }
  if (figure != texts.size() || !changed.contains(root)) return;
  changed[size] = stream_object(size, "/Type /Metadata /Subtype /XML", xmp(facts));
  changed[size + 1] = stream_object(size + 1, "/N 3", srgb_profile());
  if (pdf.back() != '\n') pdf += '\n';
  std::string rows;
  for (const auto& [number, object] : changed) {
    char row[64];
    std::snprintf(row, sizeof row, "%lu 1\n%010zu 00000 n \n", number, pdf.size());
    rows += row;
    pdf += object + "endobj\n";
  }
  const std::string start = std::to_string(pdf.size());
  const std::string id = "<" + survey::sha256_hex(pdf).substr(0, 32) + ">";
  pdf += "xref\n" + rows + "trailer\n<< /Size " + std::to_string(size + 2) + " /Root " +
         std::to_string(root) + " 0 R /Info " + std::to_string(info) + " 0 R /ID [ " + id + " " +
         id + " ] /Prev " + std::to_string(table) + " >>\nstartxref\n" + start + "\n%%EOF\n";
}

}  // namespace app
