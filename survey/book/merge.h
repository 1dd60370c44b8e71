// survey/book/merge.h: two copies of one site, edited apart, become one.
// Method:  row by row, by id. A row changed on one side only takes that side's state; changed on
//          both, column by column against the last state both knew; where both changed one column
//          differently it is a conflict: the row stays as it is on each side until a choice is
//          given. A row removed on one side comes back if rows of the other side belong to it.
// Readings: a reading (every raw column) only ever is added or voided. Where two copies read
//          differently it is a conflict: nothing changes until a choice is given, and a choice for the
//          other's value voids this reading and adds theirs beside it. A reading that one copy took
//          back and the other still has stays, voided.
// Result:  the same whichever copy is `mine`, where there is no conflict; merging again changes
//          nothing. What a row was before stays in the file. The merge is one step of undo.
// Errors:  two different sites; damaged rows of the other file
#pragma once

#include <map>
#include <string>
#include <vector>

#include "survey/book/store.h"

namespace survey {

struct Conflict {
  std::string table;
  Id id;
  std::string column;        // empty: removed on one side, changed on the other
  std::string row_name;      // for people: the row's name or label
  std::string mine, theirs;  // the two values, for people
  std::string mine_changed_utc, theirs_changed_utc;
  bool reading = false;  // a raw value: neither is ever overwritten
  std::string key() const { return table + "/" + id + "/" + column; }
};

enum class Take : std::uint8_t { mine, theirs };
struct Choices {
  std::map<std::string, Take> by_key;  // Conflict::key()
  std::optional<Take> all;             // for those not named
};

struct MergeReport {
  int added = 0, changed = 0, removed = 0, kept = 0;  // kept: removed on one side, still needed
  int photo_bytes = 0;                                // pictures copied
  std::vector<std::string> removed_rows;              // by name
  std::vector<std::string> readings_kept;             // taken back in one copy; voided, not gone
  std::vector<Conflict> conflicts;                    // left for a choice
};

horizon::Result<MergeReport> merge(FieldBook& mine, const FieldBook& theirs,
                                   const Choices& choices = {});

// Rows of another site (all but its name and the designer's choices) join this one.
horizon::Result<MergeReport> import_site(FieldBook& mine, const FieldBook& other,
                                         const Choices& choices = {});

}  // namespace survey
