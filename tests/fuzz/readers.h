// tests/fuzz/readers.h: every reader of bytes from outside, by name, with seeds of its kind, the first of which it takes.
#pragma once

#include <string>
#include <string_view>
#include <vector>

namespace fuzz {

struct Reader {
  std::string name;
  bool (*read)(std::string_view bytes);  // was it taken
  std::vector<std::string> seeds;
};
const std::vector<Reader>& readers();
// Words that matter to some reader: for mutations.
const std::vector<std::string>& dictionary();

}  // namespace fuzz
