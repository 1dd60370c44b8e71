// tests/photo/judged.h: how the line found in a photograph compares with the one drawn by hand.
// Units: thousandths of the picture's width
#pragma once

#include <stb/stb_image.h>

#include <algorithm>
#include <cmath>
#include <cstdlib>
#include <fstream>
#include <map>
#include <string>
#include <vector>

#include "horizon/photo/photo_line.h"
#include "tests/csv_rows.h"

namespace photo_test {

constexpr double kWrong = 8;  // thousandths off: a column called sure is wrong

struct Photograph {
  std::string name, kind, third, file;
  std::vector<std::vector<horizon::Pixel>> parts;  // of the hand's line
  bool has_line() const { return !parts.empty(); }
  bool has_none() const { return kind == "no-line" || kind == "all-sky"; }
};

struct Pixels {
  int width = 0, height = 0;
  std::vector<std::uint8_t> rgb;
  horizon::PictureView view() const { return {width, height, 3, rgb.data()}; }
};

inline Pixels load(const std::string& path) {
  Pixels p;
  int channels = 0;
  if (std::uint8_t* data = stbi_load(path.c_str(), &p.width, &p.height, &channels, 3)) {
    p.rgb.assign(data, data + static_cast<size_t>(p.width) * p.height * 3);
    stbi_image_free(data);
  }
  return p;
}

// Those whose package tests/photo/unpack.sh has unpacked into `folder`.
inline std::vector<Photograph> photographs(const std::string& folder) {
  std::map<std::string, std::vector<std::vector<horizon::Pixel>>> lines;
  for (const CsvRow& row : csv_rows("photo_traces.csv")) {
    auto& parts = lines[row.text.at("photo")];
    parts.resize(std::max(parts.size(), static_cast<size_t>(row["part"])));
    parts.back().push_back({row["x"], row["y"]});
  }
  std::vector<Photograph> all;
  for (const CsvRow& row : csv_rows("photographs.csv")) {
    Photograph p{
        row.text.at("photo"), row.text.at("kind"), row.text.at("third"),
        folder + "/" + row.text.at("package") + "-" + row.text.at("suite") + row.text.at("file"),
        lines[row.text.at("photo")]};
    if (std::ifstream(p.file)) all.push_back(std::move(p));
  }
  return all;
}

struct Judged {
  int columns = 0, sure = 0, wrong = 0;  // wrong: of the sure ones
  std::vector<double> off;               // of every column that the hand has drawn
  double median() const {
    std::vector<double> v = off;
    if (v.empty()) return 0;
    std::nth_element(v.begin(), v.begin() + v.size() / 2, v.end());
    return v[v.size() / 2];
  }
};

// The rows that the hand's line passes within a thousandth of a column.
inline bool span_at(const Photograph& photo, double x, double& low, double& high) {
  low = 1e9, high = -1e9;
  for (const auto& part : photo.parts)
    for (size_t i = 0; i + 1 < part.size(); ++i) {
      const auto &a = part[i], &b = part[i + 1];
      if (x < std::min(a.x, b.x) - 1 || x > std::max(a.x, b.x) + 1) continue;
      for (const double at : {x - 1, x + 1}) {
        const double t = a.x == b.x ? 0 : std::clamp((at - a.x) / (b.x - a.x), 0.0, 1.0);
        const double y = a.y + t * (b.y - a.y);
        low = std::min({low, y, a.x == b.x ? b.y : y});
        high = std::max({high, y, a.x == b.x ? b.y : y});
      }
    }
  return low <= high;
}

inline Judged judged(const Photograph& photo, const horizon::PhotoLine& line, double width) {
  Judged result;
  for (const auto& p : line.points) {
    if (photo.has_none()) {
      ++result.columns;
      result.sure += p.sure;
      result.wrong += p.sure;
      continue;
    }
    double low = 0, high = 0;
    if (!span_at(photo, p.x_px * 1000 / width, low, high)) continue;
    const double y = p.y_px * 1000 / width;
    const double off = std::max({0.0, low - y, y - high});
    ++result.columns;
    result.sure += p.sure;
    result.wrong += p.sure && off > kWrong;
    result.off.push_back(off);
  }
  return result;
}

}  // namespace photo_test
