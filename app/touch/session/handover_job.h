// app/touch/session/handover_job.h: making the files for the designer, beside the frame.
// The report is made from a copy: its rows are taken at once, its photographs one by one between
// frames, as the open field book belongs to the frame's thread; all else is the worker's.
// Threads: start, leave, take, cancel and the questions from the frame's
#pragma once

#include <atomic>
#include <memory>
#include <mutex>
#include <optional>
#include <string>
#include <vector>

#include "horizon/result.h"
#include "platform/files.h"
#include "platform/worker.h"
#include "survey/book/durable.h"
#include "survey/book/store.h"

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
  // The site is copied to `options.site_path`.
  horizon::Result<void> start(platform::Worker& worker, platform::Files& files,
                              const survey::FieldBook& book, const HandOverOptions& options);
  void leave();  // the field book is about to close
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
  struct Copying {
    survey::Unfinished place;
    std::string path;
    survey::PhotoCopy photos;
  };
  static void wait_for_room(platform::Files& files, const Shared& shared);
  void next_photo(platform::Worker& worker, platform::Files& files, const HandOverOptions& options);
  void make_files(platform::Worker& worker, platform::Files& files, const HandOverOptions& options);
  void finish(Made made);
  std::unique_ptr<Copying> copying_;
  std::shared_ptr<Shared> shared_ = std::make_shared<Shared>();
  bool running_ = false;
  std::optional<Made> made_;
};

}  // namespace app
