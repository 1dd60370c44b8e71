// app/handover/programme_rank.h: which sites of a programme are ahead of which, and which cannot be told apart?
// Method:  two sites are told apart in a figure where their ranges (90 %) do not overlap. A site's rank
//          is therefore itself a range: from one more than the sites that are surely ahead of it, to
//          the last place but for those surely behind. Nothing else is weighed: one figure at a time,
//          the one that the reader asks for
// Entered: distances as people wrote them have no range; equal ones share their rank
// Cost:    sorting; 10,000 sites in some milliseconds
#pragma once

#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "app/words/quantity.h"
#include "survey/exchange/programme.h"

namespace app {

enum class SortBy : std::uint8_t { hours, shortest_day, gain, cold, crops, water, access, name };
inline constexpr int kSortByCount = 8;
std::string_view name_of(SortBy by);  // "hours", as the command line has it
std::optional<SortBy> sort_named(std::string_view name);

struct Ranked {
  std::size_t site = 0;     // index into what was ranked
  int first = 0, last = 0;  // may be any of these ranks; 0: nothing is known, or sorted by name
  bool as_the_one_above = false;  // cannot be told apart from it
  std::vector<std::size_t> like;  // some that it cannot be told apart from, in the order
  int like_count = 0;             // of all of these
  bool known() const { return first > 0; }
};

// Best first; by the middle figure where ranges overlap. Those without the figure come last, by name.
std::vector<Ranked> ranked(std::span<const survey::ProgrammeState> sites, SortBy by);

// The figure with its range in the reader's words: "4.1 h", "2.9–4.6 h", "60 m"; "not known".
std::string figure_words(const survey::ProgrammeSite& site, SortBy by, Units units);
std::string rank_words(const Ranked& rank);  // "2", "1–4", "–"
// "Cannot be told apart from A, B and 3 more."; empty where it can.
std::string like_words(std::span<const survey::ProgrammeState> sites, const Ranked& rank);
// What counts against comparing at all: gains under different skies, disputed headings; empty: nothing.
std::vector<std::string> doubts_of(std::span<const survey::ProgrammeState> sites, SortBy by);
// What building there costs, as far as the forms know: way, water, power, snow, frost, rock.
std::vector<std::string> cost_words(const survey::ProgrammeSite& site, Units units);
// In the reader's language and units, whatever those were in which it was gathered.
std::string verdict_text(const survey::ProgrammeVerdict& line, Units units);
std::string question_text(const survey::ProgrammeQuestion& question);
// "Arrive 80 % · Skyline 100 % · ..."
std::string state_words(const survey::ProgrammeSite& site);

// RFC 4180: rank, and the columns of docs/formats.md, in this order.
std::string programme_csv(std::span<const survey::ProgrammeState> sites,
                          std::span<const Ranked> order);

}  // namespace app
