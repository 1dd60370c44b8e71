// app/words/light_words.h: what would a person say about the light of a station, in two sentences.
// Units:  hours of direct sun on the shortest day, days by thirds of their months
// Doubt:  said in the sentence: a range in place of a figure, checks that disagree, what nobody aimed at
#pragma once

#include <string>

#include "horizon/light/findings.h"

namespace app {

// "4 h 52 min (4.7–5.1 h) of direct sun on the shortest day, and light enough for leafy greens and
// herbs from mid January to late November."
std::string light_sentence(const horizon::StationFindings& f, int year);
// "Most of the rest goes to the spruces, in the afternoon."; empty where nothing takes any.
std::string light_rest(const horizon::StationFindings& f, double latitude_deg);
// What may turn it over: checks that disagree, the part of the winter sun's way that nobody aimed at.
std::string light_doubt(const horizon::StationFindings& f);
// The crop that most gardens ask about: leaf crops, else the first; null without any.
const horizon::CropSeason* leaf_crop(const horizon::GrowingLight& growing);
// How its season differs from year to year; null where no years are known. `crop` is one of f's own.
const horizon::CropYears* crop_years(const horizon::StationFindings& f,
                                     const horizon::CropSeason& crop);
std::string part_of_month(int day, int year);  // "mid January"

}  // namespace app
