// survey/book/table.h: the tables of a site file as data: what each column holds and what it may hold.
// Storage, undo, merge, export and check all work on `Cells` in this order of columns, and know
// no struct; survey/book/columns.h is the one place that ties structs to columns.
#pragma once

#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "survey/book/ranges.h"
#include "survey/book/sql.h"

namespace survey {

enum class Holds : std::uint8_t {
  text,
  whole,
  real,
  yes_no,
  moment,  // TEXT of ISO 8601 in UTC with milliseconds, as GeoPackage's DATETIME
  point,
  line,
  fields,  // TEXT: a JSON list of [key, value]
  months,  // TEXT: a JSON list of 12 numbers or nulls
};

struct Column {
  std::string name;
  Holds holds = Holds::text;
  std::string unit, meaning;
  bool required = false;
  bool raw = false;       // never changes once put
  bool nullable = false;  // NULL says "not known"; else it becomes `standard`
  Range range;
  std::string refers_to;           // a table, by its id
  std::vector<std::string> words;  // the only texts allowed, if any
  Cell standard;                   // what an older file gets
};

struct Table {
  std::string name, meaning;
  bool keep_for_ever = false;   // rows are voided, never removed
  bool single = false;          // one row a file
  std::vector<Column> columns;  // columns[0] is the id

  int index_of(std::string_view column) const;  // -1 where there is none
  const Column* geometry() const;
};

// In an order in which a row's references come before it.
std::span<const Table* const> all_tables();
const Table* table_named(std::string_view name);  // nullptr where there is none

// Fills an empty id; throws naming the column and the cure where a value cannot be kept.
void check_cells(const Table& table, Cells& cells);

// JSON with the columns' names, so that an image outlives a change of the schema.
std::string image_of(const Table& table, const Cells& cells);
Cells cells_of_image(const Table& table, std::string_view image);

// For people: "46.62", "" for nothing, points as "46.62130 10.34780 1482.0".
std::string words_of(const Cell& cell);

}  // namespace survey
