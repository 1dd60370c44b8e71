// app/touch/session/photo_trace.h: the skyline read out of a photo: its line, what the line is of, the marks
// that orient the picture, and the sightings that follow.
// Units:   pixels of the upright picture as it was unpacked here; degrees
// Method:  horizon/photo: line, orientation, ring. Where all marks of a picture are aims of one
//          instrument, the points are kept in that instrument's own north, so that a later heading
//          check turns them too; else as true bearings with an entered check that carries the
//          shared sigma
// Threads: the frame's; the line is found by the worker
#pragma once

#include <cstdint>
#include <map>
#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "app/drawing/canvas.h"
#include "horizon/photo/photo_line.h"
#include "horizon/photo/ring.h"
#include "platform/worker.h"
#include "survey/book/model.h"

namespace app {

class Session;

struct PhotoTrace {
  struct Mark {
    std::string name;
    survey::Id sighting;  // empty: a landmark
    horizon::PhotoMark at;
  };
  survey::Id photo, station;
  int width = 0, height = 0;
  bool looking = false;
  std::optional<horizon::PhotoLine> line;
  std::string problem;  // why there is no line
  std::vector<horizon::Pixel> pulls;
  std::vector<horizon::Kind> kinds;  // of each point of the line
  std::vector<Mark> marks;
  horizon::Camera guess;  // from what the photo says of itself
  double focal_part = 1;  // by which a neighbour has corrected the guess
  bool pose_known = false;
  std::optional<horizon::PhotoOrientation> orientation;
  std::string orientation_problem;
  bool by_ring = false;  // its bearing comes from its neighbours
  bool kept = false;
};
using Traces = std::map<survey::Id, std::shared_ptr<PhotoTrace>>;

// The photo is of another station than the one the observer stands at.
bool taken_elsewhere(const Session& session, const survey::Photo& photo);
// Sizes, the camera's first guess, and the search for the line.
std::shared_ptr<PhotoTrace> new_trace(Session& session, const survey::Photo& photo,
                                      const Image& picture);
void look_for_line(platform::Worker& worker, std::shared_ptr<PhotoTrace> trace,
                   std::shared_ptr<const Image> picture);
void paint_kind(PhotoTrace& trace, double from_px, double to_px, horizon::Kind kind);

// What may be at this spot, the likeliest first: marks of the station's skyline, and landmarks.
std::vector<PhotoTrace::Mark> what_it_may_be(Session& session, const PhotoTrace& trace,
                                             horizon::Pixel spot);
// The line's height beside the spot, where it is within a finger's error; else the spot.
horizon::Pixel on_the_line(const PhotoTrace& trace, horizon::Pixel spot);
void orient(PhotoTrace& trace);
const horizon::Camera& camera_of(const PhotoTrace& trace);

// Puts the points into the book as sightings of the photo; those kept of it before are voided.
// Returns how many.
horizon::Result<int> keep_trace(Session& session, PhotoTrace& trace);

struct RingReport {
  int photos = 0;
  double misclosure_deg = 0;
  bool closed = false;
};
// Turns the photos of one station without marks by their overlap with those that have some.
horizon::Result<RingReport> join_ring(Traces& traces, const survey::Id& station);

}  // namespace app
