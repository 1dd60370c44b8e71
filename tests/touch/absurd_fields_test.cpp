// Every field of every screen, found from the areas that the screens name, with absurd entries: nothing
// gives way, nothing that cannot be is stored, and what is refused is told.
#include <doctest/doctest.h>

#include <algorithm>
#include <cstdio>
#include <cstdlib>
#include <deque>
#include <filesystem>
#include <optional>
#include <set>
#include <string>
#include <vector>

#include "app/touch/script/demo_visit.h"
#include "app/words/form_words.h"
#include "tests/out_of_range.h"
#include "tests/touch/walk.h"

using namespace app;
using touch_test::Place;
using touch_test::Walk;

namespace {

namespace fs = std::filesystem;
using Steps = std::vector<std::string>;

// Where free words are asked for, which anything may be; and the questions of the forms that take words.
std::set<std::string> free_words() {
  std::set<std::string> all = {"Name of the site",
                               "People (initials)",
                               "Weather",
                               "Ground cover",
                               "Note on the photo",
                               "Name",
                               "Note",
                               "By whom",
                               "Search",
                               "Name of the pit",
                               "Mail",
                               "Telephone",
                               "What was agreed",
                               "Colour in words or soil notation",
                               "Roots",
                               "What will be built",
                               "Name of this Ridge, for all that follow"};
  for (const survey::Form& form : survey::forms())
    for (const survey::FormField& field : form.fields)
      if (field.answer == survey::Answer::words) all.insert(field_words(field.key));
  return all;
}

struct Walker {
  Place place{"adret-absurd-fields"};
  std::unique_ptr<Walk> walk;
  std::string path;
  std::set<std::string> touched, fields, silent;
  int hints = 0, swapped = 0, emptied = 0;

  Walker() {
    REQUIRE(make_demo_folder(place.folder.string()));
    walk = std::make_unique<Walk>((place.folder / "demo").string());
    const auto& sites = walk->app.session().sites().sites;
    REQUIRE(!sites.empty());
    path = sites.front().path;
    REQUIRE(walk->app.session().open_site(path));
    (void)walk->recording.apply("aim 218.0 24.0");
    walk->recording.advance(3600);
  }
  Ui& ui() { return walk->app.ui(); }
  std::string here() const { return std::string(name_of(walk->app.screen())); }
  void frames(double seconds) { (void)walk->run("wait " + std::to_string(seconds)); }

  void replay(const Steps& labels) {
    ui().blur();
    (void)walk->app.states().close_sheet();
    auto& session = walk->app.session();
    if (!session.has_site() || session.book().path() != path) REQUIRE(session.open_site(path));
    walk->app.go(ScreenId::skyline);
    frames(0.1);
    for (const std::string& label : labels) {
      ui().activate(label);
      frames(0.1);
    }
  }
  std::vector<Hit> areas() {
    const auto& hits = ui().hits();
    return {hits.begin() + static_cast<std::ptrdiff_t>(ui().modal_from()), hits.end()};
  }
  std::set<std::string> words() {
    std::set<std::string> all;
    for (const auto& one : walk->window.inspected().words()) all.insert(one.text);
    return all;
  }
  void write(const std::string& field, const std::string& value) {
    ui().blur();
    ui().activate(field);
    frames(0.02);
    ui().key(EditKey::select_all, false);
    ui().key(EditKey::backspace, false);
    ui().typed(value);
    frames(0.02);
  }
  // The field is refused in a sentence, which stands on the screen too.
  bool tells(const std::string& field, const std::string& value) {
    write(field, value);
    ui().blur();
    frames(0.02);
    for (const Hit& hit : areas())
      if (hit.label == field && hit.role == Role::field && hit.refused.size() > 12)
        return std::ranges::find(ui().said(), hit.refused) != ui().said().end();
    return false;
  }
};

// The range that an empty field of numbers shows, and its unit: "0 … 4 m".
struct Hint {
  double low = 0, high = 0;
  std::string unit;
};
std::optional<Hint> hint_of(Walker& w, const std::string& field) {
  w.write(field, "");
  w.ui().blur();
  w.frames(0.02);
  const auto empty = w.words();
  w.write(field, "1");
  const auto typed = w.words();
  w.write(field, "");
  for (std::string text : empty) {
    if (typed.contains(text)) continue;
    for (const char* space : {"\u00A0", "\u202F", "\u2009"})
      for (size_t at; (at = text.find(space)) != std::string::npos;)
        text.replace(at, std::string_view(space).size(), space == std::string("\u00A0") ? " " : "");
    for (size_t at; (at = text.find("−")) != std::string::npos;) text.replace(at, 3, "-");
    Hint hint;
    char dots[8], unit[24] = "";
    if (std::sscanf(text.c_str(), "%lf %7s %lf %23s", &hint.low, dots, &hint.high, unit) < 3)
      continue;
    hint.unit = unit;
    return hint;
  }
  return {};
}

// What a person writes who takes the unit for another: centimetres for metres, millimetres for
// centimetres, Fahrenheit for Celsius; of the largest that fits, so that it is out of the range.
std::optional<double> in_another_unit(const Hint& hint) {
  if (hint.unit == "m") return hint.high * 100;
  if (hint.unit == "cm" || hint.unit == "mm") return hint.high * 10;
  if (hint.unit == "°C") return hint.high * 1.8 + 32;
  return {};
}

bool leave_alone(const Hit& hit, const std::string& screen) {
  if (screen == "settings" || screen == "sites") return true;  // language, other sites
  for (const char* label : {"Make the files", "Share", "All sites", "Settings", "Practice"})
    if (hit.label.find(label) != std::string::npos) return true;
  return !hit.enabled || hit.act != HitAct::tap || hit.role == Role::field;
}

}  // namespace

// ADRET_LONG=1 walks all; else the first hundred places, some seconds.
TEST_CASE("every field of every screen refuses what cannot be, and says so [property]") {
  const bool all = std::getenv("ADRET_LONG") != nullptr;
  Walker w;
  const std::set<std::string> words = free_words();
  std::deque<Steps> ahead{{}};
  for (const char* stop : {"Arrive", "Ground", "Light", "Hand over"}) ahead.push_back({stop});
  int places = 0;
  while (!ahead.empty() && (all || places < 100)) {
    const Steps path = ahead.front();
    ahead.pop_front();
    w.replay(path);
    ++places;
    const std::string screen = w.here();
    const ScreenId screen_id = w.walk->app.screen();
    std::vector<std::string> fields;
    for (const Hit& hit : w.areas()) {
      if (hit.role == Role::field && w.fields.insert(screen + ": " + hit.label).second)
        fields.push_back(hit.label);
      if (leave_alone(hit, screen) || path.size() > 4) continue;
      if (!w.touched.insert(screen + ": " + hit.label).second) continue;
      ahead.push_back(path);
      ahead.back().push_back(hit.label);
    }
    for (const std::string& field : fields) {
      CAPTURE(screen);
      CAPTURE(field);
      for (const char* value : {"1e9", "-1e9", "nan"}) {
        const bool told = w.tells(field, value);
        if (!told && !words.contains(field)) w.silent.insert(screen + ": " + field + " " + value);
        REQUIRE(w.walk->app.session().has_site());
      }
      if (const auto hint = hint_of(w, field)) {
        ++w.hints;
        std::vector<double> wrong = {hint->low - 1, hint->high + 1};
        if (const auto swapped = in_another_unit(*hint)) wrong.push_back(*swapped), ++w.swapped;
        for (const double value : wrong) {
          char text[32];
          std::snprintf(text, sizeof text, "%g", value);
          if (!w.tells(field, text)) w.silent.insert(screen + ": " + field + " " + text);
        }
      }
      // What a button of the screen makes of it.
      std::vector<std::string> buttons;
      for (const Hit& hit : w.areas())
        if (!leave_alone(hit, screen) && hit.role == Role::button &&
            w.touched.insert("absurd " + screen + ": " + hit.label).second)
          buttons.push_back(hit.label);
      for (const std::string& button : buttons) {
        w.write(field, "1e9");
        w.ui().blur();
        w.frames(0.02);
        w.ui().activate(button);
        w.frames(0.1);
        REQUIRE(w.walk->app.session().has_site());
        w.replay(path);
      }
      w.write(field, "");
    }
    // All of them empty: a button that can be touched does something, or says what is missing.
    std::vector<std::string> buttons;
    if (!fields.empty())
      for (const Hit& hit : w.areas())
        if (!leave_alone(hit, screen) && hit.role == Role::button &&
            w.touched.insert("empty " + screen + ": " + hit.label).second)
          buttons.push_back(hit.label);
    for (const std::string& button : buttons) {
      w.replay(path);
      for (const std::string& field : fields)
        if (!words.contains(field)) w.write(field, "");
      w.ui().blur();
      w.frames(0.1);
      const bool still = std::ranges::any_of(
          w.areas(), [&](const Hit& hit) { return hit.label == button && hit.enabled; });
      if (!still) continue;
      const auto before = w.words();
      w.ui().activate(button);
      w.frames(0.2);
      ++w.emptied;
      const bool here = button == "Arrive" || button == "Stations";  // the way to where one is
      if (w.words() == before && w.walk->app.screen() == screen_id && !here)
        w.silent.insert(screen + ": button " + button + ", all fields empty");
      REQUIRE(w.walk->app.session().has_site());
    }
    if (!fields.empty()) {
      w.ui().blur();
      for (const auto& wrong : out_of_range(w.path)) FAIL_CHECK(screen << ": " << wrong);
    }
  }
  (void)w.walk->run("settle");
  MESSAGE(places << " places, " << w.fields.size() << " fields, " << w.hints
                 << " with their range, " << w.swapped << " of them in another unit; " << w.emptied
                 << " buttons touched over empty fields");
  for (const auto& one : w.silent) FAIL_CHECK("nothing told: " << one);
  CHECK(w.fields.size() > 15);
  for (const auto& wrong : out_of_range(w.path)) FAIL_CHECK(wrong);
}
