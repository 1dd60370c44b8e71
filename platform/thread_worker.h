// platform/thread_worker.h: a worker on a thread of its own.
#pragma once

#include "platform/worker.h"

namespace platform {

std::unique_ptr<Worker> make_thread_worker();
// In turns on the frame's thread, when collect() is called: for tests and systems without threads.
std::unique_ptr<Worker> make_turn_worker();

}  // namespace platform
