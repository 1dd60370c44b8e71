// app/touch/session/session_contacts.cpp: the light of sun and moon, noted the moment it comes or goes.
#include <algorithm>

#include "app/touch/session/session.h"
#include "app/words/words.h"

namespace app {

horizon::Result<void> Session::add_contact(horizon::Body body, horizon::Touch touch, bool came) {
  const auto* at = station();
  if (!at || !has_position())
    return told(horizon::fail(horizon::Code::failed, "contacts.position_first"));
  survey::ContactRow row;
  row.station_id = at->id;
  row.time = now();
  row.body = body;
  row.touch = touch;
  row.came = came;
  row.how = survey::ContactHow::touched;
  row.clock_ahead_s = clock_ahead_s ? clock_ahead_s : receiver_ahead_s;
  if (row.clock_ahead_s) row.clock_sigma_s = survey::kComparedClock_s;
  if (visit_) row.people = visit_->people;
  auto done = book_->change(tr("contacts.step"), [&]() -> horizon::Result<void> {
    auto put = book_->put(std::move(row));
    if (!put) return tl::unexpected(put.error());
    return {};
  });
  if (!done) return told(done);
  changed();
  saved();
  return {};
}

horizon::Result<void> Session::void_contact(const survey::Id& id) {
  auto done = book_->void_contact(id, "undone by the observer", now());
  if (!done) return told(done);
  changed();
  return {};
}

horizon::Result<void> Session::undo_contact() {
  const auto* at = station();
  if (!at) return {};
  const auto rows = book_->where<survey::ContactRow>("station_id", at->id);
  if (!rows) return told(tl::unexpected(rows.error()));
  const auto last =
      std::find_if(rows->rbegin(), rows->rend(), [](const auto& row) { return !row.voided; });
  if (last == rows->rend())
    return told(horizon::fail(horizon::Code::not_found, "contacts.nothing_to_undo"));
  return void_contact(last->id);
}

horizon::Result<void> Session::put_diary(survey::DiaryRow row) {
  const auto* at = station();
  if (!at) return {};
  row.station_id = at->id;
  if (auto put = book_->put(std::move(row)); !put) return told(tl::unexpected(put.error()));
  changed();
  saved();
  return {};
}

}  // namespace app
