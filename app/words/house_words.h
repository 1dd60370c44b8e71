// app/words/house_words.h: what a house is worth without heat, in sentences: the same on screens, in the report,
// on the command line.
// Units: as the reader chose; days by their date in `year`
// Source: exact conversion factors of NIST SP 811, appendix B
#pragma once

#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "app/words/quantity.h"
#include "horizon/house/house_findings.h"

namespace app {

std::string house_headline(
    const horizon::HouseFindings& f);  // "Spinach stands here in 9 of 10 winters."
std::string house_second(const horizon::HouseFindings& f, int year);  // lettuce; when nothing grows
std::string house_source(const horizon::HouseFindings& f);            // where the weather is from
std::string house_line(const horizon::House& house, Units units);     // "32 m2, twin-wall, 176, 30"
std::string house_lowest(const horizon::HouseFindings& f, int year, Units units);
std::string help_words(const horizon::WhatHelps& help, Units units);
std::string odds_words(
    const horizon::HouseFindings& f);  // "of 10 winters live: kale 9 · lettuce 3"
std::string driver_words(const horizon::HouseFindings& f);  // what the range comes from
// How a number of the house (survey/assess/house_input.h) is written: its unit is that of the key.
struct HouseUnit {
  std::string name;               // "ft", "ft²·°F·h/Btu"; empty where there is none
  double factor = 1, offset = 0;  // shown = SI * factor + offset
  double shown(double si) const { return si * factor + offset; }
  double stored(double shown) const { return (shown - offset) / factor; }
};
HouseUnit house_unit(std::string_view key, Units units);
std::string resistance(double m2kw, Units units);  // "6.0 m²·K/W", "34.1 ft²·°F·h/Btu"
std::string kelvins(double k, Units units);        // "+3.1 K"
// A temperature with its range; both rounded to whole degrees.
std::string ranged_c(const horizon::Ranged& r, Units units);
using HouseFacts = std::vector<std::pair<std::string, std::string>>;
HouseFacts house_facts(const horizon::HouseFindings& f, int year, Units units);
// What was corrected or assumed, and what the model leaves out.
std::vector<std::string> house_cautions(const horizon::HouseFindings& f);

}  // namespace app
