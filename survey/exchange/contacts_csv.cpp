#include "survey/exchange/contacts_csv.h"

#include <algorithm>
#include <cmath>
#include <cstdio>
#include <map>
#include <optional>

#include "horizon/time.h"
#include "survey/book/text.h"

namespace survey {
namespace {

using horizon::Code;
using horizon::Error;
using horizon::Touch;

char separator_of(std::string_view header) {
  for (const char c : {';', '\t'})
    if (header.find(c) != std::string_view::npos) return c;
  return ',';
}

// One line of RFC 4180; a field with a line end in it is not for these tables.
std::vector<std::string> fields_of(std::string_view line, char separator) {
  std::vector<std::string> fields(1);
  bool quoted = false;
  for (std::size_t i = 0; i < line.size(); ++i) {
    const char c = line[i];
    if (quoted) {
      if (c != '"')
        fields.back() += c;
      else if (i + 1 < line.size() && line[i + 1] == '"')
        fields.back() += line[++i];
      else
        quoted = false;
    } else if (c == '"' && trimmed(fields.back()).empty()) {
      quoted = true;
    } else if (c == separator) {
      fields.emplace_back();
    } else {
      fields.back() += c;
    }
  }
  for (std::string& field : fields) field = std::string(trimmed(field));
  return fields;
}

std::string plain(std::string_view field) {
  std::string name;
  for (const char c : lower_ascii(trimmed(field)))
    if ((c >= 'a' && c <= 'z') || (c >= '0' && c <= '9')) name += c;
  return name;
}

std::string quoted(std::string_view field) {
  std::string text(field.substr(0, 40));
  while (!text.empty() && !valid_utf8(text)) text.pop_back();
  return "\"" + text + "\"";
}

// The one name of a column, however people call it.
std::string column_named(std::string_view field) {
  static const std::map<std::string, std::string> names = {{"body", "body"},
                                                           {"light", "light"},
                                                           {"touch", "touch"},
                                                           {"limb", "touch"},
                                                           {"time", "time"},
                                                           {"timeutc", "time"},
                                                           {"utc", "time"},
                                                           {"readingsigmas", "reading"},
                                                           {"clockaheads", "ahead"},
                                                           {"clocksigmas", "clock"},
                                                           {"temperaturec", "air_c"},
                                                           {"pressurehpa", "hpa"},
                                                           {"by", "people"},
                                                           {"people", "people"},
                                                           {"wer", "people"},
                                                           {"von", "people"},
                                                           {"label", "label"},
                                                           {"name", "label"},
                                                           {"obstacle", "label"},
                                                           {"station", "station"},
                                                           {"note", "note"},
                                                           {"notes", "note"},
                                                           {"notiz", "note"},
                                                           {"remark", "note"},
                                                           {"date", "date"},
                                                           {"datum", "date"},
                                                           {"came", "came"},
                                                           {"kam", "came"},
                                                           {"went", "went"},
                                                           {"ging", "went"},
                                                           {"sky", "sky"},
                                                           {"himmel", "sky"},
                                                           {"bearing", "bearing"},
                                                           {"bearingdeg", "bearing"}};
  const auto found = names.find(plain(field));
  return found == names.end() ? std::string() : found->second;
}

struct Row {
  std::map<std::string, std::string> cells;
  std::string operator[](const char* column) const {
    const auto found = cells.find(column);
    return found == cells.end() ? std::string() : found->second;
  }
};

// Names the first thing wrong with the row.
struct Wrong {
  horizon::Sentence why;
};

std::optional<double> number_in(const Row& row, const char* column, double least, double most) {
  const std::string text = row[column];
  if (text.empty()) return std::nullopt;
  const auto value = number_of(text);
  if (!value || !(*value >= least && *value <= most))
    throw Wrong{{"error.contact_number", {std::string(column), quoted(text)}}};
  return value;
}

ContactRow contact_of(const Row& row) {
  ContactRow contact;
  contact.how = ContactHow::typed;
  const auto body = horizon::body_named(plain(row["body"]));
  if (!body) throw Wrong{{"error.contact_body_unknown", {quoted(row["body"])}}};
  contact.body = *body;
  const auto utc_s = horizon::parse_utc_s(row["time"]);
  if (!utc_s) throw Wrong{{"error.contact_time_unknown", {quoted(row["time"])}}};
  contact.time.utc_s = *utc_s;
  std::optional<bool> came;
  const std::string light = plain(row["light"]), touch = plain(row["touch"]);
  if (light == "came" || light == "back") came = true;
  if (light == "went" || light == "gone") came = false;
  if (touch == "firstlight" || touch == "lastlight") {
    const bool first = touch == "firstlight";
    if (came && *came != first) throw Wrong{"error.contact_light_against_limb"};
    came = first;
  } else if (touch == "upper" || touch.empty()) {
    contact.touch = Touch::edge;
  } else if (touch == "centre" || touch == "center") {
    contact.touch = Touch::half;
  } else if (touch == "lower") {
    contact.touch = Touch::whole;
  } else if (const auto named = horizon::touch_named(touch)) {
    contact.touch = *named;
  } else {
    throw Wrong{{"error.contact_limb_unknown", {quoted(row["touch"])}}};
  }
  if (!came) throw Wrong{"error.contact_light_missing"};
  contact.came = *came;
  contact.reading_sigma_s = number_in(row, "reading", 0, 3600).value_or(contact.reading_sigma_s);
  contact.clock_ahead_s = number_in(row, "ahead", -86400, 86400);
  contact.clock_sigma_s = number_in(row, "clock", 0, 3600);
  contact.temperature_c = number_in(row, "air_c", -90, 60);
  contact.pressure_hpa = number_in(row, "hpa", 300, 1100);
  contact.people = row["people"];
  contact.label = row["label"];
  contact.note = row["note"];
  return contact;
}

// "2027-02-03", "3.2.2027"
std::optional<horizon::Date> date_in(const std::string& text) {
  if (const auto date = horizon::parse_date(text)) return *date;
  int day = 0, month = 0, year = 0, used = 0;
  if (std::sscanf(text.c_str(), "%2d.%2d.%4d%n", &day, &month, &year, &used) != 3 ||
      used != static_cast<int>(text.size()))
    return std::nullopt;
  char iso[32];
  std::snprintf(iso, sizeof iso, "%04d-%02d-%02d", year, month, day);
  const auto date = horizon::parse_date(iso);
  return date ? std::optional(*date) : std::nullopt;
}

std::optional<Moment> clock_in(const std::string& text, horizon::Date date, double utc_offset_h) {
  const std::string word = plain(text);
  if (text.empty() || text == "-" || word == "none" || word == "keine") return std::nullopt;
  int hour = 0, minute = 0, used = 0;
  double second = 0;
  std::string clock = text;
  std::ranges::replace(clock, '.', ':');
  const int read =
      std::sscanf(clock.c_str(), "%2d:%2d%n:%lf%n", &hour, &minute, &used, &second, &used);
  if (read < 2 || used != static_cast<int>(clock.size()) || hour < 0 || hour > 23 || minute < 0 ||
      minute > 59 || !(second >= 0 && second < 60))
    throw Wrong{{"error.diary_clock_unknown", {quoted(text)}}};
  return Moment{
      horizon::start_of_day_utc_s(date, utc_offset_h) + hour * 3600.0 + minute * 60.0 + second,
      utc_offset_h};
}

DiarySky sky_in(const std::string& text) {
  const std::string word = plain(text);
  if (word.empty()) return DiarySky::unknown;
  for (const auto& [name, sky] : {std::pair{"clear", DiarySky::clear},
                                  {"klar", DiarySky::clear},
                                  {"sunny", DiarySky::clear},
                                  {"mixed", DiarySky::mixed},
                                  {"wechselhaft", DiarySky::mixed},
                                  {"partly", DiarySky::mixed},
                                  {"cloudy", DiarySky::cloudy},
                                  {"bewlkt", DiarySky::cloudy},
                                  {"bedeckt", DiarySky::cloudy},
                                  {"overcast", DiarySky::cloudy},
                                  {"unknown", DiarySky::unknown}})
    if (word == name) return sky;
  throw Wrong{{"error.diary_sky_unknown", {quoted(text)}}};
}

DiaryRow diary_of(const Row& row, double utc_offset_h) {
  DiaryRow diary;
  const auto date = date_in(row["date"]);
  if (!date) throw Wrong{{"error.diary_date_unknown", {quoted(row["date"])}}};
  diary.date = horizon::format_date(*date);
  diary.came = clock_in(row["came"], *date, utc_offset_h);
  diary.went = clock_in(row["went"], *date, utc_offset_h);
  diary.sky = sky_in(row["sky"]);
  diary.reading_sigma_s = number_in(row, "reading", 0, 3600).value_or(diary.reading_sigma_s);
  diary.people = row["people"];
  diary.note = row["note"];
  return diary;
}

bool comment(std::string_view line) {
  const std::string_view text = trimmed(line);
  return text.empty() || text.front() == '#';
}

}  // namespace

ContactsTable contacts_of_csv(std::string_view bytes, double utc_offset_h) {
  ContactsTable table;
  const auto decoded = text_of(bytes);
  if (!decoded) return table;  // the sightings' reader says what is wrong
  const std::string_view text = decoded->utf8;
  std::vector<std::string> columns;
  char separator = ',';
  bool has_bearing = false;
  int line = 0;
  for (std::size_t at = 0; at <= text.size();) {
    const std::size_t end = std::min(text.find('\n', at), text.size());
    std::string_view raw = text.substr(at, end - at);
    at = end + 1;
    ++line;
    if (comment(raw)) {
      table.rest += std::string(raw) + "\n";
      continue;
    }
    if (columns.empty()) {
      separator = separator_of(raw);
      for (const std::string& field : fields_of(raw, separator))
        columns.push_back(column_named(field));
      const auto has = [&](const char* name) {
        return std::ranges::find(columns, name) != columns.end();
      };
      has_bearing = has("bearing");
      table.is_diary = has("date") && (has("came") || has("went"));
      if (!table.is_diary && !has("body")) {
        table.rest.clear();
        return table;
      }
      // The contacts' own columns have no name for the sightings' reader.
      std::string header;
      const auto names = fields_of(raw, separator);
      for (std::size_t i = 0; i < names.size(); ++i) {
        const bool own = columns[i] == "body" || columns[i] == "light" || columns[i] == "touch" ||
                         columns[i] == "reading" || columns[i] == "ahead" ||
                         columns[i] == "clock" || columns[i] == "air_c" || columns[i] == "hpa" ||
                         columns[i] == "people";
        header += (i > 0 ? std::string(1, separator) : "") + (own ? "" : names[i]);
      }
      table.rest += header + "\n";
      continue;
    }
    Row row;
    const auto fields = fields_of(raw, separator);
    for (std::size_t i = 0; i < std::min(fields.size(), columns.size()); ++i)
      if (!columns[i].empty() && !fields[i].empty()) row.cells[columns[i]] = fields[i];
    if (!table.is_diary && row["body"].empty()) {
      table.rest += std::string(raw) + "\n";
      continue;
    }
    table.rest += "#\n";
    try {
      if (table.is_diary)
        table.diary.push_back({line, row["station"], diary_of(row, utc_offset_h)});
      else
        table.contacts.push_back({line, row["station"], contact_of(row)});
    } catch (const Wrong& wrong) {
      table.errors.push_back({Code::bad_input, wrong.why, "line " + std::to_string(line)});
    }
  }
  if (table.is_diary || !has_bearing) table.rest.clear();
  return table;
}

}  // namespace survey
