// horizon/parallel.h: the same job many times over, on several threads.
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
#include <utility>
#include <vector>

namespace horizon {

// Threads that the job at hand may use: the machine's, shared out among jobs that run side by side.
// In the browser one: its threads are few and made before.
inline int& spare_threads() {
#ifdef __EMSCRIPTEN__
  thread_local int threads = 1;
#else
  thread_local int threads =
      std::clamp(static_cast<int>(std::thread::hardware_concurrency()), 1, 16);
#endif
  return threads;
}

// Jobs 0 to count - 1, each once, in no order; returns when all are done. The caller's thread does
// its share.
inline void in_parallel(int threads, int jobs, const std::function<void(int)>& job) {
  const int used = std::max(1, std::min(threads, jobs)), mine = spare_threads();
  std::atomic<int> next{0};
  std::exception_ptr thrown;
  std::mutex lock;
  const auto work = [&] {
    const int before = std::exchange(spare_threads(), std::max(1, mine / used));
    try {
      for (int i; (i = next++) < jobs;) job(i);
    } catch (...) {
      next = jobs;
      const std::lock_guard hold(lock);
      if (!thrown) thrown = std::current_exception();
    }
    spare_threads() = before;
  };
  std::vector<std::thread> others;
  try {
    others.reserve(static_cast<size_t>(used));
    for (int i = 1; i < used; ++i) others.emplace_back(work);
  } catch (const std::exception&) {
  }
  work();
  for (std::thread& thread : others) thread.join();
  if (thrown) std::rethrow_exception(thrown);
}
inline void in_parallel(int jobs, const std::function<void(int)>& job) {
  in_parallel(spare_threads(), jobs, job);
}

}  // namespace horizon
