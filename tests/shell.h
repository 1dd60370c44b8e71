// tests/shell.h: another program, asked through the shell.
#pragma once

#include <sys/wait.h>

#include <cstdio>
#include <string>

struct Shell {
  std::string words;   // of its standard output; add 2>&1 for both
  int exit_code = -1;  // -1: it did not end by itself
};

inline Shell shell([[maybe_unused]] const std::string& command) {
  Shell result;
#ifndef __EMSCRIPTEN__  // there no other program can be asked
  FILE* pipe = popen(command.c_str(), "r");
  if (!pipe) return result;
  char buffer[65536];
  for (std::size_t n; (n = fread(buffer, 1, sizeof buffer, pipe)) > 0;)
    result.words.append(buffer, n);
  const int status = pclose(pipe);
  if (WIFEXITED(status)) result.exit_code = WEXITSTATUS(status);
#endif
  return result;
}
