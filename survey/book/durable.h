// survey/book/durable.h: a file that stands whole under its name and on the device, or not at all.
// Way:    written under a hidden name beside it (made new, no link followed), flushed to the
//         device, renamed, and the folder flushed; only then is it said to be done
// Kills:  what was begun keeps its hidden name; nobody holds its lock any more, and
//         `clear_leftovers` removes it and says what it was
// Errors: failed, with the cure (disk full, no permission, ...); bad_input where a file of the name
//         is to be kept
#pragma once

#include <cstdint>
#include <string>
#include <string_view>
#include <vector>

#include "horizon/result.h"

namespace survey {

enum class Existing : std::uint8_t { replace, keep };  // keep: fails where there is one

horizon::Result<void> write_file(const std::string& path, std::string_view bytes,
                                 Existing existing = Existing::replace);

// A new file for now, in an `Unfinished` folder: not flushed.
horizon::Result<void> write_scratch(const std::string& path, std::string_view bytes);

// What the system's errno means for a person who wanted to write there, and the cure.
horizon::Error disk_error(const std::string& path, int number);

// A file or folder that somebody else (a database, a packer) fills under the hidden name.
class Unfinished {
 public:
  static horizon::Result<Unfinished> file(const std::string& wanted);
  static horizon::Result<Unfinished> folder(const std::string& wanted);
  Unfinished(Unfinished&& other) noexcept;
  Unfinished& operator=(Unfinished&&) = delete;
  ~Unfinished();  // removes what did not land
  const std::string& path() const { return path_; }
  // Flushed, under the wanted name, which is durable then.
  horizon::Result<void> land(Existing existing);

 private:
  Unfinished() = default;
  std::string wanted_, path_;
  int lock_ = -1;
};

// A finished file to its place: flushed, renamed, the folder flushed.
horizon::Result<void> move_file(const std::string& from, const std::string& to, Existing existing);
// A file's bytes, or a folder's names, to the device.
horizon::Result<void> flush_to_device(const std::string& path);

// Of works that were killed in this folder (not below it): removed, by the names they were to get.
std::vector<std::string> clear_leftovers(const std::string& folder);

}  // namespace survey
