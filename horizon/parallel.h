// horizon/parallel.h: the same job many times over, on several threads.
#pragma once

#include <algorithm>
#include <atomic>
#include <functional>
#include <thread>
#include <vector>

namespace horizon {

// Jobs 0 to count - 1, each once, in no order; returns when all are done. Jobs must not throw.
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
