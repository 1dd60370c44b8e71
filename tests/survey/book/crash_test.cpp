// What was acknowledged is there, whatever happens to the program or the disk.
#include <doctest/doctest.h>
#include <fcntl.h>
#include <signal.h>
#include <sys/mount.h>
#include <sys/resource.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <unistd.h>

#include <cstdlib>
#include <filesystem>
#include <random>
#include <unordered_set>

#include "survey/assess/site_check.h"
#include "survey/exchange/exchange.h"
#include "tests/said.h"
#include "tests/survey/site_fixture.h"

using namespace survey;
namespace fs = std::filesystem;

namespace {

Sighting next_mark(const Id& station, int number) {
  Sighting mark;
  mark.station_id = station;
  mark.time = {1795600800.0 + number, 1};
  mark.bearing_deg = number % 360;
  mark.elevation_deg = number % 40;
  return mark;
}

// Writes marks as fast as it can; each id goes down the pipe once `put` has returned.
[[noreturn]] void write_until_killed(const std::string& path, const Id& station, int pipe) {
  auto book = FieldBook::open(path);
  if (!book) _exit(3);
  for (int number = 0;; ++number) {
    const auto id = book->put(next_mark(station, number));
    if (!id) _exit(4);
    if (write(pipe, id->data(), 36) != 36) _exit(5);
  }
}

bool sound(const FieldBook& book) {
  for (const CheckItem& item : must(check_site(book)))
    if (item.weight == Weight::damage) {
      MESSAGE(item.where << ": " << said(item.what));
      return false;
    }
  return true;
}

int exit_code_of(pid_t child) {
  int status = 0;
  REQUIRE(waitpid(child, &status, 0) == child);
  return WIFEXITED(status) ? WEXITSTATUS(status) : -1;
}

}  // namespace

// The whole count of 500: ADRET_LONG.
TEST_CASE("[property] killed 200 times while writing, every acknowledged mark is there") {
  const int kills = std::getenv("ADRET_LONG") ? 500 : 200;
  const TempFolder folder;
  const std::string path = folder / "site.gpkg";
  FullSite full;
  {
    FieldBook book = must(FieldBook::create(path, full.site));
    full.put_into(book);
    must(book.close());
  }
  std::mt19937 random(11);
  std::unordered_set<std::string> acknowledged;
  int with_marks = 0;
  for (int kill_number = 0; kill_number < kills; ++kill_number) {
    int ends[2];
    REQUIRE(pipe(ends) == 0);
    const pid_t child = fork();
    REQUIRE(child >= 0);
    if (child == 0) {
      close(ends[0]);
      write_until_killed(path, full.station.id, ends[1]);
    }
    close(ends[1]);
    // A random number of marks, then a random moment within the next ones.
    const int wanted = static_cast<int>(random() % 12);
    char id[36];
    int got = 0;
    while (got < wanted && read(ends[0], id, 36) == 36) {
      acknowledged.emplace(id, 36);
      ++got;
    }
    usleep(random() % 1500);
    kill(child, SIGKILL);
    int status = 0;
    waitpid(child, &status, 0);
    REQUIRE(WIFSIGNALED(status));  // it had no reason of its own to end
    while (read(ends[0], id, 36) == 36) acknowledged.emplace(id, 36);
    close(ends[0]);
    with_marks += got > 0;
    if (kill_number % 20 != 19) continue;
    const FieldBook book = must(FieldBook::open(path));
    std::unordered_set<std::string> there;
    for (const Sighting& mark : must(book.all<Sighting>())) there.insert(mark.id);
    for (const std::string& mark : acknowledged) REQUIRE(there.contains(mark));
    REQUIRE(sound(book));
  }
  CHECK(with_marks > kills * 3 / 4);
  CHECK(acknowledged.size() > 500);
  CHECK_FALSE(fs::exists(path + "-wal"));
}

TEST_CASE("[property] on a full disk a change fails with words, and all before it stays") {
  const TempFolder folder;
  const std::string path = folder / "site.gpkg";
  FullSite full;
  {
    FieldBook book = must(FieldBook::create(path, full.site));
    full.put_into(book);
  }
  int ends[2];
  REQUIRE(pipe(ends) == 0);
  const pid_t child = fork();
  REQUIRE(child >= 0);
  if (child == 0) {
    // No file may grow beyond this: what a full disk looks like to one program.
    signal(SIGXFSZ, SIG_IGN);
    const rlimit limit{fs::file_size(path) + 2'000'000, fs::file_size(path) + 2'000'000};
    setrlimit(RLIMIT_FSIZE, &limit);
    auto book = FieldBook::open(path);
    if (!book) _exit(3);
    for (int number = 0; number < 20000; ++number) {
      const auto id = book->put(next_mark(full.station.id, number));
      if (!id) _exit(id.error().code == horizon::Code::failed && !id.error().empty() ? 0 : 4);
      if (write(ends[1], id->data(), 36) != 36) _exit(5);
    }
    _exit(6);
  }
  close(ends[1]);
  std::vector<std::string> acknowledged;
  char id[36];
  while (read(ends[0], id, 36) == 36) acknowledged.emplace_back(id, 36);
  close(ends[0]);
  CHECK(exit_code_of(child) == 0);
  CHECK(acknowledged.size() > 10);
  const FieldBook book = must(FieldBook::open(path));
  for (const std::string& mark : acknowledged) REQUIRE(book.get<Sighting>(mark));
  CHECK(sound(book));
}

TEST_CASE("[property] a small file system that fills up is told, and nothing is lost") {
  const TempFolder folder;
  const std::string disk = folder / "disk";
  fs::create_directories(disk);
  // Only root may mount; without it the case above stands alone.
  if (mount("tmpfs", disk.c_str(), "tmpfs", 0, "size=1500k") != 0) {
    MESSAGE(
        "SKIPPED: no small file system can be mounted here; the limit on a file's size stands "
        "in for it");
    return;
  }
  {
    FieldBook book = must(FieldBook::create(disk + "/site.gpkg", FullSite().site));
    FullSite full;
    full.put_into(book);
    std::vector<Id> kept;
    std::string message;
    for (int number = 0; number < 20000 && message.empty(); ++number) {
      const auto id = book.put(next_mark(full.station.id, number));
      if (id)
        kept.push_back(*id);
      else
        message = said(id.error());
    }
    CHECK(message.find("error.disk_full") != std::string::npos);
    CHECK(kept.size() > 10);
    for (const Id& mark : kept) REQUIRE(book.get<Sighting>(mark));
    CHECK_FALSE(book.export_to(disk + "/copy.gpkg"));
    CHECK_FALSE(fs::exists(disk + "/copy.gpkg"));
    CHECK_FALSE(fs::exists(disk + "/copy.gpkg.part"));
    const auto table = write_file(disk + "/marks.csv", std::string(2'000'000, 'x'));
    REQUIRE_FALSE(table);
    CHECK(said(table.error()).find("error.disk_full_choose") != std::string::npos);
    CHECK_FALSE(fs::exists(disk + "/marks.csv"));
    CHECK_FALSE(fs::exists(disk + "/marks.csv.part"));
    CHECK(sound(book));
  }
  umount2(disk.c_str(), MNT_DETACH);
}

TEST_CASE("[property] in a read-only folder a site can be read and not written, and it is said") {
  const TempFolder folder;
  const std::string path = folder / "site.gpkg";
  must(must(FieldBook::create(path, FullSite().site)).close());
  chmod(path.c_str(), 0444);
  chmod(folder.path.c_str(), 0555);
  const pid_t child = fork();
  REQUIRE(child >= 0);
  if (child == 0) {
    if (getuid() == 0 && setuid(65534) != 0) _exit(2);  // root may write anywhere
    const auto read = FieldBook::open(path, Access::read);
    if (!read || !read->site()) _exit(3);
    const auto write = FieldBook::open(path);
    if (write) _exit(4);
    if (said(write.error()).find("error.file_not_writable") == std::string::npos) _exit(5);
    if (FieldBook::create(folder / "new.gpkg", FullSite().site)) _exit(6);
    const auto table = write_file(folder / "marks.csv", "x");
    if (table || said(table.error()).find("error.folder_not_writable") == std::string::npos)
      _exit(7);
    _exit(0);
  }
  CHECK(exit_code_of(child) == 0);
  chmod(folder.path.c_str(), 0755);
}
