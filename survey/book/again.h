// survey/book/again.h: is what is being imported here already? So that doing it again adds nothing.
// Method:  the content of a row (all that an import gives; not its id, nor what is decided about it
//          later: voided, aim group by hand, photo) is hashed. The n-th row of a hash in a file is here if
//          the book holds a row with the id made of hash and n, or n rows of that content. So a
//          row that was relabelled, moved or voided since is known again by its id, and one that
//          was exported by its content.
// Cost:    one pass over the table when made
// Errors:  throws Failure, as all in survey's storage
#pragma once

#include <memory>
#include <string>
#include <unordered_map>

#include "survey/book/row_cells.h"
#include "survey/book/store.h"

namespace survey {

class Again {
 public:
  explicit Again(const FieldBook& book) : book_(book) {}

  // True: it is here. False: put it; its id, if it had none, is now made of its content.
  template <class Row>
  bool here(Row& row) {
    const std::string id = known_or_id(table_of<Row>(), cells_of(row));
    if (id.empty()) return true;
    if (row.id.empty()) row.id = id;
    return false;
  }

 private:
  struct Known {
    std::unordered_map<std::string, int> rows, seen;  // by hash of the content
  };
  // Empty: known.
  std::string known_or_id(const Table& table, const Cells& cells);

  const FieldBook& book_;
  std::unordered_map<const Table*, Known> tables_;
};

}  // namespace survey
