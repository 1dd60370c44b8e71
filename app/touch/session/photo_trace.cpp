#include "app/touch/session/photo_trace.h"

#include <algorithm>
#include <cmath>

#include "app/touch/session/session.h"
#include "app/words/sentence.h"
#include "app/words/words.h"
#include "horizon/bearing/landmark.h"
#include "horizon/photo/photo_points.h"

namespace app {
namespace {

constexpr int kTraceLane = 4;
constexpr double kUsualView_deg = 65;  // of a phone's main camera, the longer side

double apart(const horizon::Direction& a, const horizon::Direction& b) {
  const double e = (a.elevation.degrees() + b.elevation.degrees()) / 2 * horizon::kDegree;
  return std::hypot(horizon::wrap_180(a.azimuth.degrees() - b.azimuth.degrees()) * std::cos(e),
                    a.elevation.degrees() - b.elevation.degrees());
}

// How the true azimuths of the marks' aims came from the raw readings; nothing where the marks are
// not all of one instrument.
struct Frame {
  std::string instrument;
  horizon::Reference reference = horizon::Reference::true_north;
  double added_deg = 0;
};
std::optional<Frame> shared_frame(Session& session, const PhotoTrace& trace) {
  std::optional<Frame> shared;
  for (const auto& mark : trace.marks) {
    if (mark.sighting.empty()) return {};
    const auto row = session.book().get<survey::Sighting>(mark.sighting);
    if (!row || row->back_bearing || !row->group.empty()) return {};
    const double added = horizon::wrap_180(mark.at.direction.azimuth.degrees() - row->bearing_deg);
    if (!shared) {
      shared = Frame{row->instrument, row->reference, added};
    } else if (shared->instrument != row->instrument || shared->reference != row->reference ||
               std::fabs(horizon::wrap_180(shared->added_deg - added)) > 0.01) {
      return {};
    }
  }
  return shared;
}

std::vector<horizon::Direction> directions(const PhotoTrace& trace) {
  std::vector<horizon::Direction> all;
  for (const auto& p : trace.line->points)
    if (p.sure) all.push_back(horizon::direction_of(camera_of(trace), {p.x_px, p.y_px}));
  return all;
}

}  // namespace

const horizon::Camera& camera_of(const PhotoTrace& trace) {
  return trace.orientation ? trace.orientation->camera : trace.guess;
}

bool taken_elsewhere(const Session& session, const survey::Photo& photo) {
  const auto* at = session.station();
  return at && !photo.station_id.empty() && photo.station_id != at->id;
}

std::shared_ptr<PhotoTrace> new_trace(Session& session, const survey::Photo& photo,
                                      const Image& picture) {
  auto trace = std::make_shared<PhotoTrace>();
  trace->photo = photo.id;
  trace->station = photo.station_id;
  trace->width = picture.width;
  trace->height = picture.height;
  horizon::Camera& camera = trace->guess;
  camera.width_px = picture.width;
  camera.height_px = picture.height;
  camera.focal_px = horizon::focal_px_of_view(std::max(picture.width, picture.height),
                                              photo.view_width_deg.value_or(kUsualView_deg));
  if (photo.bearing_deg) {
    const bool magnetic = photo.reference == horizon::Reference::magnetic;
    camera.bearing = horizon::TrueAzimuth::degrees(*photo.bearing_deg +
                                                   (magnetic ? session.declination_deg() : 0));
    trace->pose_known = true;
  }
  camera.tilt = horizon::Elevation::degrees(photo.elevation_deg.value_or(0));
  camera.roll_deg = photo.roll_deg.value_or(0);
  return trace;
}

void look_for_line(platform::Worker& worker, std::shared_ptr<PhotoTrace> trace,
                   std::shared_ptr<const Image> picture) {
  trace->looking = true;
  worker.post(kTraceLane, [trace, picture, pulls = trace->pulls]() -> platform::Worker::Done {
    auto line =
        horizon::photo_line({picture->width, picture->height, 4, picture->rgba.data()}, pulls);
    return [trace, line = std::move(line)] {
      trace->looking = false;
      if (!line) {
        trace->problem = in_words(line.error());
        return;
      }
      // What was painted stays where it was, though the line's points have moved.
      std::vector<horizon::Kind> kinds(line->points.size(), horizon::Kind::ridge);
      if (trace->line && !trace->kinds.empty())
        for (std::size_t i = 0; i < kinds.size(); ++i)
          kinds[i] = trace->kinds[std::min(trace->kinds.size() - 1,
                                           i * trace->kinds.size() / kinds.size())];
      trace->kinds = std::move(kinds);
      trace->line = *line;
      trace->problem.clear();
    };
  });
}

void paint_kind(PhotoTrace& trace, double from_px, double to_px, horizon::Kind kind) {
  if (!trace.line) return;
  if (from_px > to_px) std::swap(from_px, to_px);
  for (std::size_t i = 0; i < trace.kinds.size(); ++i)
    if (trace.line->points[i].x_px >= from_px && trace.line->points[i].x_px <= to_px)
      trace.kinds[i] = kind;
}

horizon::Pixel on_the_line(const PhotoTrace& trace, horizon::Pixel spot) {
  if (!trace.line) return spot;
  const horizon::LinePoint* near = nullptr;
  for (const auto& p : trace.line->points)
    if (!near || std::fabs(p.x_px - spot.x) < std::fabs(near->x_px - spot.x)) near = &p;
  if (near && near->sure && std::fabs(near->y_px - spot.y) < 0.03 * trace.height)
    return {spot.x, near->y_px};
  return spot;
}

std::vector<PhotoTrace::Mark> what_it_may_be(Session& session, const PhotoTrace& trace,
                                             horizon::Pixel spot) {
  std::vector<PhotoTrace::Mark> all;
  const auto fresh = [&](const PhotoTrace::Mark& mark) {
    return std::none_of(trace.marks.begin(), trace.marks.end(),
                        [&](const auto& used) { return used.name == mark.name; });
  };
  if (const auto* skyline = session.skyline()) {
    for (const auto& point : skyline->skyline().points) {
      if (point.source < 0 || point.computed) continue;
      PhotoTrace::Mark mark;
      mark.sighting = skyline->sightings[std::size_t(point.source)];
      const auto row = session.book().get<survey::Sighting>(mark.sighting);
      if (!row || !row->photo_id.empty()) continue;  // read from a photo itself
      const auto& obstacle = skyline->skyline().obstacles[std::size_t(point.obstacle)];
      mark.name = (obstacle.label.empty() ? tr("kind." + std::string(name_of(obstacle.kind)))
                                          : obstacle.label) +
                  " " + degrees(point.azimuth.degrees(), 1) + ", " +
                  degrees(point.elevation.degrees(), 1);
      mark.at = {spot,
                 {point.azimuth, point.elevation},
                 point.azimuth_sigma_deg,
                 point.elevation_sigma_deg,
                 0.002 * trace.width};
      if (fresh(mark)) all.push_back(std::move(mark));
    }
    if (auto landmarks = session.book().all<survey::Landmark>()) {
      horizon::Eye eye;
      eye.place = skyline->eye;
      eye.position_sigma_m = std::max(1.0, skyline->station.horizontal_sigma_m.value_or(10));
      for (const auto& row : *landmarks) {
        horizon::Landmark known;
        known.place = {row.position.latitude_deg, row.position.longitude_deg,
                       row.position.height_m.value_or(0)};
        known.height_known = row.position.height_m.has_value();
        known.position_sigma_m = row.sigma_m;
        const auto bearing = horizon::landmark_bearing(eye, known);
        if (!bearing || !bearing->expected) continue;
        PhotoTrace::Mark mark;
        mark.name = row.name + " " + degrees(bearing->known.degrees(), 1);
        mark.at = {spot,
                   {bearing->known, *bearing->expected},
                   std::max(0.02, bearing->known_sigma_deg),
                   std::max(0.02, bearing->expected_sigma_deg),
                   0.002 * trace.width};
        if (fresh(mark)) all.push_back(std::move(mark));
      }
    }
  }
  if (trace.pose_known || trace.orientation) {
    const auto there = horizon::direction_of(camera_of(trace), spot);
    std::stable_sort(all.begin(), all.end(), [&](const auto& a, const auto& b) {
      return apart(a.at.direction, there) < apart(b.at.direction, there);
    });
  }
  return all;
}

void orient(PhotoTrace& trace) {
  trace.orientation.reset();
  trace.orientation_problem.clear();
  trace.by_ring = false;
  if (trace.marks.size() < 2) return;
  std::vector<horizon::PhotoMark> marks;
  for (const auto& mark : trace.marks) marks.push_back(mark.at);
  horizon::Camera start = trace.guess;
  if (!trace.pose_known) {  // begin from where the first mark is
    start.bearing = horizon::TrueAzimuth::degrees(
        marks[0].direction.azimuth.degrees() -
        std::atan((marks[0].pixel.x - start.width_px / 2) / start.focal_px) / horizon::kDegree);
    start.tilt = horizon::Elevation::degrees(
        marks[0].direction.elevation.degrees() -
        std::atan((start.height_px / 2 - marks[0].pixel.y) / start.focal_px) / horizon::kDegree);
  }
  auto solved = horizon::orientation_of(start, marks, false);
  if (solved)
    trace.orientation = *solved;
  else
    trace.orientation_problem = in_words(solved.error());
}

horizon::Result<int> keep_trace(Session& session, PhotoTrace& trace) {
  const auto* at = session.station();
  if (!at || !trace.line || !trace.orientation)
    return horizon::fail(horizon::Code::failed, "error.photo_not_ready");
  std::vector<horizon::PhotoStretch> stretches;
  const auto& points = trace.line->points;
  for (std::size_t i = 0; i < points.size(); ++i) {
    const int kind = int(trace.kinds[i]);
    if (stretches.empty() || stretches.back().obstacle != kind)
      stretches.push_back({points[i].x_px, points[i].x_px, kind});
    stretches.back().to_px = i + 1 < points.size() ? points[i + 1].x_px : points[i].x_px + 1;
  }
  const auto sky = horizon::photo_skyline(*trace.line, *trace.orientation, stretches);
  if (!sky) return tl::unexpected(sky.error());
  auto photo = session.book().get<survey::Photo>(trace.photo);
  if (!photo) return tl::unexpected(photo.error());
  auto before = session.book().where<survey::Sighting>("station_id", at->id);
  if (!before) return tl::unexpected(before.error());
  const auto frame = trace.by_ring ? std::optional<Frame>() : shared_frame(session, trace);
  const std::string own = "photo " + photo->file_name + " " + photo->id.substr(0, 4);
  const horizon::Camera& camera = trace.orientation->camera;
  double shared_sigma = std::max(0.01, sky->bearing_sigma_deg);
  const bool aimed = std::any_of(trace.marks.begin(), trace.marks.end(),
                                 [](const auto& m) { return !m.sighting.empty(); });
  if (aimed) shared_sigma = std::hypot(shared_sigma, session.heading_sigma_deg());
  const survey::Moment now = session.now();
  const auto done =
      session.book().change(tr("photo.skyline_from_photo"), [&]() -> horizon::Result<void> {
        for (const auto& row : *before)
          if (!row.voided && row.photo_id == photo->id)
            if (auto gone = session.book().void_sighting(row.id, "read again from the photo", now);
                !gone)
              return gone;
        for (const auto& point : sky->points) {
          survey::Sighting s;
          s.station_id = at->id;
          s.time = now;
          s.photo_id = photo->id;
          s.kind = horizon::Kind(point.obstacle);
          s.elevation_deg = point.elevation.degrees();
          s.elevation_sigma_deg =
              std::clamp(std::hypot(point.elevation_sigma_deg, sky->tilt_sigma_deg), 0.02, 10.0);
          s.bearing_sigma_deg = std::clamp(point.azimuth_sigma_deg, 0.02, 20.0);
          s.instrument = frame ? frame->instrument : own;
          s.reference = frame ? frame->reference : horizon::Reference::true_north;
          s.bearing_deg =
              horizon::wrap_360(point.azimuth.degrees() - (frame ? frame->added_deg : 0));
          if (frame) s.bearing_sigma_deg = std::hypot(s.bearing_sigma_deg, sky->bearing_sigma_deg);
          if (auto put = session.book().put(std::move(s)); !put) return tl::unexpected(put.error());
        }
        auto old = session.book().where<survey::HeadingCheckRow>("station_id", at->id);
        if (!old) return tl::unexpected(old.error());
        for (const auto& row : *old)
          if (!row.voided && row.instrument == own)
            if (auto gone = session.book().void_check(row.id, "read again from the photo", now);
                !gone)
              return gone;
        if (!frame) {
          survey::HeadingCheckRow check;
          check.station_id = at->id;
          check.time = now;
          check.kind = horizon::CheckKind::entered;
          check.instrument = own;
          check.reference = horizon::Reference::true_north;
          check.bearing_deg = check.known_true_deg = camera.bearing.degrees();
          check.bearing_sigma_deg = shared_sigma;
          check.known_sigma_deg = 0.01;
          check.label = photo->file_name;
          if (auto put = session.book().put(std::move(check)); !put)
            return tl::unexpected(put.error());
        }
        photo->bearing_deg = camera.bearing.degrees();
        photo->reference = horizon::Reference::true_north;
        photo->elevation_deg = camera.tilt.degrees();
        photo->roll_deg = camera.roll_deg;
        photo->view_width_deg =
            2 / horizon::kDegree *
            std::atan(std::max(camera.width_px, camera.height_px) / 2 / camera.focal_px);
        if (auto put = session.book().put(*photo); !put) return tl::unexpected(put.error());
        return {};
      });
  if (!done) return tl::unexpected(done.error());
  trace.kept = true;
  session.changed();
  return int(sky->points.size());
}

horizon::Result<RingReport> join_ring(Traces& traces, const survey::Id& station) {
  std::vector<PhotoTrace*> ring;
  for (auto& [id, trace] : traces)
    if (trace->station == station && trace->line && !trace->line->unsure &&
        (trace->orientation || trace->pose_known))
      ring.push_back(trace.get());
  if (ring.size() < 2) return horizon::fail(horizon::Code::failed, "error.ring_needs_two");
  const auto fixed = [](const PhotoTrace* t) { return t->orientation && !t->by_ring; };
  std::sort(ring.begin(), ring.end(), [](auto* a, auto* b) {
    return camera_of(*a).bearing.degrees() < camera_of(*b).bearing.degrees();
  });
  const auto first = std::find_if(ring.begin(), ring.end(), fixed);
  if (first == ring.end()) return horizon::fail(horizon::Code::failed, "error.orient_one_first");
  std::rotate(ring.begin(), first, ring.end());
  const int count = int(ring.size());
  const double focal_part = camera_of(*ring[0]).focal_px / ring[0]->guess.focal_px;
  std::vector<horizon::RingPhoto> photos;
  std::vector<horizon::RingStep> steps;
  for (int i = 0; i < count; ++i) {
    PhotoTrace& here = *ring[std::size_t(i)];
    if (!fixed(&here)) {  // of the same camera as the first
      here.guess.focal_px *= focal_part / here.focal_part;
      here.focal_part = focal_part;
      here.orientation.reset();
    }
    horizon::RingPhoto photo;
    photo.bearing_deg = camera_of(here).bearing.degrees();
    if (fixed(&here)) photo.sigma_deg = std::max(0.01, here.orientation->bearing_sigma_deg());
    photos.push_back(photo);
  }
  bool closed = true;
  for (int i = 0; i < count; ++i) {
    if (i + 1 == count && count == 2) break;
    PhotoTrace &a = *ring[std::size_t(i)], &b = *ring[std::size_t((i + 1) % count)];
    const auto turn = horizon::turn_between(directions(a), directions(b), 15);
    if (!turn) {
      if (i + 1 < count) return tl::unexpected(turn.error());
      closed = false;  // an arc of photos, not a full turn
      break;
    }
    if (!fixed(&b) && i + 1 < count)
      b.guess.tilt = horizon::Elevation::degrees(b.guess.tilt.degrees() + turn->lift_deg);
    steps.push_back({i, (i + 1) % count,
                     horizon::wrap_360(camera_of(b).bearing.degrees() + turn->clockwise_deg -
                                       camera_of(a).bearing.degrees()),
                     std::max(0.02, turn->sigma_deg)});
  }
  const auto adjusted = horizon::closed_ring(photos, steps);
  if (!adjusted) return tl::unexpected(adjusted.error());
  for (int i = 0; i < count; ++i) {
    PhotoTrace& here = *ring[std::size_t(i)];
    if (fixed(&here)) continue;
    horizon::PhotoOrientation o;
    o.camera = here.guess;
    o.camera.bearing = horizon::TrueAzimuth::degrees(adjusted->bearing_deg[std::size_t(i)]);
    o.covariance(0, 0) = std::pow(adjusted->sigma_deg[std::size_t(i)], 2);
    o.covariance(1, 1) = o.covariance(2, 2) = 0.3 * 0.3;  // lifted onto its neighbour
    here.orientation = o;
    here.by_ring = true;
  }
  return RingReport{count, adjusted->misclosure_deg, closed && count > 2};
}

}  // namespace app
