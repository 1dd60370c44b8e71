#include "platform/thread_worker.h"

#include <condition_variable>
#include <deque>
#include <mutex>
#include <thread>
#include <vector>

namespace platform {
namespace {

struct Waiting {
  int lane;
  Worker::Job job;
};

void enqueue(std::deque<Waiting>& queue, int lane, Worker::Job job) {
  for (Waiting& waiting : queue)
    if (waiting.lane == lane) {
      waiting.job = std::move(job);
      return;
    }
  queue.push_back({lane, std::move(job)});
}

using Failed = std::function<void(std::exception_ptr)>;

// Runs the job; where it throws, telling so is what is done.
Worker::Done done_of(Worker::Job& job, const Failed& failed) {
  try {
    return job();
  } catch (...) {
    return [failed, why = std::current_exception()] {
      if (failed) failed(why);
    };
  }
}

class ThreadWorker : public Worker {
 public:
  ThreadWorker() : thread_([this] { run(); }) {}
  ~ThreadWorker() override {
    {
      std::lock_guard guard(lock_);
      ending_ = true;
      queue_.clear();
    }
    more_.notify_all();
    thread_.join();
  }
  void post(int lane, Job job) override {
    {
      std::lock_guard guard(lock_);
      enqueue(queue_, lane, std::move(job));
    }
    more_.notify_one();
  }
  bool collect() override {
    std::vector<Done> done;
    {
      std::lock_guard guard(lock_);
      done.swap(done_);
    }
    for (Done& each : done)
      if (each) each();
    return !done.empty();
  }
  bool busy() const override {
    std::lock_guard guard(lock_);
    return working_ || !queue_.empty() || !done_.empty();
  }
  void on_ready(std::function<void()> wake) override {
    std::lock_guard guard(lock_);
    wake_ = std::move(wake);
  }
  void on_failure(Failed tell) override {
    std::lock_guard guard(lock_);
    failed_ = std::move(tell);
  }

 private:
  void run() {
    std::unique_lock guard(lock_);
    for (;;) {
      more_.wait(guard, [this] { return ending_ || !queue_.empty(); });
      if (ending_) return;
      Job job = std::move(queue_.front().job);
      queue_.pop_front();
      working_ = true;
      const Failed failed = failed_;
      guard.unlock();
      Done done = done_of(job, failed);
      job = {};
      guard.lock();
      working_ = false;
      done_.push_back(std::move(done));
      if (wake_) wake_();
    }
  }

  mutable std::mutex lock_;
  std::condition_variable more_;
  std::deque<Waiting> queue_;
  std::vector<Done> done_;
  std::function<void()> wake_;
  Failed failed_;
  bool working_ = false, ending_ = false;
  std::thread thread_;  // last: starts when all else is there
};

class TurnWorker : public Worker {
 public:
  void post(int lane, Job job) override { enqueue(queue_, lane, std::move(job)); }
  bool collect() override {
    if (queue_.empty()) return false;
    Job job = std::move(queue_.front().job);
    queue_.pop_front();
    if (Done done = done_of(job, failed_)) done();
    return true;
  }
  bool busy() const override { return !queue_.empty(); }
  void on_ready(std::function<void()>) override {}
  void on_failure(Failed tell) override { failed_ = std::move(tell); }

 private:
  Failed failed_;
  std::deque<Waiting> queue_;
};

}  // namespace

std::unique_ptr<Worker> make_thread_worker() { return std::make_unique<ThreadWorker>(); }
std::unique_ptr<Worker> make_turn_worker() { return std::make_unique<TurnWorker>(); }

}  // namespace platform
