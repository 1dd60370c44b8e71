#include "app/touch/session/crash_mark.h"

#include <fcntl.h>
#include <unistd.h>

#include <csignal>
#include <cstdio>
#include <cstring>

namespace app {
namespace {

char mark_file[4096];
constexpr int kFaults[] = {SIGSEGV, SIGABRT, SIGFPE, SIGBUS, SIGILL};

void on_fault(int number) {
  const int file = ::open(mark_file, O_WRONLY | O_CREAT | O_NOFOLLOW | O_CLOEXEC, 0600);
  if (file >= 0) ::close(file);
  std::signal(number, SIG_DFL);
  std::raise(number);
}

}  // namespace

void mark_crashes_at(const std::string& file) {
  if (file.empty() || file.size() >= sizeof mark_file) return;
  std::memcpy(mark_file, file.c_str(), file.size() + 1);
  for (const int number : kFaults) std::signal(number, on_fault);
}

bool take_crash_mark(const std::string& file) { return std::remove(file.c_str()) == 0; }

}  // namespace app
