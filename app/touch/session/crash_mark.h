// app/touch/session/crash_mark.h: did the program end by a fault the last time?
// Only a signal of a fault (no kill, no power cut) leaves the mark: an empty file.
#pragma once

#include <string>

namespace app {

// From now on a fault leaves the file. Async-signal-safe; faults go on to whoever handled them.
void mark_crashes_at(const std::string& file);
// True once for each crash.
bool take_crash_mark(const std::string& file);

}  // namespace app
