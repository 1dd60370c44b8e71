// survey/book/row_cells.h: a struct as cells and back, and as a description, by its `describe`.
// Errors: row_of throws where a cell is of the wrong sort, naming table and column; NULL and what
//         an older file lacks leave the struct's own default
#pragma once

#include <cmath>

#include "horizon/time.h"
#include "survey/book/columns.h"
#include "survey/book/geometry.h"

namespace survey {

inline std::string_view name_of(horizon::Edge edge) {
  return edge == horizon::Edge::straight ? "line" : "straight_edge";
}

constexpr int count_of(horizon::Kind) { return horizon::kKindCount; }
constexpr int count_of(horizon::Edge) { return 2; }
constexpr int count_of(horizon::CheckKind) { return horizon::kCheckKindCount; }
constexpr int count_of(horizon::Body) { return horizon::kBodyCount; }
constexpr int count_of(horizon::Touch) { return horizon::kTouchCount; }
constexpr int count_of(ContactHow) { return kContactHowCount; }
constexpr int count_of(DiarySky) { return kDiarySkyCount; }
constexpr int count_of(horizon::Reference) { return horizon::kReferenceCount; }
constexpr int count_of(PositionSource) { return kPositionSourceCount; }
constexpr int count_of(HeightDatum) { return kHeightDatumCount; }
constexpr int count_of(Topic) { return kTopicCount; }
constexpr int count_of(HazardKind) { return kHazardKindCount; }
constexpr int count_of(Role) { return kRoleCount; }
constexpr int count_of(PathKind) { return kPathKindCount; }

template <class T>
concept Enumeration = std::is_enum_v<T>;

std::string json_of(const std::vector<Field>& fields);
std::string json_of(const MonthValues& months);
bool read_json(std::string_view text, std::vector<Field>& fields);  // false: no such list
bool read_json(std::string_view text, MonthValues& months);

// ---- a row as cells

struct CellWriter {
  Cells cells;

  void add(const std::string& value) { cells.emplace_back(value); }
  void add(bool value) { cells.emplace_back(std::int64_t{value}); }
  void add(int value) { cells.emplace_back(std::int64_t{value}); }
  void add(std::int64_t value) { cells.emplace_back(value); }
  void add(double value) { cells.emplace_back(value); }
  void add(Enumeration auto value) { cells.emplace_back(std::string(name_of(value))); }
  void add(const Moment& value) {
    const bool sane = std::abs(value.utc_s) < 2e11;
    cells.emplace_back(sane ? horizon::format_utc(value.utc_s, 3) : std::string());
    cells.emplace_back(value.utc_offset_h);
  }
  void add(const Position& value) { cells.emplace_back(Blob{geometry_of(value)}); }
  void add(const std::vector<PathPoint>& value) { cells.emplace_back(Blob{geometry_of(value)}); }
  void add(const std::vector<Field>& value) { cells.emplace_back(json_of(value)); }
  void add(const MonthValues& value) { cells.emplace_back(json_of(value)); }
  template <class T>
  void add(const std::optional<T>& value) {
    if (value) return add(*value);
    cells.emplace_back();
    if constexpr (std::is_same_v<T, Moment>) cells.emplace_back();
  }

  void operator()(const char*, const auto& value, const char*, const char*, const Rules&) {
    add(value);
  }
};

template <class Row>
Cells cells_of(const Row& row) {
  CellWriter writer;
  writer.add(row.id);
  describe(row, writer);
  return std::move(writer.cells);
}

// ---- cells as a row

struct CellReader {
  const char* table;
  const Cells& cells;
  std::size_t at = 0;

  [[noreturn]] void wrong(const char* column) const {
    give_up(horizon::Code::bad_input, "error.value_not_of_column",
            std::string(table) + "." + column);
  }
  bool empty() const { return std::holds_alternative<std::monostate>(cells[at]); }
  template <class T>
  const T& get(const char* column) {
    const T* value = std::get_if<T>(&cells[at]);
    if (!value) wrong(column);
    ++at;
    return *value;
  }
  double number(const char* column) {
    if (std::holds_alternative<std::int64_t>(cells[at]))
      return static_cast<double>(get<std::int64_t>(column));
    return get<double>(column);
  }

  void read(const char* c, std::string& value) { value = get<std::string>(c); }
  void read(const char* c, bool& value) { value = get<std::int64_t>(c) != 0; }
  void read(const char* c, int& value) {
    const std::int64_t whole = get<std::int64_t>(c);
    if (whole != static_cast<int>(whole)) wrong(c);
    value = static_cast<int>(whole);
  }
  void read(const char* c, std::int64_t& value) { value = get<std::int64_t>(c); }
  void read(const char* c, double& value) { value = number(c); }
  void read(const char* c, Enumeration auto& value) {
    const std::string& word = get<std::string>(c);
    using E = std::remove_reference_t<decltype(value)>;
    for (int i = 0; i < count_of(E{}); ++i)
      if (name_of(E(i)) == word) {
        value = E(i);
        return;
      }
    wrong(c);
  }
  void read(const char* c, Moment& value) {
    const auto time = horizon::parse_utc_s(get<std::string>(c));
    if (!time) wrong(c);
    value.utc_s = *time;
    value.utc_offset_h = empty() ? (++at, 0.0) : number(c);
  }
  void read(const char* c, Position& value) {
    auto position = point_of(get<Blob>(c).bytes);
    if (!position) wrong(c);
    value = *position;
  }
  void read(const char* c, std::vector<PathPoint>& value) {
    auto line = line_of(get<Blob>(c).bytes);
    if (!line) wrong(c);
    value = std::move(*line);
  }
  void read(const char* c, std::vector<Field>& value) {
    if (!read_json(get<std::string>(c), value)) wrong(c);
  }
  void read(const char* c, MonthValues& value) {
    if (!read_json(get<std::string>(c), value)) wrong(c);
  }
  template <class T>
  void read(const char* c, std::optional<T>& value) {
    read(c, value.emplace());
  }

  template <class T>
  void operator()(const char* name, T& value, const char*, const char*, const Rules&) {
    constexpr bool two = std::is_same_v<T, Moment> || std::is_same_v<T, std::optional<Moment>>;
    if (empty()) {
      at += two ? 2 : 1;
      return;
    }
    read(name, value);
  }
};

template <class Row>
Row row_of(const Cells& cells) {
  Row row;
  CellReader reader{TableName<Row>::name, cells};
  reader.read("id", row.id);
  describe(row, reader);
  return row;
}

// ---- the description

struct ColumnLister {
  std::vector<Column> columns;

  void add(const char* name, Holds holds, const char* unit, const char* meaning,
           const Rules& rules) {
    columns.push_back({name,
                       holds,
                       unit,
                       meaning,
                       rules.required,
                       rules.raw,
                       false,
                       rules.range,
                       rules.refers_to,
                       {},
                       {}});
  }
  template <class T>
  void operator()(const char* name, const T& value, const char* unit, const char* meaning,
                  const Rules& rules) {
    list(name, value, unit, meaning, rules);
  }

 private:
  using N = const char*;
  using R = const Rules&;
  void list(N n, const std::string&, N u, N m, R r) { add(n, Holds::text, u, m, r); }
  void list(N n, bool, N u, N m, R r) { add(n, Holds::yes_no, u, m, r); }
  void list(N n, int, N u, N m, R r) { add(n, Holds::whole, u, m, r); }
  void list(N n, std::int64_t, N u, N m, R r) { add(n, Holds::whole, u, m, r); }
  void list(N n, double, N u, N m, R r) { add(n, Holds::real, u, m, r); }
  void list(N n, const Position&, N u, N m, R r) { add(n, Holds::point, u, m, r); }
  void list(N n, const std::vector<PathPoint>&, N u, N m, R r) { add(n, Holds::line, u, m, r); }
  void list(N n, const std::vector<Field>&, N u, N m, R r) { add(n, Holds::fields, u, m, r); }
  void list(N n, const MonthValues&, N u, N m, R r) { add(n, Holds::months, u, m, r); }
  void list(N n, Enumeration auto value, N u, N m, R r) {
    add(n, Holds::text, u, m, r);
    for (int i = 0; i < count_of(value); ++i)
      columns.back().words.emplace_back(name_of(decltype(value)(i)));
  }
  void list(N n, const Moment&, N, N m, R r) {
    const std::string name = n;
    add((name + "_utc").c_str(), Holds::moment, "ISO 8601, UTC", m, r);
    Rules offset = within(range::kClockOffset_h);
    offset.raw = r.raw;
    add((name + "_utc_offset_h").c_str(), Holds::real, "hours", "the local clock's", offset);
  }
  template <class T>
  void list(N n, const std::optional<T>&, N u, N m, R r) {
    const std::size_t first = columns.size();
    list(n, T{}, u, m, r);
    for (std::size_t i = first; i < columns.size(); ++i) columns[i].nullable = true;
  }
};

template <class Row>
const Table& table_of() {
  static const Table table = [] {
    using Name = TableName<Row>;
    ColumnLister lister;
    lister.add("id", Holds::text, "UUID", "", kRequired);
    const Row row;
    describe(row, lister);
    const Cells standard = cells_of(row);
    for (std::size_t i = 0; i < standard.size(); ++i) lister.columns[i].standard = standard[i];
    return Table{Name::name, Name::meaning, Name::keep_for_ever, Name::single,
                 std::move(lister.columns)};
  }();
  return table;
}

}  // namespace survey
