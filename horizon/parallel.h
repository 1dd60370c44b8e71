// horizon/parallel.h: the same job many times over, on as many processors as are free.
// Frame:    results must not depend on which thread did what: a job writes to its own place only, and
//           draws from a seed of its own
// Errors:   what a job throws is thrown again by the caller, once all threads have ended; jobs not yet
//           begun are left out. A thread that cannot be started is done without
#pragma once

#include <algorithm>
#include <atomic>
#include <exception>
#include <functional>
#include <mutex>
#include <thread>
#include <vector>

namespace horizon {

// The machine's, but for the caller's own. Whoever works shares them: jobs within jobs too. None in
// the browser, whose threads are few and made before.
inline std::atomic<int>& free_processors() {
#ifdef __EMSCRIPTEN__
  static std::atomic<int> free{0};
#else
  static std::atomic<int> free{
      std::clamp(static_cast<int>(std::thread::hardware_concurrency()), 1, 16) - 1};
#endif
  return free;
}

// Threads beside the caller's, each on a processor of its own while it works.
class Helpers {
 public:
  // Begins what is to be done where a processor is free.
  bool begin(const std::function<void()>& what) {
    int free = free_processors();
    do {
      if (free <= 0) return false;
    } while (!free_processors().compare_exchange_weak(free, free - 1));
    try {
      threads_.emplace_back([this, what] {
        guarded(what);
        ++free_processors();
      });
      return true;
    } catch (const std::exception&) {
      ++free_processors();
      return false;
    }
  }
  void guarded(const std::function<void()>& what) {
    try {
      what();
    } catch (...) {
      failed_ = true;
      const std::lock_guard hold(lock_);
      if (!thrown_) thrown_ = std::current_exception();
    }
  }
  bool failed() const { return failed_; }
  void end() {
    join();
    if (thrown_) std::rethrow_exception(thrown_);
  }
  ~Helpers() { join(); }

 private:
  // Whoever waits leaves its processor to those it waits for.
  void join() {
    if (threads_.empty()) return;
    ++free_processors();
    for (std::thread& thread : threads_) thread.join();
    --free_processors();
    threads_.clear();
  }
  std::vector<std::thread> threads_;
  std::atomic<bool> failed_{false};
  std::exception_ptr thrown_;
  std::mutex lock_;
};

// Jobs 0 to count - 1, each once, in no order; returns when all are done. The caller's thread does
// its share, and others join in as soon as a processor is free.
inline void in_parallel(int jobs, const std::function<void(int)>& job) {
  std::atomic<int> next{0};
  Helpers helpers;
  const auto work = [&] {
    for (int i; !helpers.failed() && (i = next++) < jobs;) job(i);
  };
  helpers.guarded([&] {
    for (int i; !helpers.failed() && (i = next++) < jobs;) {
      while (next < jobs && helpers.begin(work)) {
      }
      job(i);
    }
  });
  helpers.end();
}

// At the same time, where a processor is free: `here` on the caller's thread.
inline void side_by_side(const std::function<void()>& here, const std::function<void()>& beside) {
  Helpers helpers;
  const bool both = helpers.begin(beside);
  helpers.guarded(here);
  if (!both && !helpers.failed()) helpers.guarded(beside);
  helpers.end();
}

// On so many threads, free or not: where a person chose.
inline void in_parallel(int threads, int jobs, const std::function<void(int)>& job) {
  std::atomic<int> next{0};
  const auto work = [&] {
    for (int i; (i = next++) < jobs;) job(i);
  };
  std::vector<std::thread> others;
  for (int i = 1; i < std::min(threads, jobs); ++i) others.emplace_back(work);
  work();
  for (std::thread& thread : others) thread.join();
}

}  // namespace horizon
