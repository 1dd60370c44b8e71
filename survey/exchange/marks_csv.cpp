#include "survey/exchange/marks_csv.h"

#include <algorithm>
#include <map>
#include <tuple>

#include "horizon/time.h"
#include "survey/book/text.h"
#include "survey/exchange/angle_text.h"
#include "survey/exchange/marks_words.h"

namespace survey {
namespace {

using horizon::Code;
using horizon::Edge;
using horizon::Error;
using horizon::fail;
using horizon::Kind;
using horizon::Reference;
using horizon::Result;

using Column = MarkColumn;
using Heading = MarkHeading;

// Row by row, fields by separator; RFC 4180 quotes, a quoted field may hold line ends.
class Rows {
 public:
  Rows(std::string_view text, char separator) : text_(text), separator_(separator) {}

  bool next(std::vector<std::string>& fields, int& line) {
    while (at_ < text_.size()) {
      line = line_;
      const size_t end = std::min(text_.find('\n', at_), text_.size());
      const std::string_view raw = trimmed(text_.substr(at_, end - at_));
      if (raw.empty() || raw.front() == '#') {
        at_ = end + 1;
        ++line_;
        continue;
      }
      read_row(fields);
      return true;
    }
    return false;
  }

 private:
  void read_row(std::vector<std::string>& fields) {
    fields.assign(1, "");
    bool quoted = false;
    for (; at_ < text_.size(); ++at_) {
      const char c = text_[at_];
      if (c == '\n') ++line_;
      if (quoted) {
        if (c != '"') {
          fields.back() += c;
        } else if (at_ + 1 < text_.size() && text_[at_ + 1] == '"') {
          fields.back() += '"';
          ++at_;
        } else {
          quoted = false;
        }
      } else if (c == '"' && trimmed(fields.back()).empty()) {
        // Only at the front of a field: further on it is a sign for seconds.
        quoted = closes_in_this_field();
        if (!quoted) fields.back() += c;
      } else if (c == separator_) {
        fields.emplace_back();
      } else if (c == '\n') {
        ++at_;
        return;
      } else {
        fields.back() += c;
      }
    }
  }

  // A quote that is never closed would swallow the rest of the file.
  bool closes_in_this_field() const { return text_.find('"', at_ + 1) != std::string_view::npos; }

  std::string_view text_;
  char separator_;
  size_t at_ = 0;
  int line_ = 1;
};

// The one that occurs in most of the first rows; where commas are decimal, it is another.
char separator_of(std::string_view text) {
  int semicolons = 0, tabs = 0, rows = 0;
  for (size_t at = 0; at < text.size() && rows < 20;) {
    const size_t end = std::min(text.find('\n', at), text.size());
    const std::string_view line = trimmed(text.substr(at, end - at));
    at = end + 1;
    if (line.empty() || line.front() == '#') continue;
    ++rows;
    semicolons += line.find(';') != std::string_view::npos;
    tabs += line.find('\t') != std::string_view::npos;
  }
  if (semicolons > 0 && 2 * semicolons >= rows && semicolons >= tabs) return ';';
  return tabs > 0 && 2 * tabs >= rows ? '\t' : ',';
}

std::string quoted(std::string_view field) {
  constexpr size_t kMost = 40;
  std::string text(trimmed(field));
  if (text.size() > kMost) {
    size_t cut = kMost;
    while (cut > 0 && (static_cast<unsigned char>(text[cut]) & 0xC0) == 0x80) --cut;
    text = text.substr(0, cut) + "...";
  }
  return "\"" + text + "\"";
}

// Reads one row; the first thing wrong with it is its error.
class RowReader {
 public:
  explicit RowReader(const std::vector<Heading>& headings) : headings_(headings) {}

  Result<MarkRow> read(const std::vector<std::string>& fields, int line) const {
    MarkRow row;
    row.line = line;
    bool bearing = false, elevation = false;
    if (fields.size() > headings_.size())
      for (size_t i = headings_.size(); i < fields.size(); ++i)
        if (!trimmed(fields[i]).empty()) return fail(Code::bad_input, "error.too_many_fields");
    for (size_t i = 0; i < std::min(fields.size(), headings_.size()); ++i) {
      const std::string_view field = trimmed(fields[i]);
      if (field.empty()) continue;
      bearing |= headings_[i].column == Column::bearing;
      elevation |= headings_[i].column == Column::elevation;
      if (auto error = take(row, headings_[i], field)) return tl::unexpected(std::move(*error));
    }
    if (!bearing) return fail(Code::bad_input, "error.bearing_missing");
    if (!elevation) return fail(Code::bad_input, "error.elevation_missing");
    return row;
  }

 private:
  static std::optional<Error> bad(horizon::Sentence why) {
    return Error{Code::bad_input, std::move(why)};
  }

  static std::optional<Error> take_angle(double& out, const Heading& heading, std::string_view name,
                                         std::string_view field, double least, double most,
                                         const char* outside) {
    auto value = angle_deg_of(field);
    if (!value) return bad({"error.no_angle", {std::string(name), quoted(field)}});
    *value *= heading.factor;
    if (!(*value >= least && *value <= most)) return bad({outside, {quoted(field)}});
    out = *value;
    return std::nullopt;
  }

  static std::optional<Error> take_number(std::optional<double>& out, const Heading& heading,
                                          std::string_view name, std::string_view field,
                                          double most) {
    auto value = number_of(field);
    if (value) *value *= heading.factor;
    if (!value || *value <= 0 || *value > most)
      return bad({"error.number_unusable", {std::string(name), quoted(field)}});
    out = value;
    return std::nullopt;
  }

  static std::optional<Error> take(MarkRow& row, const Heading& heading, std::string_view field) {
    switch (heading.column) {
      case Column::bearing:
        if (!row.north) row.north = heading.north;
        return take_angle(row.bearing_deg, heading, "bearing", field, 0, 360,
                          "error.bearing_outside");
      case Column::north:
        if (!(row.north = north_named(field)))
          return bad({"error.reference_unknown", {quoted(field)}});
        return std::nullopt;
      case Column::elevation:
        return take_angle(row.elevation_deg, heading, "elevation", field, -90, 90,
                          "error.elevation_outside");
      case Column::kind:
        if (const auto kind = kind_in_words(field)) {
          row.kind = *kind;
          return std::nullopt;
        }
        return bad({"error.kind_unknown", {quoted(field)}});
      case Column::label:
        row.label = without_apostrophe(field);
        return std::nullopt;
      case Column::distance:
        return take_number(row.distance_m, heading, "distance", field, 1e6);
      case Column::sigma:
        if (auto error = take_number(row.bearing_sigma_deg, heading, "uncertainty", field, 90))
          return error;
        row.elevation_sigma_deg = row.bearing_sigma_deg;
        return std::nullopt;
      case Column::bearing_sigma:
        return take_number(row.bearing_sigma_deg, heading, "bearing uncertainty", field, 90);
      case Column::elevation_sigma:
        return take_number(row.elevation_sigma_deg, heading, "elevation uncertainty", field, 90);
      case Column::width:
        return take_number(row.width_deg, heading, "width", field, 90);
      case Column::layer: {
        const auto value = number_of(field);
        if (!value || *value < 0 || *value > 9 || *value != static_cast<int>(*value))
          return bad({"error.layer_unknown", {quoted(field)}});
        row.layer = static_cast<int>(*value);
        return std::nullopt;
      }
      case Column::edge:
        if (plain_word(field) == "straightedge" || plain_word(field) == "greatcircle") {
          row.edge = Edge::great_circle;
        } else if (plain_word(field) != "line") {
          return bad({"error.edge_unknown", {quoted(field)}});
        }
        return std::nullopt;
      case Column::station:
        row.station = without_apostrophe(field);
        return std::nullopt;
      case Column::time:
        if (const auto utc_s = horizon::parse_utc_s(field); !utc_s)
          return bad({"error.table_time", {quoted(field), utc_s.error().sentence()}});
        row.time_utc = field;
        return std::nullopt;
      case Column::instrument:
        row.instrument = without_apostrophe(field);
        return std::nullopt;
      case Column::back_bearing: {
        const auto answer = yes_or_no(field);
        if (!answer) return bad({"error.back_bearing_unknown", {quoted(field)}});
        row.back_bearing = *answer;
        return std::nullopt;
      }
      case Column::group:
        row.group = without_apostrophe(field);
        return std::nullopt;
      case Column::note:
        row.note = without_apostrophe(field);
        return std::nullopt;
      case Column::unknown:
        return std::nullopt;
    }
    return std::nullopt;
  }

  const std::vector<Heading>& headings_;
};

std::string line_text(int line) { return "line " + std::to_string(line); }

// The same bearing twice: a vertical step if the elevations differ, a slip of the pen if not.
void tell_duplicates(MarksTable& table) {
  std::map<std::tuple<std::string, int, int, double>, std::vector<size_t>> seen;
  std::vector<bool> drop(table.marks.size(), false);
  for (size_t i = 0; i < table.marks.size(); ++i) {
    const MarkRow& mark = table.marks[i];
    auto& same = seen[{mark.station, mark.layer, mark.north ? static_cast<int>(*mark.north) : 0,
                       mark.bearing_deg}];
    for (const size_t k : same) {
      const MarkRow& earlier = table.marks[k];
      drop[i] = drop[i] || (earlier.elevation_deg == mark.elevation_deg &&
                            earlier.kind == mark.kind && earlier.label == mark.label);
    }
    if (!same.empty())
      table.notes.push_back({Code::bad_input,
                             {drop[i] ? "error.mark_repeated" : "error.mark_same_bearing",
                              {table.marks[same[0]].line}},
                             line_text(mark.line)});
    if (same.size() < 4) same.push_back(i);
  }
  size_t out = 0;
  for (size_t i = 0; i < table.marks.size(); ++i)
    if (!drop[i]) {
      if (out != i) table.marks[out] = std::move(table.marks[i]);
      ++out;
    }
  table.marks.resize(out);
}

// A first row without any number names columns; with one, it is a sighting gone wrong.
bool names_columns(const std::vector<std::string>& fields) {
  return std::none_of(fields.begin(), fields.end(),
                      [](const std::string& field) { return angle_deg_of(field).has_value(); });
}

bool is_empty(const std::vector<std::string>& fields) {
  return std::all_of(fields.begin(), fields.end(),
                     [](const std::string& field) { return trimmed(field).empty(); });
}

bool names_marks(const std::vector<std::string>& fields) {
  bool bearing = false, elevation = false;
  for (const std::string& field : fields) {
    const Column column = mark_heading_of(field).column;
    bearing |= column == Column::bearing;
    elevation |= column == Column::elevation;
  }
  return bearing && elevation && names_columns(fields);
}

// A sum, a signature, a remark under the table: no bearing, or a word where it should stand.
bool no_sighting(const std::vector<Heading>& headings, const std::vector<std::string>& fields) {
  bool bearing = false, elevation = false;
  for (size_t i = 0; i < std::min(fields.size(), headings.size()); ++i) {
    const bool number = angle_deg_of(trimmed(fields[i])).has_value();
    bearing |= headings[i].column == Column::bearing && number;
    elevation |= headings[i].column == Column::elevation && number;
  }
  return !bearing && !elevation;
}

// Rows above the names (a title, a date), as spreadsheets have them: how many to leave out.
int rows_above_names(std::string_view text, char separator) {
  constexpr int kMostAbove = 20;
  Rows rows(text, separator);
  std::vector<std::string> fields;
  int line = 0;
  for (int above = 0; above <= kMostAbove && rows.next(fields, line); ++above)
    if (names_marks(fields)) return above;
  return 0;
}

// What the names of the columns mean; false, with the error told, where no sighting can be read.
bool take_headings(MarksTable& table, std::vector<Heading>& headings,
                   const std::vector<std::string>& fields, const std::string& where) {
  const auto note = [&](horizon::Sentence what) {
    table.notes.push_back({Code::bad_input, std::move(what), where});
  };
  for (const std::string& field : fields) {
    Heading heading = mark_heading_of(field);
    const Column column = heading.column;
    const bool angle = column == Column::bearing || column == Column::elevation;
    const bool again =
        column != Column::unknown && std::ranges::any_of(headings, [&](const Heading& earlier) {
          return earlier.column == column;
        });
    if (!heading.unusable_unit.empty() && angle && !again) {
      const bool percent = plain_word(heading.unusable_unit).empty() ||
                           plain_word(heading.unusable_unit) == "percent" ||
                           plain_word(heading.unusable_unit) == "prozent";
      horizon::Sentence what = {"error.angle_percent", {quoted(field)}};
      if (!percent) what = {"error.column_unit", {quoted(field), quoted(heading.unusable_unit)}};
      table.errors.push_back({Code::bad_input, std::move(what), where});
      return false;
    }
    if (column == Column::unknown && !trimmed(field).empty())
      note({"error.column_unknown", {quoted(field)}});
    else if (again)
      note({"error.column_again", {quoted(field)}});
    else if (!heading.unusable_unit.empty())
      note({"error.column_unit_left_out", {quoted(field), quoted(heading.unusable_unit)}});
    else if (heading.unclear)
      note({"error.column_brackets", {quoted(field)}});
    if (again || !heading.unusable_unit.empty()) heading = {};
    headings.push_back(std::move(heading));
  }
  for (const auto& [column, name] :
       {std::pair{Column::bearing, "bearing"}, std::pair{Column::elevation, "elevation"}})
    if (std::ranges::none_of(headings, [&](const Heading& h) { return h.column == column; })) {
      table.errors.push_back({Code::bad_input, {"error.column_missing", {name}}, where});
      return false;
    }
  return true;
}

}  // namespace

MarksTable marks_of_csv(std::string_view bytes, Reference unsaid_north) {
  MarksTable table;
  const auto text = text_of(bytes);
  if (!text) {
    table.errors.push_back(text.error());
    return table;
  }
  if (!text->note.empty()) table.notes.push_back({Code::bad_input, text->note, {}});

  Rows rows(text->utf8, separator_of(text->utf8));
  std::vector<std::string> fields;
  std::vector<Heading> headings;
  int line = 0;
  bool more = rows.next(fields, line);
  for (int above = rows_above_names(text->utf8, separator_of(text->utf8)); more && above > 0;
       --above) {
    if (!is_empty(fields))
      table.notes.push_back({Code::bad_input, "error.row_above_names", line_text(line)});
    more = rows.next(fields, line);
  }
  if (more && names_columns(fields)) {
    if (!take_headings(table, headings, fields, line_text(line))) return table;
    more = rows.next(fields, line);
  } else {
    headings = {{Column::bearing},
                {Column::elevation},
                {Column::kind},
                {Column::label},
                {Column::distance}};
  }

  const RowReader reader(headings);
  bool began = false;
  for (; more; more = rows.next(fields, line)) {
    if (is_empty(fields)) continue;
    auto row = reader.read(fields, line);
    if (row) {
      table.marks.push_back(std::move(*row));
      began = true;
    } else if (began && no_sighting(headings, fields)) {
      table.notes.push_back({Code::bad_input, "error.row_no_sighting", line_text(line)});
    } else {
      table.errors.push_back({row.error().code, row.error().sentence(), line_text(line)});
    }
  }
  tell_duplicates(table);
  if (table.marks.empty() && table.errors.empty())
    table.errors.push_back({Code::bad_input, "error.no_sighting_in_table", {}});
  const auto unsaid = std::count_if(table.marks.begin(), table.marks.end(),
                                    [](const MarkRow& m) { return !m.north; });
  if (unsaid > 0)
    table.notes.push_back(
        {Code::bad_input,
         {"error.bearings_without_north", {unsaid, std::string(name_of(unsaid_north))}},
         {}});
  return table;
}

Result<horizon::Skyline> skyline_of(const std::vector<MarkRow>& marks,
                                    const NorthOffsets& offsets) {
  std::vector<horizon::RawSighting> sightings;
  for (const MarkRow& mark : marks) {
    horizon::RawSighting sighting;
    sighting.bearing_deg = mark.bearing_deg;
    sighting.reference = mark.north.value_or(Reference::true_north);
    sighting.elevation_deg = mark.elevation_deg;
    sighting.bearing_sigma_deg = mark.bearing_sigma_deg.value_or(sighting.bearing_sigma_deg);
    sighting.elevation_sigma_deg = mark.elevation_sigma_deg.value_or(sighting.elevation_sigma_deg);
    sighting.level_sigma_deg = zero_sigma_deg(sighting.elevation_sigma_deg);
    sighting.kind = mark.kind;
    sighting.label = mark.label;
    sighting.layer = mark.layer;
    sighting.edge = mark.edge;
    sighting.distance_m = mark.distance_m;
    sighting.width_deg = mark.width_deg;
    sighting.back_bearing = mark.back_bearing;
    sighting.group = mark.group;
    sighting.source = mark.line;
    sightings.push_back(sighting);
  }
  horizon::Corrections corrections;
  corrections.declination_deg = offsets.declination_deg;
  corrections.convergence_deg = offsets.convergence_deg;
  auto corrected = horizon::corrected_skyline(sightings, corrections);
  if (!corrected.unplaced.empty()) {
    const horizon::UnplacedAim& first = corrected.unplaced.front();
    return fail(first.why.code, first.why, line_text(first.source));
  }
  return std::move(corrected.skyline);
}

}  // namespace survey
