// platform/plain_files.h: everything below one folder of an ordinary file system.
#pragma once

#include "platform/files.h"

namespace platform {

class PlainFiles : public Files {
 public:
  explicit PlainFiles(std::string folder) : folder_(std::move(folder)) {}
  std::string sites_folder() override { return made("sites"); }
  std::string settings_file() override { return made("") + "/settings.json"; }
  std::string handover_folder() override { return made("handover"); }
  bool pick(const std::string&) override { return false; }
  std::optional<PickedFile> picked() override { return {}; }

 private:
  std::string made(const std::string& name);
  std::string folder_;
};

}  // namespace platform
