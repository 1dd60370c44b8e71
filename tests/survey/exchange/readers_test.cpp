// Every reader against bytes that nobody expected: seeds of its kind, cut, doubled, swapped, with
// words that matter to readers put in. No crash, no hang, no exception. tests/fuzz.sh does the same
// for an hour with clang's libFuzzer. ADRET_MUTATIONS: how many of each.
#include "tests/fuzz/readers.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <chrono>
#include <cstdlib>
#include <random>

namespace {

std::string mutated(const fuzz::Reader& reader, std::mt19937& random) {
  std::string bytes = reader.seeds[random() % reader.seeds.size()];
  const auto place = [&] { return bytes.empty() ? 0 : random() % bytes.size(); };
  for (int changes = 1 + int(random() % 5); changes > 0; --changes) {
    const std::size_t at = place(), size = std::min(bytes.size() - at, std::size_t(random() % 40));
    switch (random() % 8) {
      case 0:
        if (!bytes.empty()) bytes[at] = char(random());
        break;
      case 1:
        bytes.erase(at, size);
        break;
      case 2:
        bytes.insert(place(), bytes.substr(at, size));
        break;
      case 3:
        bytes.insert(at, fuzz::dictionary()[random() % fuzz::dictionary().size()]);
        break;
      case 4: {  // a number becomes another
        const std::size_t digit = bytes.find_first_of("0123456789", at);
        if (digit == std::string::npos) break;
        const std::size_t end = bytes.find_first_not_of("0123456789.", digit);
        bytes.replace(digit, std::min(end, bytes.size()) - digit, fuzz::dictionary()[random() % 8]);
        break;
      }
      case 5:
        if (!bytes.empty()) bytes[at] ^= char(1u << random() % 8);
        break;
      case 6:
        if (random() % 4 == 0) bytes.resize(at);
        break;
      default: {
        const auto& other = reader.seeds[random() % reader.seeds.size()];
        if (!other.empty()) bytes.insert(at, other.substr(random() % other.size(), 60));
      }
    }
  }
  return bytes;
}

}  // namespace

TEST_CASE("[property] no reader falls over bytes that nobody expected, nor takes two seconds") {
  const char* asked = std::getenv("ADRET_MUTATIONS");
  const int wanted = asked ? std::atoi(asked) : 1000;
  for (const fuzz::Reader& reader : fuzz::readers()) {
    CAPTURE(reader.name);
    std::mt19937 random(17);
    CHECK(reader.read(reader.seeds.front()));
    double longest_s = 0;
    int read = 0, taken = 0, threw = 0;
    const bool large = reader.name == "file" || reader.name == "weather";
    for (; read < (large ? wanted / 10 : wanted); ++read) {
      const std::string bytes = mutated(reader, random);
      const auto begin = std::chrono::steady_clock::now();
      try {
        taken += reader.read(bytes);
      } catch (...) {
        ++threw;
      }
      longest_s =
          std::max(longest_s,
                   std::chrono::duration<double>(std::chrono::steady_clock::now() - begin).count());
    }
    MESSAGE(reader.name << ": " << read << " read, " << taken << " taken, the longest in "
                        << longest_s << " s");
    CHECK(threw == 0);
    CHECK(longest_s < 20);  // ten times what an idle machine takes at most
  }
}
