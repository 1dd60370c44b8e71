// horizon/result.h: an expected failure is a value.
// A message says what is wrong and the cure, in plain words, without the place; `where` names the
// place (a file and row, a field). A caller's bug asserts instead.
#pragma once

#include <string>
#include <tl/expected.hpp>

namespace horizon {

enum class Code {
  bad_input,     // what was given cannot be used; the message holds the cure
  out_of_range,  // a valid value outside what the method covers
  not_found,
  failed,  // the system refused: disk, lock, permission
};

struct Error {
  Code code = Code::failed;
  std::string message;
  std::string where;
};

template <class T>
using Result = tl::expected<T, Error>;

inline tl::unexpected<Error> fail(Code code, std::string message, std::string where = {}) {
  return tl::unexpected<Error>(Error{code, std::move(message), std::move(where)});
}

}  // namespace horizon
