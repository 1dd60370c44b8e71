// What the app has shown as saved is there after it was killed, and it goes on from there.
#include <doctest/doctest.h>
#include <sys/wait.h>
#include <unistd.h>

#include <algorithm>
#include <csignal>
#include <cstdio>
#include <random>
#include <set>
#include <sstream>

#include "app/touch/script/demo_visit.h"
#include "app/words/sentence.h"
#include "survey/assess/site_check.h"
#include "tests/touch/walk.h"

using namespace app;
using touch_test::Place;
using touch_test::Walk;

namespace {

template <class Row>
void add_ids(survey::FieldBook& book, std::set<std::string>& ids) {
  const auto rows = book.all<Row>();
  REQUIRE(rows);
  for (const auto& row : *rows) ids.insert(row.id);
}

std::set<std::string> ids_in(survey::FieldBook& book) {
  std::set<std::string> ids;
  add_ids<survey::Station>(book, ids);
  add_ids<survey::Visit>(book, ids);
  add_ids<survey::Fix>(book, ids);
  add_ids<survey::Sighting>(book, ids);
  add_ids<survey::HeadingCheckRow>(book, ids);
  add_ids<survey::Hazard>(book, ids);
  add_ids<survey::Photo>(book, ids);
  add_ids<survey::SoilPit>(book, ids);
  add_ids<survey::SoilLayer>(book, ids);
  add_ids<survey::PercolationTest>(book, ids);
  add_ids<survey::PercolationReading>(book, ids);
  return ids;
}

std::vector<std::string> lines_of(const std::string& text) {
  std::vector<std::string> lines;
  std::istringstream in(text);
  for (std::string line; std::getline(in, line);) lines.push_back(line);
  return lines;
}

// What a reader of the screen knows after a command.
struct Known {
  int command = -1, marks = 0, screen = 0;
  std::string weather;
  std::set<std::string> ids;
};

std::string written(const Known& known) {
  std::ostringstream out;
  out << known.command << ' ' << known.marks << ' ' << known.screen << " [" << known.weather
      << "] ";
  for (const auto& id : known.ids) out << id << ' ';
  out << '\n';
  return out.str();
}

Known read_back(const std::string& line) {
  Known known;
  std::istringstream in(line);
  in >> known.command >> known.marks >> known.screen;
  in.ignore(2);
  std::getline(in, known.weather, ']');
  for (std::string id; in >> id;) known.ids.insert(id);
  return known;
}

Known known_of(TouchApp& app, int command) {
  Known known;
  known.command = command;
  known.screen = int(app.screen());
  if (!app.session().has_site()) return known;
  known.marks = app.session().marks();
  if (const auto* visit = app.session().visit()) known.weather = visit->weather;
  known.ids = ids_in(app.session().book());
  return known;
}

// Runs the commands and tells after each, until it is killed.
[[noreturn]] void walk_until_killed(const std::string& data,
                                    const std::vector<std::string>& commands, int pipe) {
  Walk walk(data);
  for (int i = 0; i < int(commands.size()); ++i) {
    if (!walk.script.command(commands[std::size_t(i)])) _exit(3);
    const std::string words = written(known_of(walk.app, i));
    if (write(pipe, words.data(), words.size()) != ssize_t(words.size())) _exit(4);
  }
  for (;;) pause();
}

}  // namespace

TEST_CASE(
    "killed at 24 moments of the visit, the next start goes on with all that was shown "
    "[property]") {
  Place place("adret-kill-test");
  REQUIRE(write_demo_photos(place.folder.string()));
  const std::vector<std::string> commands = lines_of(whole_visit(place.folder.string()));
  std::vector<int> screens;  // after each command, of a walk that nothing disturbs
  {
    Walk walk((place.folder / "whole").string());
    for (const auto& command : commands) {
      REQUIRE(walk.script.command(command));
      screens.push_back(int(walk.app.screen()));
    }
  }
  constexpr int kRounds = 24;
  std::mt19937 random(3);
  int cut_in_a_command = 0;
  for (int round = 0; round < kRounds; ++round) {
    const std::string data = (place.folder / ("data" + std::to_string(round))).string();
    int ends[2];
    REQUIRE(pipe(ends) == 0);
    const pid_t child = fork();
    if (child == 0) {
      close(ends[0]);
      walk_until_killed(data, commands, ends[1]);
    }
    close(ends[1]);
    const int last = 2 + int((double(round) + 0.5) / kRounds * double(commands.size() - 2));
    std::FILE* told = fdopen(ends[0], "r");
    REQUIRE(told);
    Known known;
    char line[65536];
    while (known.command < last && std::fgets(line, sizeof line, told)) known = read_back(line);
    CHECK(known.command == last);
    usleep(random() % 12000);  // into the next command
    kill(child, SIGKILL);
    int status = 0;
    REQUIRE(waitpid(child, &status, 0) == child);
    CHECK(WIFSIGNALED(status));
    while (std::fgets(line, sizeof line, told))
      if (std::string(line).ends_with('\n')) known = read_back(line);
    std::fclose(told);
    CAPTURE(commands[std::size_t(known.command)]);
    if (known.command + 1 < int(commands.size())) CAPTURE(commands[std::size_t(known.command) + 1]);
    cut_in_a_command += known.command + 1 < int(commands.size());

    Walk again(data);
    auto& session = again.app.session();
    REQUIRE(session.has_site());
    CHECK(session.problem.empty());
    const auto ids = ids_in(session.book());
    CHECK(std::includes(ids.begin(), ids.end(), known.ids.begin(), known.ids.end()));
    CHECK(session.marks() >= known.marks);
    REQUIRE(session.visit());
    CHECK(session.visit()->weather.starts_with(known.weather));
    const int screen = int(again.app.screen());
    const std::size_t next = std::min(std::size_t(known.command) + 1, screens.size() - 1);
    CHECK((screen == known.screen || screen == screens[next]));
    const auto checked = survey::check_site(session.book());
    REQUIRE(checked);
    for (const auto& item : *checked)
      CHECK_MESSAGE(item.weight != survey::Weight::damage, app::words_of(item.what));
    // And the visit goes on.
    const int before = session.marks();
    CHECK(again.run("touch \"Skyline\"\naim 185 33\ntouch \"Mark\"") == "");
    CHECK(session.marks() == before + 1);
  }
  CHECK(cut_in_a_command >= kRounds - 1);
}

namespace {

// The machine's own clocks, the time of day set to another.
class SetClock : public platform::Clock {
 public:
  explicit SetClock(double by_s) : by_s_(by_s) {}
  double utc_s() const override { return true_->utc_s() + by_s_; }
  double running_s() const override { return true_->running_s(); }
  double utc_offset_h(double utc_s) const override { return true_->utc_offset_h(utc_s); }
  std::optional<double> since_boot_s() const override { return true_->since_boot_s(); }
  std::string boot() const override { return true_->boot(); }

 private:
  std::unique_ptr<platform::Clock> true_ = platform::system_devices("unused").clock;
  double by_s_;
};

// Of a stopwatch on the screen as 0:00:02.
std::optional<long> seconds_shown(const Walk& walk) {
  for (const auto& words : walk.window.inspected().words()) {
    long h = 0, m = 0, s = 0;
    int used = 0;
    if (std::sscanf(words.text.c_str(), "%ld:%2ld:%2ld%n", &h, &m, &s, &used) == 3 &&
        used == int(words.text.size()))
      return h * 3600 + m * 60 + s;
  }
  return {};
}

}  // namespace

TEST_CASE("a percolation test runs on after a kill and a change of the time of day [property]") {
  Place place("adret-percolation-kill-test");
  const std::string data = (place.folder / "data").string();
  int ends[2];
  REQUIRE(pipe(ends) == 0);
  const pid_t child = fork();
  if (child == 0) {
    Walk walk(data, std::make_unique<SetClock>(0));
    const bool started = walk.run(
                             "touch \"New site\"\ntouch \"Ground\"\ntouch \"Percolation test\"\n"
                             "touch \"Start the test\"\nexpect \"since the start\"") == "";
    if (write(ends[1], started ? "s" : "f", 1) != 1) _exit(4);
    for (;;) pause();
  }
  char told = 0;
  REQUIRE(read(ends[0], &told, 1) == 1);
  CHECK(told == 's');
  kill(child, SIGKILL);
  REQUIRE(waitpid(child, nullptr, 0) == child);
  close(ends[0]);
  close(ends[1]);

  const SetClock clock(0);
  for (const double by_s : {0.0, 3600.0, -7200.0}) {
    CAPTURE(by_s);
    usleep(700000);
    Walk again(data, std::make_unique<SetClock>(by_s));
    CHECK(again.app.screen() == ScreenId::percolation);
    CHECK(again.run("wait 0.1\nexpect \"since the start\"") == "");
    const auto tests = again.app.session().book().all<survey::PercolationTest>();
    REQUIRE(tests);
    REQUIRE(tests->size() == 1);
    REQUIRE(tests->front().since_boot_s);
    const double passed = *clock.since_boot_s() - *tests->front().since_boot_s;
    const auto shown = seconds_shown(again);
    REQUIRE(shown);
    CHECK(double(*shown) <= passed);
    CHECK(double(*shown) > passed - 2);
    CHECK(again.run(by_s == 0 ? "expect_not \"The clock of\"" : "expect \"The clock of\"") == "");
  }
}
