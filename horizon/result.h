// horizon/result.h: an expected failure is a value: a code, the key of its words, what fills them.
// Below `app` no sentence is written: the words stand in app/words/*/errors.txt under the key, which
// is always written whole ("error.sun_below_horizon") so that a search finds both ends; a test holds
// every key to its words in every language. `where` names the place (a file and row, a field).
// A caller's bug asserts instead.
#pragma once

#include <concepts>
#include <string>
#include <tl/expected.hpp>
#include <utility>
#include <vector>

namespace horizon {

enum class Code {
  bad_input,     // what was given cannot be used; the words hold the cure
  out_of_range,  // a valid value outside what the method covers
  not_found,
  failed,  // the system refused: disk, lock, permission
};

struct Arg;

// A sentence for a person by its key; {0}, {1} in its words stand for the arguments.
struct Sentence {
  std::string key;
  std::vector<Arg> args;

  Sentence() = default;
  Sentence(std::string its_key);  // NOLINT: a key is a sentence without arguments
  Sentence(const char* its_key);  // NOLINT
  Sentence(std::string its_key, std::vector<Arg> its_args);
  bool empty() const { return key.empty(); }
};

struct Arg {
  std::string text;             // a name, a file's own text
  bool number = false;          // text is a number with a point for its decimal mark
  std::vector<Sentence> inner;  // one sentence within the other, instead of text

  Arg(std::string name) : text(std::move(name)) {}  // NOLINT
  Arg(const char* name) : text(name) {}             // NOLINT
  template <std::integral Whole>
  Arg(Whole whole) : text(std::to_string(whole)) {}       // NOLINT
  Arg(Sentence sentence) : inner{std::move(sentence)} {}  // NOLINT
  static Arg figure(std::string digits);                  // "-12.5"
  static Arg figure(double value, int decimals);
};

inline Sentence::Sentence(std::string its_key) : key(std::move(its_key)) {}
inline Sentence::Sentence(const char* its_key) : key(its_key) {}
inline Sentence::Sentence(std::string its_key, std::vector<Arg> its_args)
    : key(std::move(its_key)), args(std::move(its_args)) {}

inline Arg Arg::figure(std::string digits) {
  Arg arg(std::move(digits));
  arg.number = true;
  return arg;
}

struct Error : Sentence {
  Code code = Code::failed;
  std::string where;

  Error() = default;
  Error(Code its_code, Sentence sentence, std::string place = {})
      : Sentence(std::move(sentence)), code(its_code), where(std::move(place)) {}
  const Sentence& sentence() const { return *this; }
};

template <class T>
using Result = tl::expected<T, Error>;

inline tl::unexpected<Error> fail(Code code, Sentence sentence, std::string where = {}) {
  return tl::unexpected<Error>(Error{code, std::move(sentence), std::move(where)});
}

}  // namespace horizon
