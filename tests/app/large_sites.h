// Sites larger than anybody walks: what a slip, a machine or a stranger can make. Invented.
#pragma once

#include <cmath>
#include <numbers>
#include <string>

#include "tests/app/larkholm_book.h"

namespace large {

using larkholm::at;
using larkholm::good;

struct Size {
  int stations = 1, ridge_marks = 40;  // of each station
  int poles = 0;                       // at the first
  int photos = 0;
  int photo_kb = 0;  // as large at least
};

inline survey::Sighting mark(const survey::Id& station, double bearing_deg, double elevation_deg) {
  survey::Sighting out{.station_id = station, .time = at(9.2)};
  out.bearing_deg = bearing_deg;
  out.reference = survey::Reference::true_north;
  out.elevation_deg = elevation_deg;
  out.instrument = "theodolite";
  return out;
}

inline double ridge_deg(double bearing_deg) {
  const double az = bearing_deg * std::numbers::pi / 180;
  return 11 + 5 * std::sin(az) + 2 * std::sin(3 * az) + 0.5 * std::sin(40 * az);
}

inline survey::FieldBook book(const std::string& path, const Size& size) {
  survey::Site site{.name = "Larkholm", .position = {46.62, 10.34, 1480}};
  site.created = at(8);
  auto book = good(survey::FieldBook::create(path, site));
  const auto filled = book.change("made", [&]() -> horizon::Result<void> {
    const auto visit = good(book.put(survey::Visit{.begun = at(8)}));
    survey::Id first;
    for (int s = 0; s < size.stations; ++s) {
      survey::Station station{
          .visit_id = visit, .name = "S" + std::to_string(s + 1), .time = at(9), .main = s == 0};
      station.position = {46.62 + 2e-5 * (s % 100), 10.34 + 3e-5 * (s / 100), 1480.0 + s % 7};
      const auto id = good(book.put(station));
      if (s == 0) first = id;
      for (int m = 0; m < size.ridge_marks; ++m) {
        const double bearing = 360.0 * m / size.ridge_marks;
        good(book.put(mark(id, bearing, ridge_deg(bearing))));
      }
    }
    for (int p = 0; p < size.poles; ++p) {
      const double bearing = std::fmod(p * 137.50776, 360);
      auto pole = mark(first, bearing, ridge_deg(bearing) + 1 + p % 5);
      pole.kind = horizon::Kind::pole;
      pole.label = "pole " + std::to_string(p + 1);
      good(book.put(pole));
    }
    const std::string small = size.photos > 0 ? larkholm::picture(1) : "";
    for (int i = 0; i < size.photos; ++i) {
      survey::Photo photo{.station_id = first, .time = at(9.5 + i * 0.01)};
      photo.file_name = "p" + std::to_string(i + 1) + ".png";
      // What follows a picture's end belongs to nobody, and makes each another.
      std::string bytes = small + "picture " + std::to_string(i);
      if (bytes.size() < static_cast<std::size_t>(size.photo_kb) * 1000)
        bytes.resize(static_cast<std::size_t>(size.photo_kb) * 1000, '.');
      good(book.add_photo(photo, bytes));
    }
    return {};
  });
  good(filled);
  return book;
}

}  // namespace large
