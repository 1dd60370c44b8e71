// app/touch/session/session_turn.cpp: the turn with the camera, from its frames to marks in the book.
#include <algorithm>
#include <cmath>

#include "app/touch/session/session.h"
#include "app/words/words.h"
#include "horizon/sun/sun.h"
#include "horizon/time.h"
#include "survey/assess/station_skyline.h"

namespace app {
namespace {

constexpr double kLatency_s = 0.08;  // of a picture that does not say when it was taken
// A compass errs alike at one bearing, but not quite: common practice.
constexpr double kCarriedOver_deg = 1.0;

}  // namespace

void Session::start_turn() {
  turn.start(now_s());
  turn.name = survey::kTurnInstrument + horizon::format_utc(devices_.clock->utc_s());
  const auto now = aim();
  turn.magnetic = now && now->north == platform::North::magnetic;
  turn.true_north = now && now->north == platform::North::true_north;
}

// With the pose of the moment it was taken, not of its arrival.
void Session::film(const platform::CameraPicture& picture) {
  if (!turn.running() || poses_.empty()) return;
  const double at = picture.time_s.value_or(now_s() - kLatency_s);
  const platform::Pose* before = &poses_.front();
  const platform::Pose* after = &poses_.back();
  for (const auto& pose : poses_) {
    if (pose.time_s <= at) before = &pose;
    if (pose.time_s >= at) {
      after = &pose;
      break;
    }
  }
  const double span = after->time_s - before->time_s;
  const double t = span > 0 ? std::clamp((at - before->time_s) / span, 0.0, 1.0) : 0;
  const auto between = [&](double a, double b) { return a + t * (b - a); };
  turn.add(*devices_.worker, picture,
           {at,
            horizon::wrap_360(before->azimuth_deg +
                              t * horizon::wrap_180(after->azimuth_deg - before->azimuth_deg)),
            between(before->elevation_deg, after->elevation_deg),
            before->roll_deg + t * horizon::wrap_180(after->roll_deg - before->roll_deg)});
}

namespace {

constexpr double kDown_deg = -1;

horizon::SunPosition sun_at(const survey::Position& at, double utc_s) {
  return horizon::sun_position(utc_s, {at.latitude_deg, at.longitude_deg, at.height_m.value_or(0)});
}

}  // namespace

std::optional<double> Session::sun_height_off_deg(const Aim& aim) const {
  if (!has_position() || (direction_known(aim) && !checks_disagree())) return {};
  const auto sun = sun_at(station()->position, now().utc_s);
  if (sun.elevation.degrees() < kDown_deg) return {};
  return std::abs(sun.elevation.degrees() - aim.elevation_deg);
}

std::optional<double> Session::sun_off_deg(const Aim& aim) const {
  if (!has_position() || !direction_known(aim)) return {};
  const auto sun = sun_at(station()->position, now().utc_s);
  if (sun.elevation.degrees() < kDown_deg) return {};
  constexpr double kWellBehind_deg = 2;  // a ridge that was aimed at
  const auto& piece = mask_.piece_at(sun.azimuth.degrees());
  if (!piece.open && piece.obstacle >= 0 &&
      piece.elevation_deg(sun.azimuth.degrees()) > sun.elevation.degrees() + kWellBehind_deg)
    return {};
  const double across = horizon::wrap_180(sun.azimuth.degrees() - true_azimuth_deg(aim)) *
                        std::cos(sun.elevation.radians());
  return std::hypot(across, sun.elevation.degrees() - aim.elevation_deg);
}

horizon::Result<int> Session::keep_turn() {
  const auto* at = station();
  const auto* found = turn.skyline();
  if (!at || !found)
    return tl::unexpected(
        told(horizon::fail(horizon::Code::failed, "error.nothing_to_mark")).error());
  const auto marks = horizon::turn_marks(*found);
  if (marks.empty())
    return tl::unexpected(
        told(horizon::fail(horizon::Code::failed, "error.nothing_to_mark")).error());
  const auto reference = turn.magnetic     ? horizon::Reference::magnetic
                         : turn.true_north ? horizon::Reference::true_north
                                           : horizon::Reference::device;
  const survey::Moment moment = now();
  const auto old_checks = checks_;
  const auto done = book_->change(tr("turn.title"), [&]() -> horizon::Result<void> {
    for (const auto& point : marks) {
      survey::Sighting s;
      s.station_id = at->id;
      s.time = moment;
      s.bearing_deg = point.azimuth.degrees();
      s.reference = reference;
      s.elevation_deg = point.elevation.degrees();
      s.bearing_sigma_deg = std::clamp(point.azimuth_sigma_deg, 0.02, 20.0);
      s.elevation_sigma_deg = std::clamp(point.elevation_sigma_deg, 0.02, 5.0);
      s.instrument = turn.name;
      s.kind = horizon::Kind(point.obstacle);
      if (auto put = book_->put(std::move(s)); !put) return tl::unexpected(put.error());
    }
    for (const auto& check : old_checks) {
      if (check.voided || check.station_id != at->id || check.instrument != "device sensors" ||
          check.reference != reference)
        continue;
      const auto here = found->turn_deg_of_sensed(check.bearing_deg);
      if (!here) continue;
      survey::HeadingCheckRow carried = check;
      carried.id.clear();
      carried.time = moment;
      carried.instrument = turn.name;
      carried.bearing_deg = *here;
      carried.bearing_sigma_deg = std::hypot(check.bearing_sigma_deg, kCarriedOver_deg);
      if (auto put = book_->put(std::move(carried)); !put) return tl::unexpected(put.error());
    }
    return {};
  });
  if (!done) return tl::unexpected(told(done).error());
  turn.forget();
  changed();
  saved();
  return int(marks.size());
}

}  // namespace app
