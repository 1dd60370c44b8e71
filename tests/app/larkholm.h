// An invented place for tests of charts and report: Larkholm school garden.
#pragma once

#include "horizon/place.h"
#include "horizon/skyline/mask.h"
#include "horizon/skyline/skyline.h"
#include "survey/book/text.h"
#include "survey/exchange/marks_csv.h"

namespace larkholm {

inline const horizon::Place kPlace{46.6213, 10.3478, 1482};
inline constexpr double kDeclination_deg = 3.6;

inline horizon::Skyline skyline(const std::string& station = "B") {
  const auto bytes =
      survey::read_file(std::string(ADRET_TEST_DATA) + "/../../app/demo/larkholm_marks.csv");
  auto table = survey::marks_of_csv(*bytes);
  std::erase_if(table.marks, [&](const auto& mark) { return mark.station != station; });
  return *survey::skyline_of(table.marks, {.declination_deg = kDeclination_deg});
}

}  // namespace larkholm
