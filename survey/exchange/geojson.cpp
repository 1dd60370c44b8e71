// GeoJSON. Our own rows come as features whose "table" property names the table and whose other
// properties are its columns, with null geometry where the table has none; so a file reads back
// as the same rows.
// Source: RFC 7946
#include <cmath>
#include <nlohmann/json.hpp>

#include "survey/book/again.h"
#include "survey/book/geometry.h"
#include "survey/book/row_cells.h"
#include "survey/book/store_internal.h"
#include "survey/exchange/exchange.h"

namespace survey {

using horizon::Code;
using horizon::Result;
using nlohmann::json;

namespace {

constexpr int kDeepest = 64;  // of real files 7 levels are known

// Refuses nesting that would use up the stack of whoever walks the tree.
bool too_deep(std::string_view text) {
  int depth = 0;
  bool in_string = false;
  for (std::size_t i = 0; i < text.size(); ++i) {
    const char c = text[i];
    if (in_string) {
      if (c == '\\')
        ++i;
      else if (c == '"')
        in_string = false;
    } else if (c == '"') {
      in_string = true;
    } else if (c == '[' || c == '{') {
      if (++depth > kDeepest) return true;
    } else if (c == ']' || c == '}') {
      --depth;
    }
  }
  return false;
}

json coordinates_of(const Position& position) {
  json list = {position.longitude_deg, position.latitude_deg};
  if (position.height_m) list.push_back(*position.height_m);
  return list;
}

std::optional<Position> position_of_json(const json& list) {
  if (!list.is_array() || list.size() < 2) return std::nullopt;
  for (const json& value : list)
    if (!value.is_number()) return std::nullopt;
  Position position{list[1].get<double>(), list[0].get<double>(), {}};
  if (list.size() > 2) position.height_m = list[2].get<double>();
  if (!(std::abs(position.latitude_deg) <= 90 && std::abs(position.longitude_deg) <= 180 &&
        std::abs(position.height_m.value_or(0)) <= 20000))
    return std::nullopt;
  return position;
}

std::optional<std::vector<PathPoint>> line_of_json(const json& list) {
  if (!list.is_array()) return std::nullopt;
  std::vector<PathPoint> points;
  for (const json& at : list) {
    const auto position = position_of_json(at);
    if (!position) return std::nullopt;
    points.push_back({*position, {}});
  }
  return points;
}

json feature_of(const Table& table, const Cells& cells) {
  json geometry;
  json properties = {{"table", table.name}};
  for (std::size_t i = 0; i < table.columns.size(); ++i) {
    const Column& column = table.columns[i];
    const Cell& cell = cells[i];
    if (const auto* blob = std::get_if<Blob>(&cell)) {
      if (column.holds == Holds::point) {
        geometry = {{"type", "Point"},
                    {"coordinates", coordinates_of(value_or_throw(point_of(blob->bytes)))}};
      } else {
        json line = json::array(), times = json::array();
        for (const PathPoint& point : value_or_throw(line_of(blob->bytes))) {
          line.push_back(coordinates_of(point.position));
          if (point.utc_s) times.push_back(*point.utc_s);
        }
        if (times.size() == line.size()) properties["point_times_utc_s"] = times;
        geometry = {{"type", "LineString"}, {"coordinates", line}};
      }
    } else if (const auto* whole = std::get_if<std::int64_t>(&cell)) {
      properties[column.name] = column.holds == Holds::yes_no ? json(*whole != 0) : json(*whole);
    } else if (const auto* real = std::get_if<double>(&cell)) {
      properties[column.name] = *real;
    } else if (const auto* text = std::get_if<std::string>(&cell)) {
      properties[column.name] = *text;
    } else if (column.holds != Holds::point && column.holds != Holds::line) {
      properties[column.name] = nullptr;
    }
  }
  return {{"type", "Feature"},
          {"id", table.name + "/" + words_of(cells[0])},
          {"geometry", geometry},
          {"properties", properties}};
}

Cells cells_of_feature(const Table& table, const json& feature) {
  const json& properties = feature["properties"];
  Cells cells;
  for (const Column& column : table.columns) {
    if (column.holds == Holds::point || column.holds == Holds::line) {
      const json& geometry = feature["geometry"];
      if (geometry.is_null()) {
        cells.emplace_back();
        continue;
      }
      const json& list = geometry.at("coordinates");
      if (column.holds == Holds::point) {
        const auto position = position_of_json(list);
        if (!position) give_up(Code::bad_input, "error.the_point_nowhere");
        cells.emplace_back(Blob{geometry_of(*position)});
      } else {
        auto line = line_of_json(list);
        if (!line) give_up(Code::bad_input, "error.the_line_point_nowhere");
        const auto times = properties.find("point_times_utc_s");
        if (times != properties.end() && times->is_array() && times->size() == line->size())
          for (std::size_t i = 0; i < line->size(); ++i)
            if ((*times)[i].is_number()) (*line)[i].utc_s = (*times)[i].get<double>();
        cells.emplace_back(Blob{geometry_of(*line)});
      }
      continue;
    }
    const auto found = properties.find(column.name);
    if (found == properties.end())
      cells.push_back(column.standard);
    else if (found->is_boolean())
      cells.emplace_back(std::int64_t{found->get<bool>()});
    else if (found->is_number_integer())
      cells.emplace_back(found->get<std::int64_t>());
    else if (found->is_number())
      cells.emplace_back(found->get<double>());
    else if (found->is_string())
      cells.emplace_back(found->get<std::string>());
    else
      cells.emplace_back();
  }
  return cells;
}

struct Reader {
  FieldBook& book;
  ImportReport& report;
  const ImportOptions& options;
  int number = 0;
  Again again{book};

  std::string where() const { return "feature " + std::to_string(number); }
  void bad(const horizon::Sentence& why) {
    report.errors.push_back({Code::bad_input, why, where()});
  }

  std::string text(const json& feature, std::initializer_list<const char*> names) {
    const json& properties = feature["properties"];
    if (properties.is_object())
      for (const char* name : names)
        if (const auto found = properties.find(name);
            found != properties.end() && found->is_string())
          return found->get<std::string>();
    return {};
  }

  template <class Row>
  void put(Row row, int& count) {
    if (again.here(row)) {
      ++report.already;
      return;
    }
    value_or_throw(book.put(std::move(row)));
    ++count;
  }

  void own_row(const Table& table, const json& feature) {
    Cells cells = cells_of_feature(table, feature);
    if (table.name == "site") {
      ++report.already;  // this site keeps its own name
      return;
    }
    check_cells(table, cells);
    const auto before = find_row(book.store(), table, std::get<std::string>(cells[0]));
    if (before && before->cells == cells) {
      ++report.already;
    } else if (before) {
      bad("error.row_here_with_other_values");
    } else {
      put_row(book.store(), table, std::move(cells));
      ++report.rows;
    }
  }

  void line(const json& list, bool closed, const json& feature) {
    auto points = line_of_json(list);
    if (!points) return bad("error.geojson_position");
    if (closed && points->size() > 1 && points->front() == points->back()) points->pop_back();
    Path path;
    path.kind = closed ? PathKind::boundary : PathKind::other;
    path.name = text(feature, {"name", "title", "label"});
    path.note = text(feature, {"note", "description", "desc"});
    path.points = std::move(*points);
    path.closed = closed;
    path.time.utc_offset_h = options.utc_offset_h;
    put(path, report.paths);
  }

  void geometry(const json& shape, const json& feature) {
    if (!shape.is_object() || !shape.contains("type")) return bad("error.geometry_without_type");
    const std::string type = shape["type"].is_string() ? shape["type"].get<std::string>() : "";
    if (type == "GeometryCollection") {
      if (const auto parts = shape.find("geometries"); parts != shape.end() && parts->is_array())
        for (const json& part : *parts) geometry(part, feature);
      return;
    }
    const auto list = shape.find("coordinates");
    if (list == shape.end() || !list->is_array()) return bad("error.geometry_without_coordinates");
    auto point = [&](const json& at) {
      const auto position = position_of_json(at);
      if (!position) return bad("error.geojson_position");
      Landmark row;
      row.name = text(feature, {"name", "title", "label"});
      if (row.name.empty()) row.name = where();
      row.what = text(feature, {"what", "type", "natural", "kind"});
      row.note = text(feature, {"note", "description", "desc"});
      row.position = *position;
      row.source = "GeoJSON";
      put(row, report.landmarks);
    };
    auto polygon = [&](const json& rings) {
      if (!rings.is_array()) return bad("error.polygon_is_rings");
      for (const json& ring : rings) line(ring, true, feature);
    };
    if (type == "Point") return point(*list);
    if (type == "LineString") return line(*list, false, feature);
    if (type == "Polygon") return polygon(*list);
    for (const json& part : *list) {
      if (type == "MultiPoint")
        point(part);
      else if (type == "MultiLineString")
        line(part, false, feature);
      else if (type == "MultiPolygon")
        polygon(part);
      else
        return bad({"error.geometry_type_unknown", {type}});
    }
  }

  void feature(const json& one) {
    ++number;
    try {
      if (!one.is_object()) return bad("error.feature_is_object");
      const auto properties = one.find("properties"), shape = one.find("geometry");
      if (properties != one.end() && properties->is_object() && shape != one.end()) {
        const auto name = properties->find("table");
        if (name != properties->end() && name->is_string())
          if (const Table* table = table_named(name->get<std::string>()))
            return own_row(*table, one);
      }
      if (shape == one.end() || shape->is_null()) return bad("error.no_geometry_no_place");
      json copy = {{"properties", properties == one.end() ? json() : *properties}};
      geometry(*shape, copy);
    } catch (const Failure& failure) {
      if (failure.error.code == Code::failed) throw;
      bad({"error.at_place", {failure.error.where, failure.error.sentence()}});
    } catch (const json::exception&) {
      bad("error.members_not_rfc7946");
    }
  }
};

}  // namespace

Result<ImportReport> import_geojson(FieldBook& book, std::string_view text,
                                    const ImportOptions& options) {
  if (too_deep(text)) return horizon::fail(Code::bad_input, "error.lists_too_deep");
  const json root = json::parse(text, nullptr, false);
  if (root.is_discarded()) return horizon::fail(Code::bad_input, "error.json_not_well_formed");
  const auto type = root.is_object() ? root.find("type") : root.end();
  if (!root.is_object() || type == root.end() || !type->is_string())
    return horizon::fail(Code::bad_input, "error.geojson_begins");
  ImportReport report;
  const auto done = book.change("import GeoJSON", [&] {
    return guarded([&] {
      Reader reader{book, report, options};
      if (*type == "FeatureCollection") {
        const auto list = root.find("features");
        if (list == root.end() || !list->is_array())
          give_up(Code::bad_input, "error.no_list_of_features");
        for (const json& one : *list) reader.feature(one);
      } else if (*type == "Feature") {
        reader.feature(root);
      } else {
        reader.feature({{"type", "Feature"}, {"properties", nullptr}, {"geometry", root}});
      }
    });
  });
  if (!done) return tl::unexpected(done.error());
  return report;
}

Result<std::string> geojson_of(const FieldBook& book) {
  return guarded([&] {
    json features = json::array();
    for (const Table* table : all_tables())
      for (const StoredRow& row : all_rows(book.store(), *table))
        features.push_back(feature_of(*table, row.cells));
    const json root = {{"type", "FeatureCollection"}, {"features", std::move(features)}};
    return root.dump(1, ' ', false, json::error_handler_t::replace) + "\n";
  });
}

}  // namespace survey
