// What the tests of a handover share: folders of their own, other programs' words, sound PDFs.
#pragma once

#include <doctest/doctest.h>

#include <cstdio>
#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <random>
#include <sstream>
#include <string>

#include "app/handover/handover.h"
#include "app/words/sentence.h"
#include "tests/app/larkholm_book.h"
#include "tests/shell.h"

namespace handover_tools {

namespace fs = std::filesystem;
using app::Handover;
using app::HandoverOptions;

struct Folder {
  fs::path path;
  explicit Folder(const std::string& name)
      : path(fs::temp_directory_path() /
             ("adret-" + name + std::to_string(std::random_device{}()))) {
    fs::remove_all(path);
    fs::create_directories(path);
  }
  ~Folder() {
    if (!std::getenv("ADRET_KEEP")) fs::remove_all(path);
  }
  std::string operator/(const std::string& name) const { return (path / name).string(); }
};

inline std::string output_of(const std::string& command) { return shell(command + " 2>&1").words; }

inline std::string bytes_of(const std::string& path) {
  std::ifstream in(path, std::ios::binary);
  return {std::istreambuf_iterator<char>(in), {}};
}

inline HandoverOptions options_for(const std::string& out) {
  HandoverOptions options;
  options.out_folder = out;
  options.unpacked = true;
  options.draws = 20;
  options.report.time_utc_s = 1794700000;
  options.report.software_version = "Adret test";
  return options;
}

inline Handover made(const survey::FieldBook& book, const HandoverOptions& options) {
  auto done = app::make_handover(book, options, {}, {});
  if (!done) FAIL(app::in_words(done.error()));
  return *done;
}

inline void check_pdf(const std::string& path) {
  CAPTURE(path);
  const std::string sound = output_of("qpdf --check " + path);
  CAPTURE(sound);
  CHECK(sound.find("No syntax or stream encoding errors") != std::string::npos);
  CHECK(sound.find("WARNING") == std::string::npos);
  std::istringstream fonts(output_of("pdffonts " + path));
  std::string row;
  int count = 0;
  while (std::getline(fonts, row)) {
    if (row.rfind("name", 0) == 0 || row.rfind("---", 0) == 0) continue;
    ++count;
    CAPTURE(row);
    CHECK(row.find(" yes yes yes ") != std::string::npos);  // embedded, subset, to Unicode
  }
  CHECK(count >= 2);
}

// Non-breaking and thin spaces as plain ones, for looking words up.
inline std::string plain(std::string text) {
  for (const char* space : {"\u00A0", "\u202F"}) {
    for (std::size_t at; (at = text.find(space)) != std::string::npos;) {
      text.replace(at, std::string(space).size(), " ");
    }
  }
  return text;
}

}  // namespace handover_tools
