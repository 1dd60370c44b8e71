// GPX 1.1, by the schema's own order of elements.
// Source: the GPX 1.1 schema, namespace http://www.topografix.com/GPX/1/1
#include <charconv>
#include <cmath>
#include <pugixml.hpp>

#include "horizon/time.h"
#include "survey/book/again.h"
#include "survey/book/sql.h"
#include "survey/book/text.h"
#include "survey/exchange/exchange.h"

namespace survey {

using horizon::Code;
using horizon::Result;

namespace {

// Without an exponent: the schema's numbers are xsd:decimal.
std::string number_text(double value) {
  char text[400];
  const auto end = std::to_chars(text, text + sizeof text, value, std::chars_format::fixed).ptr;
  return {text, end};
}

void add_text(pugi::xml_node node, const char* name, const std::string& text) {
  if (!text.empty()) node.append_child(name).text().set(without_controls(text).c_str());
}

void add_point(pugi::xml_node parent, const char* element, const Position& position, double utc_s,
               const std::string& name, const std::string& note, const std::string& type) {
  pugi::xml_node point = parent.append_child(element);
  point.append_attribute("lat").set_value(number_text(position.latitude_deg).c_str());
  const double east = position.longitude_deg == 180 ? -180 : position.longitude_deg;  // below 180
  point.append_attribute("lon").set_value(number_text(east).c_str());
  if (position.height_m) add_text(point, "ele", number_text(*position.height_m));
  if (utc_s != 0) add_text(point, "time", horizon::format_utc(utc_s, 3));
  add_text(point, "name", name);
  add_text(point, "desc", note);
  add_text(point, "type", type);
}

struct StringWriter : pugi::xml_writer {
  std::string text;
  void write(const void* data, size_t size) override {
    text.append(static_cast<const char*>(data), size);
  }
};

struct Reader {
  FieldBook& book;
  ImportReport& report;
  const ImportOptions& options;
  Again again{book};

  void bad(const std::string& where, const horizon::Sentence& why) {
    report.errors.push_back({Code::bad_input, why, where});
  }

  std::optional<PathPoint> point(pugi::xml_node node, const std::string& where) {
    const auto latitude = number_of(node.attribute("lat").value());
    const auto longitude = number_of(node.attribute("lon").value());
    if (!latitude || !longitude || std::abs(*latitude) > 90 || std::abs(*longitude) > 180) {
      bad(where, "error.gpx_point_range");
      return std::nullopt;
    }
    PathPoint result{{*latitude, *longitude, {}}, {}};
    if (const auto height = number_of(node.child_value("ele")); height && std::abs(*height) < 20000)
      result.position.height_m = height;
    if (const auto time = horizon::parse_utc_s(trimmed(node.child_value("time"))))
      result.utc_s = *time;
    return result;
  }

  template <class Row>
  void put(Row row, int& count, const std::string& where) {
    if (again.here(row))
      ++report.already;
    else if (auto done = book.put(row); done)
      ++count;
    else if (done.error().code == Code::failed)
      throw Failure{done.error()};
    else
      bad(where, done.error().sentence());
  }

  Moment moment(const PathPoint& at) const { return {at.utc_s.value_or(0), options.utc_offset_h}; }

  std::string note_of(pugi::xml_node node) {
    std::string note = node.child_value("desc");
    const std::string comment = node.child_value("cmt");
    if (!comment.empty() && comment != note) note += (note.empty() ? "" : "\n") + comment;
    return note;
  }

  void waypoint(pugi::xml_node node, int number) {
    const std::string where = "wpt " + std::to_string(number);
    const auto at = point(node, where);
    if (!at) return;
    const std::string name = node.child_value("name"), type = node.child_value("type");
    if (type == "station") {
      Station row;
      row.name = name;
      row.position = at->position;
      row.position_source = PositionSource::file;
      row.time = moment(*at);
      row.note = note_of(node);
      put(row, report.stations, where);
    } else if (type == "soil_pit") {
      SoilPit row;
      row.name = name;
      row.position = at->position;
      row.time = moment(*at);
      row.note = note_of(node);
      put(row, report.notes, where);
    } else {
      Landmark row;
      row.name = name.empty() ? where : name;
      row.what = type.empty() ? node.child_value("sym") : type;
      if (row.what == "landmark") row.what.clear();
      row.position = at->position;
      row.source = "GPX";
      row.note = note_of(node);
      put(row, report.landmarks, where);
    }
  }

  void line(pugi::xml_node owner, pugi::xml_node holder, const char* element,
            const std::string& where, PathKind kind) {
    Path path;
    path.kind = kind;
    path.name = owner.child_value("name");
    path.note = note_of(owner);
    const std::string_view type = owner.child_value("type");
    for (int i = 0; i < kPathKindCount; ++i)
      if (name_of(PathKind(i)) == type) path.kind = PathKind(i);
    for (pugi::xml_node node : holder.children(element))
      if (const auto at = point(node, where)) path.points.push_back(*at);
    if (path.points.size() < 2) {  // receivers leave such behind at every pause
      report.remarks.push_back({Code::bad_input, "error.too_few_points", where});
      return;
    }
    path.time = moment(path.points.front());
    put(path, report.paths, where);
  }
};

}  // namespace

Result<ImportReport> import_gpx(FieldBook& book, std::string_view xml,
                                const ImportOptions& options) {
  pugi::xml_document document;
  // No DTD is read and no entity of its own is expanded, so none can grow.
  const auto parsed = document.load_buffer(xml.data(), xml.size(), pugi::parse_default);
  if (!parsed)
    return horizon::fail(Code::bad_input,
                         {"error.xml_not_well_formed", {parsed.description(), parsed.offset}});
  const pugi::xml_node root = document.document_element();
  if (std::string_view(root.name()) != "gpx")
    return horizon::fail(Code::bad_input, "error.no_gpx_root");
  ImportReport report;
  const auto done = book.change("import GPX", [&] {
    return guarded([&] {
      Reader reader{book, report, options};
      int number = 0;
      for (pugi::xml_node node : root.children("wpt")) reader.waypoint(node, ++number);
      number = 0;
      for (pugi::xml_node node : root.children("rte"))
        reader.line(node, node, "rtept", "rte " + std::to_string(++number), PathKind::access);
      number = 0;
      for (pugi::xml_node track : root.children("trk")) {
        ++number;
        int part = 0;
        for (pugi::xml_node segment : track.children("trkseg"))
          reader.line(track, segment, "trkpt",
                      "trk " + std::to_string(number) + " segment " + std::to_string(++part),
                      PathKind::walked);
      }
    });
  });
  if (!done) return tl::unexpected(done.error());
  return report;
}

Result<std::string> gpx_of(const FieldBook& book) {
  return guarded([&] {
    pugi::xml_document document;
    pugi::xml_node declaration = document.append_child(pugi::node_declaration);
    declaration.append_attribute("version") = "1.0";
    declaration.append_attribute("encoding") = "UTF-8";
    pugi::xml_node root = document.append_child("gpx");
    root.append_attribute("xmlns") = "http://www.topografix.com/GPX/1/1";
    root.append_attribute("version") = "1.1";
    root.append_attribute("creator") = "Adret";
    const Site site = value_or_throw(book.site());
    pugi::xml_node metadata = root.append_child("metadata");
    add_text(metadata, "name", site.name);
    if (site.created.utc_s != 0)
      add_text(metadata, "time", horizon::format_utc(site.created.utc_s, 3));
    for (const Station& row : value_or_throw(book.all<Station>()))
      add_point(root, "wpt", row.position, row.time.utc_s, row.name, row.note, "station");
    for (const Landmark& row : value_or_throw(book.all<Landmark>()))
      add_point(root, "wpt", row.position, 0, row.name, row.note,
                row.what.empty() ? "landmark" : row.what);
    for (const SoilPit& row : value_or_throw(book.all<SoilPit>()))
      if (row.position)
        add_point(root, "wpt", *row.position, row.time.utc_s, row.name, row.note, "soil_pit");
    for (const Path& row : value_or_throw(book.all<Path>())) {
      pugi::xml_node track = root.append_child("trk");
      add_text(track, "name", row.name);
      add_text(track, "desc", row.note);
      add_text(track, "type", std::string(name_of(row.kind)));
      pugi::xml_node segment = track.append_child("trkseg");
      for (const PathPoint& at : row.points)
        add_point(segment, "trkpt", at.position, at.utc_s.value_or(0), "", "", "");
      if (row.closed)
        add_point(segment, "trkpt", row.points.front().position,
                  row.points.front().utc_s.value_or(0), "", "", "");
    }
    StringWriter writer;
    document.save(writer, "  ", pugi::format_default, pugi::encoding_utf8);
    return std::move(writer.text);
  });
}

}  // namespace survey
