// app/touch/session/session_timeline.cpp: what was done at this station, one after the other, and the way
// back and forward through it. Nothing leaves the file: what is taken back is voided.
#include <algorithm>

#include "app/touch/session/session.h"
#include "app/words/words.h"

namespace app {
namespace {

constexpr const char* kUndone = "undone by the observer";

// One event for all rows of one moment.
template <class Row>
void add(std::vector<Session::Event>& events, Session::Event::What what, const Row& row,
         std::string label) {
  const bool standing = !row.voided, undone = !standing && row.void_reason == kUndone;
  const auto same = std::find_if(events.begin(), events.end(), [&](const Session::Event& e) {
    return e.what == what && e.utc_s == row.time.utc_s && e.standing == standing;
  });
  if (same != events.end()) return same->rows.push_back(row.id);
  events.push_back({what, {row.id}, row.time.utc_s, std::move(label), standing, undone});
}

}  // namespace

std::vector<Session::Event> Session::timeline() const {
  std::vector<Event> events;
  const auto* at = station();
  if (!at) return events;
  if (const auto rows = book_->where<survey::Sighting>("station_id", at->id))
    for (const auto& s : *rows) {
      constexpr const char* kKinds[] = {"touch.ridge", "touch.evergreen", "touch.leafy",
                                        "touch.building", "touch.pole"};
      add(events, Event::What::mark, s, s.label.empty() ? tr(kKinds[int(s.kind)]) : s.label);
    }
  if (const auto rows = book_->where<survey::HeadingCheckRow>("station_id", at->id))
    for (const auto& c : *rows) add(events, Event::What::check, c, c.label);
  if (const auto rows = book_->where<survey::ContactRow>("station_id", at->id))
    for (const auto& c : *rows)
      if (c.how == survey::ContactHow::touched) add(events, Event::What::contact, c, {});
  std::stable_sort(events.begin(), events.end(),
                   [](const Event& a, const Event& b) { return a.utc_s < b.utc_s; });
  return events;
}

horizon::Result<void> Session::stand_as_of(double utc_s) {
  auto done = book_->change(tr("touch.undo"), [&]() -> horizon::Result<void> {
    for (const Event& event : timeline())
      for (const auto& id : event.rows) {
        auto changed = event.standing && event.utc_s > utc_s  ? take_back(event.what, id)
                       : event.undone && event.utc_s <= utc_s ? bring_forward(event.what, id)
                                                              : horizon::Result<void>{};
        if (!changed) return changed;
      }
    return {};
  });
  if (!done) return told(done);
  changed();
  saved();
  return {};
}

horizon::Result<void> Session::take_back(Event::What what, const survey::Id& id) {
  switch (what) {
    case Event::What::mark:
      return book_->void_sighting(id, kUndone, now());
    case Event::What::check:
      return book_->void_check(id, kUndone, now());
    case Event::What::contact:
      break;
  }
  return book_->void_contact(id, kUndone, now());
}

horizon::Result<void> Session::bring_forward(Event::What what, const survey::Id& id) {
  const auto again = [&](auto row) -> horizon::Result<void> {
    if (!row) return tl::unexpected(row.error());
    row->voided.reset();
    row->void_reason.clear();
    if (auto put = book_->put(std::move(*row)); !put) return tl::unexpected(put.error());
    return {};
  };
  switch (what) {
    case Event::What::mark:
      return again(book_->get<survey::Sighting>(id));
    case Event::What::check:
      return again(book_->get<survey::HeadingCheckRow>(id));
    case Event::What::contact:
      break;
  }
  return again(book_->get<survey::ContactRow>(id));
}

}  // namespace app
