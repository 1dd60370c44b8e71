// app/touch/session/session_marks.cpp: aiming and marking.
#include <algorithm>
#include <cmath>
#include <cstdio>

#include "app/touch/session/session.h"
#include "app/touch/session/trace.h"
#include "app/words/words.h"
#include "horizon/time.h"

namespace app {
namespace {

horizon::Reference reference_of(platform::North north) {
  switch (north) {
    case platform::North::magnetic:
      return horizon::Reference::magnetic;
    case platform::North::true_north:
      return horizon::Reference::true_north;
    default:
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
  free_turn_name_.clear();
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
  if (settings.instrument != Instrument::device) return "hand compass";
  return free_turn_name_.empty() ? "device sensors" : free_turn_name_;
}

// Each free turn has a zero of its own, so it is an instrument of its own.
void Session::see_north(const platform::Pose& pose) {
  if (platform::known(pose.north)) {
    free_turn_name_.clear();
  } else if (free_turn_name_.empty() || pose.free_turn != free_turn_) {
    free_turn_ = pose.free_turn;
    free_turn_name_ = "device sensors, turn of " + horizon::format_utc(devices_.clock->utc_s());
  }
}

bool Session::direction_known(const Aim& aim) const {
  if (platform::known(aim.north)) return true;
  if (!skyline_) return false;
  return std::ranges::any_of(skyline_->instruments, [&](const auto& each) {
    return each.instrument == instrument_name() && each.correction.used > 0;
  });
}

double Session::true_azimuth_deg(const Aim& aim) const {
  double azimuth = aim.azimuth_deg;
  if (aim.north == platform::North::magnetic) azimuth += declination_deg();
  return horizon::wrap_360(azimuth + heading_offset_deg());
}

// "one eight zero, twelve point four, marked": figures one by one are heard best in the wind.
void Session::say_reading(const Aim& aim) {
  if (!settings.speak || !devices_.feedback->speaks()) return;
  char bearing[16];
  std::snprintf(bearing, sizeof bearing, "%03d", int(std::lround(true_azimuth_deg(aim))) % 360);
  const std::string figures = {bearing[0], ' ', bearing[1], ' ', bearing[2]};
  devices_.feedback->speak(tr("speak.marked", {figures, number(aim.elevation_deg, 1)}), language());
}

horizon::Result<void> Session::mark(const Aim& aim, horizon::Kind kind, const std::string& label) {
  auto done = mark_trace({aim}, kind, label);
  if (done) say_reading(aim);
  return done;
}

horizon::Result<void> Session::mark_trace(const std::vector<Aim>& trace, horizon::Kind kind,
                                          const std::string& label) {
  const auto* at = station();
  if (!at || trace.empty())
    return told(horizon::fail(horizon::Code::failed, "error.nothing_to_mark"));
  const auto keep = thinned(trace);
  auto done = book_->change(
      keep.size() > 1 ? tr("session.trace") : tr("touch.mark"), [&]() -> horizon::Result<void> {
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

namespace {

std::vector<Session::Batch> batches(const std::vector<survey::Sighting>& rows, bool voided) {
  std::vector<Session::Batch> out;
  for (auto row = rows.rbegin(); row != rows.rend(); ++row) {
    if (row->voided.has_value() != voided) continue;
    auto batch = std::find_if(out.begin(), out.end(),
                              [&](const auto& b) { return b.utc_s == row->time.utc_s; });
    if (batch == out.end())
      batch = out.insert(out.end(), {{}, row->time.utc_s, row->kind, row->label});
    batch->marks.push_back(row->id);
  }
  return out;
}

}  // namespace

// The raw aim stays in the file, voided: undo loses nothing.
horizon::Result<Session::Batch> Session::undo_mark() {
  const auto* at = station();
  if (!at) return Batch{};
  auto rows = book_->where<survey::Sighting>("station_id", at->id);
  if (!rows) return tl::unexpected(told(tl::unexpected(rows.error())).error());
  const auto standing = batches(*rows, false);
  // The light that came or went after it is taken back first.
  if (auto contacts = book_->where<survey::ContactRow>("station_id", at->id)) {
    const auto light =
        std::find_if(contacts->rbegin(), contacts->rend(), [](const auto& c) { return !c.voided; });
    if (light != contacts->rend() && light->how == survey::ContactHow::touched &&
        (standing.empty() || light->time.utc_s > standing.front().utc_s)) {
      if (auto gone = void_contact(light->id); !gone) return tl::unexpected(gone.error());
      return Batch{};
    }
  }
  if (standing.empty())
    return tl::unexpected(
        told(horizon::fail(horizon::Code::not_found, "error.no_mark_to_undo")).error());
  auto done = book_->change(tr("touch.undo"), [&]() -> horizon::Result<void> {
    for (const auto& id : standing.front().marks)
      if (auto gone = book_->void_sighting(id, "undone by the observer", now()); !gone) return gone;
    return {};
  });
  if (!done) return tl::unexpected(told(done).error());
  changed();
  return standing.front();
}

std::vector<Session::Batch> Session::taken_back() const {
  const auto* at = station();
  if (!at) return {};
  const auto rows = book_->where<survey::Sighting>("station_id", at->id);
  return rows ? batches(*rows, true) : std::vector<Batch>();
}

horizon::Result<void> Session::bring_back(const Batch& batch) {
  auto done = book_->change(tr("touch.bring_back"), [&]() -> horizon::Result<void> {
    for (const auto& id : batch.marks) {
      auto row = book_->get<survey::Sighting>(id);
      if (!row) return tl::unexpected(row.error());
      row->voided.reset();
      row->void_reason.clear();
      if (auto put = book_->put(std::move(*row)); !put) return tl::unexpected(put.error());
    }
    return {};
  });
  if (!done) return told(done);
  changed();
  saved();
  return {};
}

horizon::Result<void> Session::move_mark(const survey::Id& id, const Aim& aim) {
  const auto row = book_->get<survey::Sighting>(id);
  if (!row) return told(tl::unexpected(row.error()));
  if (auto marked = mark(aim, row->kind, row->label); !marked) return marked;
  return void_mark(id);
}

horizon::Result<void> Session::void_mark(const survey::Id& id) {
  auto done = book_->void_sighting(id, "taken out by the observer", now());
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

// Put, looked at, and rolled back: the same rules hold as when it is kept.
horizon::Result<survey::StationSkyline> Session::skyline_with(survey::HeadingCheckRow check) {
  const auto* at = station();
  if (!at) return horizon::fail(horizon::Code::failed, "error.no_station_yet");
  check.id.clear();
  check.landmark_id.clear();
  check.station_id = at->id;
  check.time = now();
  check.instrument = instrument_name();
  horizon::Result<survey::StationSkyline> then =
      horizon::fail(horizon::Code::failed, "error.no_station_yet");
  (void)book_->change("look", [&]() -> horizon::Result<void> {
    if (auto put = book_->put(check); !put)
      then = tl::unexpected(put.error());
    else
      then = survey::station_skyline(*book_, at->id);
    return horizon::fail(horizon::Code::failed, "error.no_station_yet");
  });
  return then;
}

bool Session::checks_disagree() const {
  if (!skyline_) return false;
  for (const auto& each : skyline_->instruments)
    if (each.correction.disputed) return true;
  return false;
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
