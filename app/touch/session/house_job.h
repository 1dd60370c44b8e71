// app/touch/session/house_job.h: an unheated house at one station, worked out beside the frame: a first
// sentence from few winters, then all of them and what would help.
// Threads: the frame's; the work is the worker's and comes back through Worker::collect()
// Cost:    the sentence under 0.3 s, all of it under 2 s
#pragma once

#include <atomic>
#include <memory>
#include <optional>
#include <string>

#include "platform/worker.h"
#include "survey/assess/house_input.h"

namespace survey {
struct PlotInput;  // survey/assess/plot_input.h
}  // namespace survey

namespace app {

struct HouseQuestion {
  survey::SiteSettings settings;
  horizon::StationInput station;
  horizon::TrueAzimuth best_facing;
  std::vector<survey::StationSkyline> others;
  std::string weather_path;                       // empty: by the normals
  std::shared_ptr<const survey::PlotInput> plot;  // to try the sunniest place on it too
};

// The same winters as those of the card, without ranking and summer: for comparison; in the worker.
horizon::Result<horizon::HouseFindings> house_winters(const survey::SiteSettings& settings,
                                                      const horizon::StationInput& station,
                                                      horizon::TrueAzimuth best_facing);

class HouseJob {
 public:
  // `place` names site and station, `state` what was asked of them; the same is asked once.
  void want(platform::Worker& worker, const std::string& place, const std::string& state,
            HouseQuestion question);
  bool asked(const std::string& state) const { return state == state_; }
  const horizon::HouseFindings* found() const { return found_ ? &*found_ : nullptr; }
  bool working() const { return working_; }
  bool whole() const { return whole_; }  // not only the first sentence
  double part() const { return shared_->part; }
  const std::optional<horizon::Error>& problem() const { return problem_; }

 private:
  struct Shared {
    std::atomic<double> part{0};
    std::atomic<bool> stop{false};
  };
  void post(platform::Worker& worker, std::shared_ptr<const HouseQuestion> question, bool preview);
  std::shared_ptr<Shared> shared_ = std::make_shared<Shared>();
  std::string place_, state_;
  std::optional<horizon::HouseFindings> found_;
  std::optional<horizon::Error> problem_;
  bool working_ = false, whole_ = false;
};

}  // namespace app
