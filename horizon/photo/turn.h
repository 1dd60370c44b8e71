// horizon/photo/turn.h: the whole skyline from one turn on the spot with a camera held at it.
// Units:    degrees, seconds; frames some 320 to 640 pixels wide, 8 to 15 a second
// Frame:    the turn's own azimuths, clockwise: right among themselves, but where their zero lies the
//           turn cannot say (heading checks, landmarks, contacts and terrain do). It begins as the
//           mean of what the sensors said. Elevations from the horizontal
// Method:   each frame is laid on a key frame nearby by its picture (turn_align.h); the sensors only
//           give the first guess and the level. Some 4 degrees apart the line between sky and ground
//           is sought anew (photo_line.h), so that each bearing is judged several times by pictures
//           that know nothing of each other. The loop closed, all is adjusted at once
//           (turn_adjust.h), which gives the focal length, then laid together by bearing
// Valid:    up to some 25 degrees a second, steady light, a skyline farther than some 10 m
// Accuracy: docs/turn.md says what was counted. A hand-held turn moves the camera by some 0.3 m: a tree
//           at 30 m shifts by half a degree, and its sigma says so. Rows are read out one after the
//           other: at 6 degrees a second the frame leans by a tenth of a degree
// Errors:   what cannot be told stays open with its reason; nothing is joined across it
// Caution:  never aim the camera at the sun
#pragma once

#include <memory>
#include <optional>
#include <span>
#include <string_view>
#include <vector>

#include "horizon/photo/camera.h"
#include "horizon/photo/photo_line.h"
#include "horizon/skyline/skyline.h"

namespace horizon {

// What the sensors say at the moment the frame was taken, not when it arrived.
struct TurnPose {
  double time_s = 0;
  double azimuth_deg = 0, elevation_deg = 0, roll_deg = 0;
};

// Why a stretch is open, the plainest first.
enum class TurnFault : std::uint8_t { none, unseen, fast, shaky, sun, dark, blank, doubt };
inline constexpr int kTurnFaults = 8;
std::string_view name_of(TurnFault fault);  // "none", "unseen", "fast", ...

struct TurnOptions {
  double view_deg = 60;           // across the picture
  double view_sigma_part = 0.03;  // of the focal length; a guess of the lens: 0.08
  double fastest_deg_per_s = 25;
};

struct TurnStep {
  TurnFault fault = TurnFault::none;
  bool tracked = false;  // by the picture; else by the sensors alone
  Camera camera;         // this frame's, in the turn's azimuths
  double rate_deg_per_s = 0;
  double turned_deg = 0;  // since the first frame, clockwise positive
  bool looked = false;    // the line was sought in it
  bool sun = false;       // something as bright as the sun is in the picture: stop
};

inline constexpr int kTurnBins = 720;

struct TurnBin {
  float elevation_deg = 0, sigma_deg = 0;
  bool found = false;
  TurnFault why = TurnFault::unseen;  // where not found
  Kind kind = Kind::ridge;            // proposed by colour
  int looks = 0;
};

struct TurnStretch {
  double from_deg = 0, to_deg = 0;  // clockwise; equal: all round
  TurnFault why = TurnFault::unseen;
  double width_deg() const;
};

// One standard deviation of what all elevations of a turn share (mounting, lens, near ground): 0.01 to
// 0.35 degree in made films, docs/turn.md.
inline constexpr double kTurnLevel_deg = 0.25;

struct TurnSkyline {
  std::vector<TurnBin> bins;      // each half a degree, the first from 0 to 0.5
  std::vector<TurnStretch> open;  // 2 degrees or wider, in the order of azimuth
  double found_fraction = 0;
  bool closed = false;    // the turn came round and met its beginning
  double turned_deg = 0;  // how far round at most
  double focal_factor = 1, focal_sigma_part = 0;
  double step_sigma_deg = 0;   // of azimuths among themselves
  double level_sigma_deg = 0;  // shared by all elevations
  double misfit = 0;           // of the links between key frames, over their sigmas
  // The turn's azimuth where the sensors said so, pairs in the order of time: what a heading check
  // that the sensors made is worth to the turn.
  std::vector<std::pair<double, double>> sensed_to_turn_deg;
  std::optional<double> turn_deg_of_sensed(double azimuth_deg) const;
};

// Marks of what was found: within 0.1 degree of the line, at most 5 degrees apart; `obstacle` is the
// proposed kind.
std::vector<SkylinePoint> turn_marks(const TurnSkyline& skyline);

class FilmedTurn {
 public:
  explicit FilmedTurn(const TurnOptions& options);
  ~FilmedTurn();

  // Frames in the order of time. After the loop has closed, further frames fill what is open and
  // still say where the camera looks.
  TurnStep add(const PictureView& picture, const TurnPose& pose);
  TurnSkyline skyline() const;
  bool closed() const;
  std::size_t bytes() const;  // roughly, of what it holds

 private:
  struct Film;
  std::unique_ptr<Film> film_;
};

}  // namespace horizon
