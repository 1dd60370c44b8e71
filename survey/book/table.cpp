#include "survey/book/table.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <cstdio>
#include <nlohmann/json.hpp>

#include "survey/book/row_cells.h"
#include "survey/book/text.h"

namespace survey {

using horizon::Code;
using nlohmann::json;

std::string_view name_of(PositionSource source) {
  constexpr std::array<std::string_view, kPositionSourceCount> names = {"entered", "fixes", "map",
                                                                        "file"};
  return names[static_cast<int>(source)];
}
std::string_view name_of(HeightDatum datum) {
  return datum == HeightDatum::sea_level ? "sea_level" : "ellipsoid";
}
std::string_view name_of(ContactHow how) {
  return how == ContactHow::touched ? "touched" : "typed";
}
std::string_view name_of(DiarySky sky) {
  constexpr std::array<std::string_view, kDiarySkyCount> names = {"unknown", "clear", "mixed",
                                                                  "cloudy"};
  return names[static_cast<int>(sky)];
}
std::string_view name_of(Topic topic) {
  constexpr std::array<std::string_view, kTopicCount> names = {
      "water", "wind",  "access",   "services", "neighbour", "permission",
      "snow",  "frost", "cold_air", "building", "other"};
  return names[static_cast<int>(topic)];
}
std::string_view name_of(Role role) {
  constexpr std::array<std::string_view, kRoleCount> names = {
      "client", "owner", "neighbour", "authority", "surveyor", "designer", "other"};
  return names[static_cast<std::size_t>(role)];
}

std::string_view name_of(HazardKind kind) {
  constexpr std::array<std::string_view, kHazardKindCount> names = {
      "rockfall",     "avalanche",      "landslide",     "flood",   "ice",    "steep_ground",
      "falling_tree", "buried_service", "overhead_line", "traffic", "animal", "other"};
  return names[static_cast<int>(kind)];
}
std::string_view name_of(PathKind kind) {
  constexpr std::array<std::string_view, kPathKindCount> names = {
      "walked", "boundary", "access", "watercourse", "service", "building", "other"};
  return names[static_cast<int>(kind)];
}

int Table::index_of(std::string_view column) const {
  for (std::size_t i = 0; i < columns.size(); ++i)
    if (columns[i].name == column) return static_cast<int>(i);
  return -1;
}

const Column* Table::geometry() const {
  for (const Column& column : columns)
    if (column.holds == Holds::point || column.holds == Holds::line) return &column;
  return nullptr;
}

std::span<const Table* const> all_tables() {
  static const std::array tables = {
      &table_of<Site>(),      &table_of<Visit>(),           &table_of<Station>(),
      &table_of<Fix>(),       &table_of<Landmark>(),        &table_of<Photo>(),
      &table_of<Sighting>(),  &table_of<HeadingCheckRow>(), &table_of<ContactRow>(),
      &table_of<DiaryRow>(),  &table_of<ObstacleRow>(),     &table_of<SoilPit>(),
      &table_of<SoilLayer>(), &table_of<PercolationTest>(), &table_of<PercolationReading>(),
      &table_of<SiteNote>(),  &table_of<Hazard>(),          &table_of<Person>(),
      &table_of<Path>(),      &table_of<ClimateNormals>(),  &table_of<DesignChoices>(),
      &table_of<Finding>()};
  static const std::vector<const Table*> list(tables.begin(), tables.end());
  return list;
}

const Table* table_named(std::string_view name) {
  for (const Table* table : all_tables())
    if (table->name == name) return table;
  return nullptr;
}

std::optional<Range> range_of(std::string_view table, std::string_view column) {
  const Table* const found = table_named(table);
  const int at = found ? found->index_of(column) : -1;
  if (at < 0 || !std::isfinite(found->columns[at].range.max)) return std::nullopt;
  return found->columns[at].range;
}

std::string json_of(const std::vector<Field>& fields) {
  json list = json::array();
  for (const Field& field : fields) list.push_back({field.key, field.value});
  return list.dump(-1, ' ', false, json::error_handler_t::replace);
}
std::string json_of(const MonthValues& months) {
  json list = json::array();
  for (const auto& value : months) list.push_back(value ? json(*value) : json());
  return list.dump();
}
bool read_json(std::string_view text, std::vector<Field>& fields) {
  const json list = json::parse(text, nullptr, false);
  if (!list.is_array()) return false;
  fields.clear();
  for (const json& pair : list) {
    if (!pair.is_array() || pair.size() != 2 || !pair[0].is_string() || !pair[1].is_string())
      return false;
    fields.push_back({pair[0].get<std::string>(), pair[1].get<std::string>()});
  }
  return true;
}
bool read_json(std::string_view text, MonthValues& months) {
  const json list = json::parse(text, nullptr, false);
  if (!list.is_array() || list.size() != 12) return false;
  for (int i = 0; i < 12; ++i) {
    if (!list[i].is_number() && !list[i].is_null()) return false;
    months[i] = list[i].is_null() ? std::optional<double>() : list[i].get<double>();
  }
  return true;
}

namespace {

constexpr std::size_t kLongestText = 200'000;

[[noreturn]] void refuse(const Table& table, const Column& column, const horizon::Sentence& why) {
  give_up(Code::bad_input, why, table.name + "." + column.name);
}

std::string short_number(double value) {
  char text[40];
  std::snprintf(text, sizeof text, "%.10g", value + 0.0);  // -0 is 0: a file keeps no sign of it
  return text;
}

void check_number(const Table& table, const Column& column, double value) {
  if (!std::isfinite(value)) refuse(table, column, "error.number_not_finite");
  if (!column.range.holds(value))
    refuse(table, column,
           {"error.number_outside",
            {horizon::Arg::figure(short_number(value)),
             horizon::Arg::figure(short_number(column.range.min)),
             horizon::Arg::figure(short_number(column.range.max)), column.unit}});
}

void check_text(const Table& table, const Column& column, const std::string& text) {
  if (column.required && trimmed(text).empty()) refuse(table, column, "error.cannot_be_empty");
  if (text.size() > kLongestText) refuse(table, column, "error.text_too_long");
  if (!valid_utf8(text) || text.find('\0') != std::string::npos)
    refuse(table, column, "error.text_not_utf8");
  if (!column.words.empty() && std::ranges::find(column.words, text) == column.words.end()) {
    std::string known;
    for (const std::string& word : column.words) known += (known.empty() ? "" : ", ") + word;
    refuse(table, column, {"error.word_unknown", {text, known}});
  }
  if (!column.refers_to.empty() && !text.empty() && !is_uuid(text))
    refuse(table, column, {"error.no_id_of", {text, column.refers_to}});
  if (column.holds == Holds::moment && !horizon::parse_utc_s(text))
    refuse(table, column, "error.time_not_readable");
  MonthValues months;
  if (column.holds == Holds::months) {
    if (!read_json(text, months)) refuse(table, column, "error.twelve_numbers_needed");
    for (const auto& value : months)
      if (value) check_number(table, column, *value);
  }
  std::vector<Field> fields;
  if (column.holds == Holds::fields && !read_json(text, fields))
    refuse(table, column, "error.json_pairs_needed");
}

void check_geometry(const Table& table, const Column& column, const std::string& bytes) {
  if (column.holds == Holds::point) {
    const auto position = point_of(bytes);
    if (!position) refuse(table, column, position.error().sentence());
  } else {
    const auto line = line_of(bytes);
    if (!line) refuse(table, column, line.error().sentence());
    if (line->size() < 2) refuse(table, column, "error.line_needs_two_points");
  }
}

void check_cell(const Table& table, const Column& column, Cell& cell) {
  if (std::holds_alternative<std::monostate>(cell)) {
    if (column.required) refuse(table, column, "error.cannot_be_empty");
    if (column.nullable || std::holds_alternative<std::monostate>(column.standard)) return;
    cell = column.standard;
  }
  switch (column.holds) {
    case Holds::real:
      if (const auto* whole = std::get_if<std::int64_t>(&cell)) cell = static_cast<double>(*whole);
      if (const auto* value = std::get_if<double>(&cell))
        return check_number(table, column, *value);
      break;
    case Holds::whole:
    case Holds::yes_no:
      if (const auto* value = std::get_if<std::int64_t>(&cell)) {
        if (column.holds == Holds::yes_no && *value != 0 && *value != 1)
          refuse(table, column, "error.zero_or_one");
        return check_number(table, column, static_cast<double>(*value));
      }
      break;
    case Holds::point:
    case Holds::line:
      if (const auto* blob = std::get_if<Blob>(&cell))
        return check_geometry(table, column, blob->bytes);
      break;
    default:
      if (const auto* text = std::get_if<std::string>(&cell))
        return check_text(table, column, *text);
  }
  refuse(table, column, "error.value_not_of_column");
}

}  // namespace

void check_cells(const Table& table, Cells& cells) {
  if (std::string* id = std::get_if<std::string>(&cells[0])) {
    if (id->empty()) *id = random_uuid();
    if (!is_uuid(*id)) refuse(table, table.columns[0], {"error.no_uuid", {*id}});
  }
  for (std::size_t i = 0; i < table.columns.size(); ++i)
    check_cell(table, table.columns[i], cells[i]);
  const int top = table.index_of("top_m");
  if (top >= 0 && std::get<double>(cells[top]) >= std::get<double>(cells[top + 1]))
    refuse(table, table.columns[top], "error.layer_upside_down");
}

std::string image_of(const Table& table, const Cells& cells) {
  json image = json::object();
  for (std::size_t i = 0; i < cells.size(); ++i) {
    json& slot = image[table.columns[i].name];
    if (const auto* whole = std::get_if<std::int64_t>(&cells[i]))
      slot = *whole;
    else if (const auto* real = std::get_if<double>(&cells[i]))
      slot = *real;
    else if (const auto* text = std::get_if<std::string>(&cells[i]))
      slot = *text;
    else if (const auto* blob = std::get_if<Blob>(&cells[i]))
      slot = json::array({json::binary_t::container_type(blob->bytes.begin(), blob->bytes.end())});
  }
  return image.dump(-1, ' ', false, json::error_handler_t::replace);
}

Cells cells_of_image(const Table& table, std::string_view text) {
  const json image = json::parse(text, nullptr, false);
  if (!image.is_object()) give_up(Code::bad_input, "error.earlier_state_unreadable", table.name);
  Cells cells;
  for (const Column& column : table.columns) {
    const auto found = image.find(column.name);
    if (found == image.end()) {
      cells.push_back(column.standard);
    } else if (found->is_number_integer()) {
      cells.emplace_back(found->get<std::int64_t>());
    } else if (found->is_number()) {
      cells.emplace_back(found->get<double>());
    } else if (found->is_string()) {
      cells.emplace_back(found->get<std::string>());
    } else if (found->is_array() && found->size() == 1 && (*found)[0].is_array()) {
      Blob blob;
      for (const json& byte : (*found)[0])
        blob.bytes += static_cast<char>(byte.is_number_integer() ? byte.get<int>() : 0);
      cells.emplace_back(std::move(blob));
    } else {
      cells.emplace_back();
    }
  }
  return cells;
}

std::string words_of(const Cell& cell) {
  if (const auto* whole = std::get_if<std::int64_t>(&cell)) return std::to_string(*whole);
  if (const auto* real = std::get_if<double>(&cell)) return short_number(*real);
  if (const auto* text = std::get_if<std::string>(&cell)) return *text;
  if (const auto* blob = std::get_if<Blob>(&cell)) {
    if (const auto point = point_of(blob->bytes))
      return short_number(point->latitude_deg) + " " + short_number(point->longitude_deg) +
             (point->height_m ? " " + short_number(*point->height_m) : "");
    if (const auto line = line_of(blob->bytes)) return std::to_string(line->size()) + " points";
  }
  return {};
}

}  // namespace survey
