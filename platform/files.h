// platform/files.h: where things are kept, and files that the user picks.
// Errors: paths are UTF-8; an empty folder name means the system has none
#pragma once

#include <optional>
#include <string>
#include <vector>

namespace platform {

struct PickedFile {
  std::string name;  // without folder
  std::vector<unsigned char> bytes;
};

class Files {
 public:
  virtual ~Files() = default;
  virtual std::string sites_folder() = 0;  // durable; made if it is not there
  virtual std::string settings_file() = 0;
  virtual std::string handover_folder() = 0;  // where people find what was made
  // Opens the system's chooser; `kinds` like "gpkg" or "jpg,jpeg,png". False: there is none here.
  virtual bool pick(const std::string& kinds) = 0;
  virtual std::optional<PickedFile> picked() = 0;  // once, when the user has chosen
  // Once: what the system opens with this program, or another shared with it.
  virtual std::optional<PickedFile> opened() { return {}; }
  // A chooser is open, or what was chosen lies ready: whoever asked looks again.
  virtual bool asked() { return false; }
  // Whether what was written and is not yet kept fills the memory: whoever writes much waits. From
  // any thread.
  virtual bool crowded() { return false; }
  // After writing: true once what was written survives a power cut (at once on most systems).
  virtual bool durable() { return true; }
};

}  // namespace platform
