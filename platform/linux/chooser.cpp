#include "platform/linux/chooser.h"

#include <fcntl.h>
#include <signal.h>
#include <sys/wait.h>
#include <unistd.h>

#include <cstdlib>
#include <fstream>
#include <iterator>
#include <sstream>
#include <vector>

namespace platform {
namespace {

std::string on_path(const std::string& program) {
  const char* path = std::getenv("PATH");
  std::istringstream folders(path ? path : "");
  for (std::string folder; std::getline(folders, folder, ':');) {
    const std::string whole = folder + "/" + program;
    if (access(whole.c_str(), X_OK) == 0) return whole;
  }
  return {};
}

// "jpg,png" as "*.jpg *.JPG *.png *.PNG".
std::string patterns(const std::string& kinds) {
  std::istringstream list(kinds);
  std::string out;
  for (std::string kind; std::getline(list, kind, ',');) {
    std::string upper = kind;
    for (char& c : upper)
      if (c >= 'a' && c <= 'z') c = char(c - 32);
    out += (out.empty() ? "*." : " *.") + kind + " *." + upper;
  }
  return out;
}

}  // namespace

LinuxFiles::~LinuxFiles() {
  if (pipe_ >= 0) close(pipe_);
  if (chooser_ > 0) {
    kill(chooser_, SIGTERM);
    waitpid(chooser_, nullptr, 0);
  }
}

bool LinuxFiles::pick(const std::string& kinds) {
  if (chooser_ > 0) return true;  // it is open already
  std::vector<std::string> words;
  if (const auto zenity = on_path("zenity"); !zenity.empty())
    words = {zenity, "--file-selection", "--file-filter=" + patterns(kinds)};
  else if (const auto kdialog = on_path("kdialog"); !kdialog.empty())
    words = {kdialog, "--getopenfilename", ".", patterns(kinds)};
  else
    return false;
  int ends[2];
  if (pipe2(ends, O_CLOEXEC) != 0) return false;
  std::vector<char*> args;
  for (auto& word : words) args.push_back(word.data());
  args.push_back(nullptr);
  chooser_ = fork();
  if (chooser_ == 0) {
    dup2(ends[1], STDOUT_FILENO);
    execv(args[0], args.data());
    _exit(127);
  }
  close(ends[1]);
  if (chooser_ < 0) {
    close(ends[0]);
    return false;
  }
  pipe_ = ends[0];
  fcntl(pipe_, F_SETFL, O_NONBLOCK);
  path_.clear();
  return true;
}

std::optional<PickedFile> LinuxFiles::picked() {
  if (chooser_ <= 0) return {};
  char buffer[4096];
  ssize_t got;
  while ((got = read(pipe_, buffer, sizeof buffer)) > 0) path_.append(buffer, std::size_t(got));
  if (got < 0) return {};  // still open
  close(pipe_);
  pipe_ = -1;
  waitpid(chooser_, nullptr, 0);
  chooser_ = -1;
  while (!path_.empty() && path_.back() == '\n') path_.pop_back();
  std::ifstream file(path_, std::ios::binary);
  if (path_.empty() || !file) return {};  // nothing was chosen
  PickedFile out;
  out.name = path_.substr(path_.rfind('/') + 1);
  out.bytes.assign(std::istreambuf_iterator<char>(file), {});
  return out;
}

}  // namespace platform
