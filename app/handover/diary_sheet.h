// app/handover/diary_sheet.h: the sheet that a class fills in: when the sun came and when it went.
// Units: points; one page a fortnight
#pragma once

#include <string>

#include "app/handover/pages.h"
#include "horizon/result.h"
#include "horizon/time.h"

namespace app {

struct DiarySheet {
  std::string site, station;
  std::string language = "en";
  horizon::Date first;
  int fortnights = 2;  // 1 to 26
  std::string watch;   // what to watch for, in a sentence; may be empty
  Paper paper = Paper::a4;
};
// The bytes of a PDF.
horizon::Result<std::string> diary_sheet(const DiarySheet& sheet);

}  // namespace app
