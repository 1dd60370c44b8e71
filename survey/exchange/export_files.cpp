// Text tables, photographs and safe names.
#include <algorithm>
#include <cctype>
#include <charconv>
#include <cstdio>
#include <cstdlib>
#include <cstring>
#include <filesystem>
#include <set>
#include <unordered_map>

#include "horizon/time.h"
#include "survey/book/geometry.h"
#include "survey/book/row_cells.h"
#include "survey/book/store_internal.h"
#include "survey/book/text.h"
#include "survey/exchange/exchange.h"

namespace survey {

namespace fs = std::filesystem;
using horizon::Code;
using horizon::Result;

namespace {

std::string shortest(double value) {
  char text[40];
  for (int digits = 15;; ++digits) {
    *std::to_chars(text, text + sizeof text - 1, value, std::chars_format::general, digits).ptr = 0;
    if (digits == 17 || std::strtod(text, nullptr) == value) return text;
  }
}
std::string shortest(const std::optional<double>& value) {
  return value ? shortest(*value) : std::string();
}

// The system's own device names, with or without an extension.
bool device_name(std::string stem) {
  stem = stem.substr(0, stem.find('.'));
  for (char& c : stem) c = static_cast<char>(std::toupper(static_cast<unsigned char>(c)));
  for (const char* name : {"CON", "PRN", "AUX", "NUL"})
    if (stem == name) return true;
  return stem.size() == 4 && (stem.starts_with("COM") || stem.starts_with("LPT")) &&
         std::isdigit(static_cast<unsigned char>(stem[3]));
}

}  // namespace

std::string new_temp_folder(const std::string& prefix) {
  std::error_code error;
  std::string path = (std::filesystem::temp_directory_path(error) / (prefix + "XXXXXX")).string();
  return !error && mkdtemp(path.data()) ? path : std::string();
}

std::string safe_file_name(std::string_view wish) {
  std::string name;
  for (const char c : wish) {
    const auto byte = static_cast<unsigned char>(c);
    const bool bad = byte < 0x20 || byte == 0x7f ||
                     std::string_view("/\\:*?\"<>|").find(c) != std::string_view::npos;
    name += bad ? '_' : c;
  }
  // Marks that turn the direction of writing can make ".exe" look like ".jpg".
  for (const char* mark : {"\u202a", "\u202b", "\u202c", "\u202d", "\u202e", "\u2066", "\u2067",
                           "\u2068", "\u2069", "\u200e", "\u200f"})
    for (std::size_t at = 0; (at = name.find(mark)) != std::string::npos;) name.erase(at, 3);
  constexpr std::size_t kLongest = 80;
  if (name.size() > kLongest) {
    std::size_t end = kLongest;
    while (end > 0 && (name[end] & 0xc0) == 0x80) --end;  // not within a character
    name.resize(end);
  }
  const std::size_t first = name.find_first_not_of(". ");
  if (first == std::string::npos) return "unnamed";
  name = name.substr(first, name.find_last_not_of(". ") - first + 1);
  return device_name(name) ? "_" + name : name;
}

std::string file_stem_of(std::string_view name, std::string_view fallback) {
  // Spaces and marks of other scripts that separate words or turn the direction of writing.
  static const std::set<std::string_view> kApart = {
      "\u00a0", "\u2000", "\u2001", "\u2002", "\u2003", "\u2004", "\u2005", "\u2006",
      "\u2007", "\u2008", "\u2009", "\u200a", "\u200b", "\u200e", "\u200f", "\u2010",
      "\u2011", "\u2012", "\u2013", "\u2014", "\u2015", "\u2018", "\u2019", "\u201c",
      "\u201d", "\u2024", "\u2028", "\u2029", "\u202a", "\u202b", "\u202c", "\u202d",
      "\u202e", "\u202f", "\u2044", "\u2060", "\u2066", "\u2067", "\u2068", "\u2069",
      "\u2215", "\u3000", "\ufeff", "\uff0e", "\uff0f", "\uff3c"};
  constexpr std::size_t kLongest = 40;
  const std::string text = valid_utf8(name) ? std::string(name) : std::string();
  std::string out;
  std::size_t characters = 0;
  for (std::size_t i = 0; i < text.size() && characters < kLongest;) {
    std::size_t end = i + 1;
    while (end < text.size() && (text[end] & 0xc0) == 0x80) ++end;
    const std::string_view one = std::string_view(text).substr(i, end - i);
    i = end;
    const auto byte = static_cast<unsigned char>(one[0]);
    const bool apart = one.size() == 1 ? !std::isalnum(byte)
                                       : kApart.contains(one) || (byte == 0xc2 && one[1] < '\xaa');
    if (apart && (out.empty() || out.back() == '-')) continue;
    out += apart             ? "-"
           : one.size() == 1 ? std::string(1, char(std::tolower(byte)))
                             : std::string(one);
    ++characters;
  }
  while (!out.empty() && out.back() == '-') out.pop_back();
  if (out.empty()) out = fallback;
  return device_name(out) ? "_" + out : out;
}

Result<std::string> marks_csv_of(const FieldBook& book) {
  return guarded([&] {
    std::unordered_map<Id, std::string> stations;
    for (const Station& station : value_or_throw(book.all<Station>()))
      stations[station.id] = station.name;
    std::string csv =
        "bearing_deg,reference,elevation_deg,kind,label,distance_m,bearing_sigma_deg,"
        "elevation_sigma_deg,width_deg,layer,edge,station,time_utc,instrument,back_bearing,group,"
        "note";
    const auto contacts = value_or_throw(book.all<ContactRow>());
    const bool any = std::ranges::any_of(contacts, [](const auto& row) { return !row.voided; });
    if (any)
      csv +=
          ",body,light,touch,reading_sigma_s,clock_ahead_s,clock_sigma_s,temperature_c,"
          "pressure_hpa,people";
    csv += "\n";
    for (const Sighting& row : value_or_throw(book.all<Sighting>())) {
      if (row.voided) continue;
      for (const std::string& field :
           {shortest(row.bearing_deg), std::string(name_of(row.reference)),
            shortest(row.elevation_deg), std::string(name_of(row.kind)), csv_text(row.label),
            shortest(row.distance_m), shortest(row.bearing_sigma_deg),
            shortest(row.elevation_sigma_deg), shortest(row.width_deg), std::to_string(row.layer),
            std::string(name_of(row.edge)), csv_text(stations[row.station_id]),
            row.time.utc_s != 0 ? horizon::format_utc(row.time.utc_s, 3) : std::string(),
            csv_text(row.instrument), std::string(row.back_bearing ? "yes" : ""),
            csv_text(row.group)})
        csv += csv_field(field) + ",";
      csv += csv_field(csv_text(row.note)) + (any ? ",,,,,,,,,\n" : "\n");
    }
    for (const ContactRow& row : contacts) {
      if (row.voided) continue;
      csv += ",,,," + csv_field(csv_text(row.label)) + ",,,,,,," +
             csv_field(csv_text(stations[row.station_id])) + "," +
             horizon::format_utc(row.time.utc_s, 3) + ",,,," + csv_field(csv_text(row.note)) + "," +
             std::string(horizon::name_of(row.body)) + (row.came ? ",came," : ",went,") +
             std::string(horizon::name_of(row.touch)) + "," + shortest(row.reading_sigma_s) + "," +
             shortest(row.clock_ahead_s) + "," + shortest(row.clock_sigma_s) + "," +
             shortest(row.temperature_c) + "," + shortest(row.pressure_hpa) + "," +
             csv_field(csv_text(row.people)) + "\n";
    }
    return csv;
  });
}

Result<std::string> table_csv_of(const FieldBook& book, std::string_view name) {
  return guarded([&] {
    const Table* table = table_named(name);
    if (!table) give_up(Code::not_found, "error.no_such_table", std::string(name));
    std::string csv;
    for (const Column& column : table->columns)
      csv += (csv.empty() ? "" : ",") + (column.holds == Holds::point
                                             ? "longitude_deg,latitude_deg,height_m"
                                             : csv_field(column.name));
    csv += "\r\n";
    each_row(book.store(), *table, [&](const Statement& row) {
      for (std::size_t i = 0; i < table->columns.size(); ++i) {
        if (i > 0) csv += ",";
        const Cell cell = row.cell(static_cast<int>(i) + kFirstCell);
        if (table->columns[i].holds == Holds::point) {
          const auto* blob = std::get_if<Blob>(&cell);
          const auto position = blob ? point_of(blob->bytes)
                                     : horizon::fail(Code::not_found, "error.position_missing");
          csv += position
                     ? shortest(position->longitude_deg) + "," + shortest(position->latitude_deg) +
                           "," + shortest(position->height_m)
                     : ",,";
        } else if (const auto* real = std::get_if<double>(&cell)) {
          csv += shortest(*real);
        } else {
          csv += csv_field(csv_text(words_of(cell)));
        }
      }
      csv += "\r\n";
    });
    return csv;
  });
}

Result<std::vector<std::string>> export_photos(const FieldBook& book, const std::string& folder) {
  return guarded([&] {
    std::vector<std::string> names;
    std::error_code error;
    if (!fs::is_directory(folder, error)) give_up(Code::not_found, "error.no_such_folder", folder);
    int number = 0;
    for (const Photo& photo : value_or_throw(book.all<Photo>())) {
      char prefix[16];
      std::snprintf(prefix, sizeof prefix, "%04d ", ++number);
      std::string stem = photo.label.empty() ? photo.file_name : photo.label;
      if (photo.label.empty()) stem = stem.substr(0, stem.rfind('.'));
      const std::string name =
          prefix + safe_file_name(stem) + (photo.media_type == "image/png" ? ".png" : ".jpg");
      const fs::path path = fs::path(folder) / name;
      if (fs::exists(path, error))
        give_up(Code::bad_input, "error.file_exists_choose_folder", path.string());
      value_or_throw(write_file(path.string(), value_or_throw(book.photo_bytes(photo.id))));
      names.push_back(name);
    }
    return names;
  });
}

}  // namespace survey
