// app/touch/session/turn_job.h: one turn on the spot, its frames worked through beside the screen.
// Units:   degrees, seconds of the app's clock
// Threads: the frame's; the turn itself belongs to the worker. A frame that waits gives way to a newer
// Method:  horizon/photo/turn.h
#pragma once

#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "horizon/photo/turn.h"
#include "platform/camera.h"
#include "platform/worker.h"

namespace app {

class TurnJob {
 public:
  void start(double now_s);
  void stop() { running_ = false; }
  void forget();
  bool running() const { return running_; }
  bool begun() const { return film_ != nullptr; }  // there is a turn, running or stopped
  double since_s() const { return started_s_; }

  void add(platform::Worker& worker, const platform::CameraPicture& picture,
           const horizon::TurnPose& pose);
  const std::optional<horizon::TurnStep>& step() const { return step_; }
  // As of a moment ago; null before the first look.
  const horizon::TurnSkyline* skyline() const { return skyline_ ? &*skyline_ : nullptr; }
  // Fresh from all frames: after the turn was stopped.
  bool settled() const { return waiting_ == 0; }
  std::string name;  // of the instrument that its marks are of
  bool magnetic = true, true_north = false;

 private:
  struct Film;
  std::shared_ptr<Film> film_;
  std::optional<horizon::TurnStep> step_;
  std::optional<horizon::TurnSkyline> skyline_;
  bool running_ = false;
  int waiting_ = 0;
  double started_s_ = 0;
};

}  // namespace app
