// app/touch/session/session_marks.cpp: aiming and marking.
#include <algorithm>
#include <cmath>

#include "app/touch/session/session.h"
#include "app/touch/session/trace.h"
#include "app/words/words.h"

namespace app {
namespace {

horizon::Reference reference_of(platform::North north) {
  switch (north) {
    case platform::North::magnetic:
      return horizon::Reference::magnetic;
    case platform::North::true_north:
      return horizon::Reference::true_north;
    case platform::North::unknown:
      break;
  }
  return horizon::Reference::device;
}

constexpr double kHandBearing_deg = 1.0, kHandElevation_deg = 0.5;  // common practice, 1 sigma

}  // namespace

void Session::start_aiming() {
  if (aiming_) return;
  aiming_ = true;
  tracker_.reset();
  devices_.attitude->start();
  devices_.camera->start();
  devices_.feedback->keep_screen_on(true);
}

void Session::stop_aiming() {
  if (!aiming_) return;
  aiming_ = false;
  devices_.attitude->stop();
  devices_.camera->stop();
  devices_.feedback->keep_screen_on(false);
}

std::string Session::instrument_name() const {
  return settings.instrument == Instrument::device ? "device sensors" : "hand compass";
}

double Session::true_azimuth_deg(const Aim& aim) const {
  double azimuth = aim.azimuth_deg;
  if (aim.north == platform::North::magnetic) azimuth += declination_deg();
  return horizon::wrap_360(azimuth + heading_offset_deg());
}

horizon::Result<void> Session::mark(const Aim& aim, horizon::Kind kind, const std::string& label) {
  return mark_trace({aim}, kind, label);
}

horizon::Result<void> Session::mark_trace(const std::vector<Aim>& trace, horizon::Kind kind,
                                          const std::string& label) {
  const auto* at = station();
  if (!at || trace.empty())
    return told(horizon::fail(horizon::Code::failed, "error.nothing_to_mark"));
  const auto keep = thinned(trace);
  auto done =
      book_->change(keep.size() > 1 ? tr("Trace") : tr("Mark"), [&]() -> horizon::Result<void> {
        for (const int i : keep) {
          const Aim& aim = trace[std::size_t(i)];
          survey::Sighting s;
          s.station_id = at->id;
          s.time = now();
          s.bearing_deg = aim.azimuth_deg;
          s.reference = reference_of(aim.north);
          s.elevation_deg = aim.elevation_deg;
          // The shared error of the compass is apart, in the heading checks.
          s.bearing_sigma_deg = std::clamp(aim.azimuth_sigma_deg, 0.1, 20.0);
          s.elevation_sigma_deg = std::clamp(aim.elevation_sigma_deg, 0.05, 5.0);
          s.instrument = instrument_name();
          s.kind = kind;
          s.label = label;
          if (auto put = book_->put(std::move(s)); !put) return tl::unexpected(put.error());
        }
        return {};
      });
  if (!done) return told(done);
  changed();
  saved();
  return {};
}

horizon::Result<void> Session::mark_typed(double bearing_deg, bool back_bearing,
                                          double elevation_deg, horizon::Kind kind,
                                          const std::string& label) {
  const auto* at = station();
  if (!at) return told(horizon::fail(horizon::Code::failed, "error.no_station"));
  survey::Sighting s;
  s.station_id = at->id;
  s.time = now();
  s.bearing_deg = bearing_deg;
  s.back_bearing = back_bearing;
  s.elevation_deg = elevation_deg;
  s.bearing_sigma_deg = kHandBearing_deg;
  s.elevation_sigma_deg = kHandElevation_deg;
  s.instrument = "hand compass";
  s.kind = kind;
  s.label = label;
  if (auto put = book_->put(std::move(s)); !put) return told(tl::unexpected(put.error()));
  changed();
  saved();
  return {};
}

// The raw aim stays in the file, voided: undo loses nothing.
horizon::Result<void> Session::undo_mark() {
  const auto* at = station();
  if (!at) return {};
  auto rows = book_->where<survey::Sighting>("station_id", at->id);
  if (!rows) return told(tl::unexpected(rows.error()));
  const auto last =
      std::find_if(rows->rbegin(), rows->rend(), [](const auto& s) { return !s.voided; });
  // The light that came or went after it is taken back first.
  if (auto contacts = book_->where<survey::ContactRow>("station_id", at->id)) {
    const auto light = std::find_if(contacts->rbegin(), contacts->rend(),
                                    [](const auto& c) { return !c.voided; });
    if (light != contacts->rend() && light->how == survey::ContactHow::touched &&
        (last == rows->rend() || light->time.utc_s > last->time.utc_s))
      return void_contact(light->id);
  }
  if (last != rows->rend()) {
    auto done = book_->change(tr("Undo"), [&]() -> horizon::Result<void> {
      for (const auto& row : *rows)  // all of a trace: it was saved at one moment
        if (!row.voided && row.time.utc_s == last->time.utc_s)
          if (auto gone = book_->void_sighting(row.id, "undone by the observer", now()); !gone)
            return gone;
      return {};
    });
    if (!done) return told(done);
    changed();
    return {};
  }
  return told(horizon::fail(horizon::Code::not_found, "error.no_mark_to_undo"));
}

horizon::Result<void> Session::move_mark(const survey::Id& id, const Aim& aim) {
  const auto row = book_->get<survey::Sighting>(id);
  if (!row) return told(tl::unexpected(row.error()));
  if (auto marked = mark(aim, row->kind, row->label); !marked) return marked;
  return void_mark(id);
}

horizon::Result<void> Session::void_mark(const survey::Id& id) {
  auto done = book_->void_sighting(id, "undone by the observer", now());
  if (!done) return told(done);
  changed();
  return {};
}

horizon::Result<void> Session::change_mark(const survey::Id& id, horizon::Kind kind,
                                           const std::string& label) {
  auto row = book_->get<survey::Sighting>(id);
  if (!row) return told(tl::unexpected(row.error()));
  row->kind = kind;
  row->label = label;
  if (auto put = book_->put(*row); !put) return told(tl::unexpected(put.error()));
  changed();
  return {};
}

horizon::Result<void> Session::add_check(survey::HeadingCheckRow check) {
  const auto* at = station();
  if (!at) return {};
  check.station_id = at->id;
  check.time = now();
  check.instrument = instrument_name();
  if (auto put = book_->put(std::move(check)); !put) return told(tl::unexpected(put.error()));
  changed();
  saved();
  return {};
}

std::vector<std::string> Session::labels(horizon::Kind kind) const {
  std::vector<std::string> labels;
  if (!skyline_) return labels;
  for (const auto& obstacle : skyline_->skyline().obstacles)
    if (obstacle.kind == kind && !obstacle.label.empty()) labels.push_back(obstacle.label);
  return labels;
}

}  // namespace app
