#include "platform/plain_files.h"

#include <filesystem>

namespace platform {

std::string PlainFiles::made(const std::string& name) {
  std::filesystem::path path = std::filesystem::path(folder_) / name;
  if (name.empty()) path = folder_;
  std::error_code error;
  std::filesystem::create_directories(path, error);
  return path.string();
}

}  // namespace platform
