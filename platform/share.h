// platform/share.h: hand a file to the system's own way of sending.
#pragma once

#include <string>

namespace platform {

class Share {
 public:
  virtual ~Share() = default;
  virtual bool available() const = 0;
  virtual std::string verb() const = 0;  // what the button says: "Share", "Download", "Show folder"
  virtual bool one_by_one() const { return false; }  // there is no folder to show: file by file
  // Empty = done; else plain words with the cure.
  virtual std::string share(const std::string& path) = 0;
};

}  // namespace platform
