// survey/exchange/contacts_csv.h: contacts of sun and moon, and diaries, from a text table.
// Units:  seconds, degrees Celsius, hPa
// Layout: docs/formats.md. In a sightings table a row that names a `body` is a contact: it has a time
//         and no bearing. A table with the columns date, came, went is a diary
// Errors: every bad row is listed with its line and the cure; the good rows are kept
#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "horizon/result.h"
#include "survey/book/model.h"

namespace survey {

template <class Row>
struct LinedRow {
  int line = 0;
  std::string station;  // empty: the only one
  Row row;              // without station_id
};

struct ContactsTable {
  std::vector<LinedRow<ContactRow>> contacts;
  std::vector<LinedRow<DiaryRow>> diary;
  bool is_diary = false;
  // What is left for survey/exchange/marks_csv.h, line for line; empty where nothing is.
  std::string rest;
  std::vector<horizon::Error> errors;
};
// utc_offset_h: of the clock that a diary's times were read from.
ContactsTable contacts_of_csv(std::string_view bytes, double utc_offset_h);

}  // namespace survey
