// platform/linux/chooser.h: the desktop's own file chooser, through the helper program that it
// brings: zenity (GTK) or kdialog (Plasma), whichever is on the PATH.
// Threads: the chooser is another process; nothing waits for it
#pragma once

#include <sys/types.h>

#include "platform/plain_files.h"

namespace platform {

class LinuxFiles : public PlainFiles {
 public:
  using PlainFiles::PlainFiles;
  ~LinuxFiles() override;
  bool pick(const std::string& kinds) override;
  std::optional<PickedFile> picked() override;
  bool asked() override { return chooser_ > 0; }

 private:
  pid_t chooser_ = -1;
  int pipe_ = -1;
  std::string path_;
};

}  // namespace platform
