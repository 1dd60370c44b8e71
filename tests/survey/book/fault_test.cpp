// Every fault of memory and disk, and every power cut: what was acknowledged is there, what was
// refused left nothing half done, and the file opens and is sound.
#include <doctest/doctest.h>
#include <signal.h>
#include <sys/mman.h>
#include <sys/wait.h>
#include <unistd.h>

#include <algorithm>
#include <cstdio>
#include <cstdlib>
#include <filesystem>
#include <new>
#include <random>
#include <set>

#include "survey/assess/site_check.h"
#include "survey/book/merge.h"
#include "survey/exchange/exchange.h"
#include "tests/survey/book/fault_vfs.h"
#include "tests/survey/site_fixture.h"

using namespace survey;
namespace fs = std::filesystem;

// The sanitizers keep operator new to themselves.
#if !defined(__SANITIZE_ADDRESS__) && !defined(__SANITIZE_THREAD__)

namespace {

// The how many-th memory request from now on fails; -1 none.
thread_local int memory_left = -1;
thread_local int memory_failed = 0;
bool memory_gone() {
  if (memory_left < 0) return false;
  if (memory_left-- > 0) return false;
  memory_left = -1;
  ++memory_failed;
  return true;
}
void* requested(std::size_t size) {
  if (memory_gone()) throw std::bad_alloc();
  if (void* at = std::malloc(size ? size : 1)) return at;
  throw std::bad_alloc();
}

}  // namespace

void* operator new(std::size_t size) { return requested(size); }
void* operator new[](std::size_t size) { return requested(size); }
void operator delete(void* at) noexcept { std::free(at); }
void operator delete[](void* at) noexcept { std::free(at); }
void operator delete(void* at, std::size_t) noexcept { std::free(at); }
void operator delete[](void* at, std::size_t) noexcept { std::free(at); }

#endif

namespace {

Sighting mark_of(const Id& station, int number) {
  Sighting mark;
  mark.id = FullSite::id(1000 + number);
  mark.station_id = station;
  mark.time = {1795600800.0 + number, 1};
  mark.bearing_deg = number % 360;
  mark.elevation_deg = number % 40;
  return mark;
}

constexpr const char* kTable = "bearing,elevation,kind,label\n10,12,ridge,Kar\n20,13,ridge,Kar\n";

// One visit's worth of changes. Every acknowledged one is noted before the next begins; a refused one
// is noted too: it must have left nothing. Plain values: a child process can share them.
struct Work {
  bool kept[7] = {}, refused[7] = {};
  bool photo_kept = false, merged = false, imported = false, closed = false, threw = false;

  void run(const std::string& path, const std::string& other_path, const FullSite& full) {
    try {
      auto book = FieldBook::open(path);
      if (!book) return;
      for (int i = 0; i < 4; ++i) note(i, book->put(mark_of(full.station.id, i)).has_value());
      const auto three = book->change("three", [&]() -> horizon::Result<void> {
        for (int i = 4; i < 7; ++i)
          if (auto put = book->put(mark_of(full.station.id, i)); !put)
            return tl::unexpected(put.error());
        return {};
      });
      for (int i = 4; i < 7; ++i) note(i, three.has_value());
      Photo photo;
      photo.id = FullSite::id(2000);
      photo.station_id = full.station.id;
      photo.file_name = "south.png";
      photo_kept = book->add_photo(photo, tiny_png(7)).has_value();
      imported = import_marks(*book, kTable).has_value();
      if (auto other = FieldBook::open(other_path, Access::read))
        merged = merge(*book, *other).has_value();
      closed = book->close().has_value();
    } catch (const std::exception&) {
      threw = true;
    }
  }
  bool any_refused() const { return std::ranges::count(refused, true) > 0; }
  bool any_kept() const { return std::ranges::count(kept, true) > 0; }

 private:
  void note(int number, bool put) { (put ? kept : refused)[number] = true; }
};

struct Scene {
  TempFolder folder;
  FullSite full;
  std::string clean = folder / "clean.gpkg", other = folder / "other.gpkg",
              path = folder / "site.gpkg";
  Scene() {
    FieldBook book = must(FieldBook::create(clean, full.site));
    full.put_into(book);
    must(book.close());
    fs::copy_file(clean, other);
    FieldBook theirs = must(FieldBook::open(other));
    must(theirs.put(mark_of(full.station.id, 500)));
    must(theirs.close());
    fresh();
  }
  void fresh() {
    for (const char* end : {"", "-wal", "-shm", "-journal"}) fs::remove(path + end);
    fs::copy_file(clean, path);
  }

  // After the fault: opened as the app would open it next.
  void check(const Work& work, const std::string& file) {
    FieldBook book = must(FieldBook::open(file));
    std::set<Id> there;
    for (const Sighting& mark : must(book.all<Sighting>())) there.insert(mark.id);
    for (int i = 0; i < 7; ++i)
      if (work.kept[i]) REQUIRE(there.contains(FullSite::id(1000 + i)));
    // Three put as one step: all or none.
    const auto of_three = std::ranges::count_if(
        std::vector{1004, 1005, 1006}, [&](int n) { return there.contains(FullSite::id(n)); });
    REQUIRE((of_three == 0 || of_three == 3));
    if (work.photo_kept) REQUIRE(must(book.photo_bytes(FullSite::id(2000))) == tiny_png(7));
    if (work.merged) REQUIRE(there.contains(FullSite::id(1500)));
    if (work.imported) REQUIRE(there.size() >= 3);
    REQUIRE(there.contains(full.sighting.id));
    for (const CheckItem& item : must(check_site(book)))
      if (item.weight == Weight::damage) FAIL(item.where << ": " << said(item.what));
    must(book.close());
  }
};

int most(int in_suite) {
  const char* text = std::getenv("ADRET_FAULTS");
  return text ? std::atoi(text) : in_suite;
}

}  // namespace

TEST_CASE(
    "[property] any one failed read, write, flush, lock or open loses no acknowledged reading") {
  Scene scene;
  using fault::Act;
  int tried = 0, refused = 0;
  for (const Act act :
       {Act::write, Act::flush, Act::read, Act::truncate, Act::lock, Act::open, Act::remove})
    for (const bool for_good : {true, false}) {
      int step = 1;
      for (int at = 0;; at += step) {
        scene.fresh();
        Work work;
        bool hit = false;
        {
          fault::Layer layer;
          layer.fail(act, at, for_good);
          work.run(scene.path, scene.other, scene.full);
          hit = fault::state().failed > 0;
          layer.heal();
        }
        CAPTURE(int(act));
        CAPTURE(at);
        CAPTURE(for_good);
        CHECK_FALSE(work.threw);
        scene.check(work, scene.path);
        ++tried;
        refused += work.any_refused();
        if (!hit) break;
        step = 1 + at / most(12);  // every one of the first, then ever further apart
      }
    }
  MESSAGE(tried << " faults, in " << refused << " of them a mark was refused");
  CHECK(refused > 20);
}

#if !defined(__SANITIZE_ADDRESS__) && !defined(__SANITIZE_THREAD__)
// In a process of its own: the JSON library asks for memory in its destructors, and where that is
// refused the program ends at once. As after a kill, nothing that was acknowledged may be lost.
TEST_CASE("[property] any one failed request for memory loses no acknowledged reading") {
  Scene scene;
  struct Shared {
    Work work;
    int failed = 0;
  };
  void* shared =
      mmap(nullptr, sizeof(Shared), PROT_READ | PROT_WRITE, MAP_SHARED | MAP_ANONYMOUS, -1, 0);
  REQUIRE(shared != MAP_FAILED);
  auto& [work, failed] = *static_cast<Shared*>(shared);
  int tried = 0, ended = 0;
  for (int at = 0;; at += 1 + at / most(40)) {
    scene.fresh();
    work = {};
    failed = 0;
    const pid_t child = fork();
    REQUIRE(child >= 0);
    if (child == 0) {
      signal(SIGABRT, SIG_DFL);
      std::fclose(stderr);
      memory_left = at;
      work.run(scene.path, scene.other, scene.full);
      memory_left = -1;
      failed = memory_failed;
      _exit(0);
    }
    int status = 0;
    REQUIRE(waitpid(child, &status, 0) == child);
    CAPTURE(at);
    if (WIFSIGNALED(status)) {
      CHECK(WTERMSIG(status) == SIGABRT);
      failed = 1;
      ++ended;
    }
    scene.check(work, scene.path);
    ++tried;
    if (!failed) break;
  }
  munmap(shared, sizeof(Shared));
  MESSAGE(tried << " failed requests, " << ended << " ended the program");
  CHECK(tried > 100);
  CHECK(ended < tried / 4);
}
#endif

TEST_CASE("[property] after any power cut every acknowledged reading is there") {
  Scene scene;
  std::mt19937 random(5);
  const int wanted = most(150);
  int cuts = 0, lost_nothing = 0;
  const std::string cut = scene.folder / "cut.gpkg";
  while (cuts < wanted) {
    scene.fresh();
    Work work;
    std::vector<std::pair<std::string, Work>>
        seen;  // a copy of the disk, and what was acknowledged
    {
      fault::Layer layer;
      layer.record(scene.path);
      fault::state().before_act = [&] {
        if (random() % 12 || seen.size() > 20) return;
        const std::string name = cut + std::to_string(seen.size());
        for (const char* end : {"", "-wal", "-journal"}) fs::remove(name + end);
        fault::write_after_cut(scene.path, name, random);
        seen.emplace_back(name, work);
      };
      work.run(scene.path, scene.other, scene.full);
      fault::state().recording = false;
    }
    CHECK(work.closed);
    for (const auto& [name, before] : seen) {
      CAPTURE(name);
      scene.check(before, name);
      ++cuts;
      lost_nothing += before.any_kept();
    }
  }
  MESSAGE(cuts << " power cuts, " << lost_nothing << " after something was acknowledged");
  CHECK(lost_nothing > cuts / 3);
}
