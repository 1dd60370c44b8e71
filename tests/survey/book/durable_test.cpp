// Files written whole or not at all, names of every script, and cells no spreadsheet runs.
#include "survey/book/durable.h"

#include <doctest/doctest.h>
#include <sys/wait.h>
#include <unistd.h>

#include <csignal>
#include <fstream>

#include "survey/book/text.h"
#include "survey/exchange/exchange.h"
#include "tests/survey/site_fixture.h"

using namespace survey;
namespace fs = std::filesystem;

TEST_CASE("a file is replaced or kept as asked, and no link beside it is followed [property]") {
  TempFolder folder;
  must(write_file(folder / "a", "one"));
  must(write_file(folder / "a", "two"));
  CHECK(must(read_file(folder / "a")) == "two");
  const auto refused = write_file(folder / "a", "three", Existing::keep);
  REQUIRE_FALSE(refused);
  CHECK(said(refused.error()).find("error.file_exists") != std::string::npos);
  // The names that were written through before.
  std::ofstream(folder / "victim") << "precious";
  fs::create_symlink(folder / "victim", folder / "b.part");
  fs::create_symlink(folder / "victim", folder / "c");
  must(write_file(folder / "b", "new"));
  CHECK_FALSE(write_file(folder / "c", "new", Existing::keep));
  must(write_file(folder / "c", "new"));  // the name, not what it points to
  CHECK(must(read_file(folder / "victim")) == "precious");
  CHECK_FALSE(fs::is_symlink(folder / "c"));
  CHECK(std::distance(fs::directory_iterator(folder.path), {}) == 5);  // nothing hidden is left
}

TEST_CASE(
    "what a kill left is cleared at the next start, what is being written is not [property]") {
  TempFolder folder;
  int ends[2];
  REQUIRE(pipe(ends) == 0);
  const pid_t child = fork();
  if (child == 0) {
    auto file = Unfinished::file(folder / "larkholm-package.zip");
    auto place = Unfinished::folder(folder / "handover");
    std::ofstream(place->path() + "/report.pdf") << "half";
    if (!file || !place || write(ends[1], "s", 1) != 1) _exit(1);
    for (;;) pause();
  }
  char told = 0;
  REQUIRE(read(ends[0], &told, 1) == 1);
  CHECK(clear_leftovers(folder.path.string()).empty());
  kill(child, SIGKILL);
  REQUIRE(waitpid(child, nullptr, 0) == child);
  auto mine = must(Unfinished::file(folder / "mine"));
  auto were = clear_leftovers(folder.path.string());
  std::sort(were.begin(), were.end());
  CHECK(were == std::vector<std::string>{"handover", "larkholm-package.zip"});
  CHECK(fs::exists(mine.path()));
  close(ends[0]);
  close(ends[1]);
}

TEST_CASE("names of schools in every script stay apart, and none leaves its folder [property]") {
  CHECK(file_stem_of("Larkholm school garden", "site") == "larkholm-school-garden");
  CHECK(file_stem_of("Школа", "site") == "Школа");
  CHECK(file_stem_of("विद्यालय", "site") == "विद्यालय");
  CHECK(file_stem_of("../../etc/passwd", "site") == "etc-passwd");
  CHECK(file_stem_of("a\u202egpj.exe", "site") == "a-gpj-exe");
  CHECK(file_stem_of("...", "site") == "site");
  CHECK(file_stem_of("CON", "site") == "_con");
  CHECK(file_stem_of("\xff\xfe", "site") == "site");
  CHECK(file_stem_of(std::string(300, 'x'), "site").size() == 40);
}

TEST_CASE(
    "a label that a spreadsheet would run is written as text and comes back as it was [property]") {
  for (const std::string text :
       {"=cmd()", "+1", "-1", "@x", "\tx", "'=x", "'plain", "plain", "''-"}) {
    CAPTURE(text);
    CHECK(without_apostrophe(csv_text(text)) == text);
    CHECK(std::string("=+-@\t").find(csv_text(text)[0]) == std::string::npos);
  }
}
