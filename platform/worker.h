// platform/worker.h: work off the frame's thread.
// A job runs beside the frame (a thread), or in small turns between frames where there are none.
// Its result comes back through collect(), on the frame's thread.
#pragma once

#include <exception>
#include <functional>
#include <memory>

namespace platform {

class Worker {
 public:
  using Done = std::function<void()>;  // runs on the frame's thread
  using Job = std::function<Done()>;   // runs beside it; owns all it touches
  virtual ~Worker() = default;
  // Jobs of one lane run in order; a queued job of the lane that has not begun gives way to a
  // newer.
  virtual void post(int lane, Job job) = 0;
  virtual bool collect() = 0;  // runs what is done; true if anything was
  virtual bool busy() const = 0;
  // What a job threw (memory, most of all) ends that job only; told on the frame's thread.
  virtual void on_failure(std::function<void(std::exception_ptr)> tell) = 0;
  // Called from the working side whenever something can be collected, to end a sleeping loop.
  virtual void on_ready(std::function<void()> wake) = 0;
};

}  // namespace platform
