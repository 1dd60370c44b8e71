// app/touch/session/handover_job.h: making the files for the designer, beside the frame.
// Threads: start, take, cancel and the questions from the frame's; the work is the worker's
#pragma once

#include <atomic>
#include <memory>
#include <mutex>
#include <optional>
#include <string>
#include <vector>

#include "horizon/result.h"
#include "platform/worker.h"

namespace app {

struct HandOverOptions {
  std::string site_path, folder, language;
  std::string weather_path;  // an hourly weather file to adjust; empty: none
  bool imperial = false;
  bool people = true;
  double now_utc_s = 0;
};

class HandOverJob {
 public:
  using Made = horizon::Result<std::vector<std::string>>;  // paths
  void start(platform::Worker& worker, const HandOverOptions& options);
  void cancel() { shared_->cancelled = true; }
  bool running() const { return running_; }
  double part() const { return shared_->part; }
  std::string doing() const;
  std::optional<Made> take();  // once, when it is done

 private:
  struct Shared {
    std::atomic<double> part{0};
    std::atomic<bool> cancelled{false};
    mutable std::mutex lock;
    std::string doing;
  };
  std::shared_ptr<Shared> shared_ = std::make_shared<Shared>();
  bool running_ = false;
  std::optional<Made> made_;
};

}  // namespace app
