// What an error says, for tests of the code below `app`: its key and what is filled in, as
// "error.weather_ends 8759 12 31 24".
#pragma once

#include <string>

#include "horizon/result.h"

inline std::string said(const horizon::Sentence& sentence) {
  std::string all = sentence.key;
  for (const horizon::Arg& arg : sentence.args)
    all += " " + (arg.inner.empty() ? arg.text : said(arg.inner.front()));
  return all;
}
