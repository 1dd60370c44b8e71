// app/touch/screens/table.h: every screen, one line each. To add one: its line here and a file of its
// name with `void NAME_screen(TouchApp&, Rect)`; what it remembers while shown, if anything, in states.h.
#pragma once

#include <cstdint>
#include <optional>
#include <span>
#include <string_view>

#include "app/drawing/canvas.h"

namespace app {

class TouchApp;

// What a screen wants while it is shown.
namespace wants {
enum : unsigned {
  nothing = 0,
  aims = 1,        // compass and level
  position = 2,    // the receiver goes on averaging
  no_end = 4,      // ... and is not stopped if it runs
  results = 8,     // findings of the whole site
  terrain = 16,    // the land's own line
  ticks = 32,      // looked at twice a second
  alone = 64,      // of no site: without header and stops
  anywhere = 128,  // with a site or without
  files = 256,     // that the user picks: drawn again while a chooser is open
};
}

// title:   key of its heading; a stop's is its name in the navigation
// under:   where back leads, and so its stop; kFrom: where one came from
// resumed: a restart goes on here, not at what lies above it: what shows one thing chosen gives way
// clang-format off
#define ADRET_SCREENS(SCREEN)                                                                                 \
  /*     name         title                           under     resumed wants */                              \
  SCREEN(sites,       "app.all_sites",                kFrom,    true,  wants::alone | wants::files)           \
  SCREEN(arrive,      "touch.arrive",                 sites,    true,  wants::position)                       \
  SCREEN(skyline,     "touch.skyline",                sites,    true,  wants::aims | wants::position | wants::terrain)\
  SCREEN(ground,      "app.ground",                   sites,    true,  wants::nothing)                        \
  SCREEN(light,       "touch.light",                  sites,    true,  wants::results)                        \
  SCREEN(handover,    "touch.hand_over",              sites,    true,  wants::results)                        \
  SCREEN(check,       "touch.check_compass",          arrive,   true,  wants::aims | wants::no_end | wants::files)\
  SCREEN(station,     "touch.stations",               arrive,   true,  wants::nothing)                        \
  SCREEN(people,      "people.title",                 arrive,   true,  wants::nothing)                        \
  SCREEN(contacts,    "contacts.title",               skyline,  true,  wants::ticks)                          \
  SCREEN(diary,       "diary.title",                  contacts, true,  wants::nothing)                        \
  SCREEN(timeline,    "timeline.title",               skyline,  true,  wants::nothing)                        \
  SCREEN(score,       "practice.score",               skyline,  true,  wants::nothing)                        \
  SCREEN(turn,        "turn.title",                   skyline,  true,  wants::aims)                           \
  SCREEN(pit,         "pit.soil_pit",                 ground,   true,  wants::nothing)                        \
  SCREEN(percolation, "percolation.percolation_test", ground,   true,  wants::ticks)                          \
  SCREEN(slope,       "touch.slope_ground",           ground,   true,  wants::aims)                           \
  SCREEN(note,        "ground.note",                  ground,   false, wants::nothing)                        \
  SCREEN(climate,     "ground.months",                note,     false, wants::nothing)                        \
  SCREEN(results,     "ground.derived",               ground,   true,  wants::nothing)                        \
  SCREEN(plot,        "ground.plot",                  ground,   true,  wants::nothing)                        \
  SCREEN(lines,       "lines.title",                  ground,   true,  wants::nothing)                        \
  SCREEN(compare,     "compare.compare",              light,    true,  wants::results)                        \
  SCREEN(design,      "touch.building_weather",       light,    true,  wants::files)                          \
  SCREEN(house,       "house.title",                  light,    true,  wants::nothing)                        \
  SCREEN(photos,      "touch.photos",                 kFrom,    true,  wants::aims | wants::files)            \
  SCREEN(photo,       "photo.photo",                  photos,   false, wants::nothing)                        \
  SCREEN(trace,       "trace.skyline_from_photo",     photo,    false, wants::nothing)                        \
  SCREEN(settings,    "touch.settings",               kFrom,    false, wants::anywhere)                       \
  SCREEN(guide,       "guide.title",                  kFrom,    false, wants::anywhere)                       \
  SCREEN(programme,   "programme.side_by_side",       sites,    true,  wants::alone)
// clang-format on

#define ADRET_SCREEN_ID(name, title, under, resumed, wanted) name,
#define ADRET_SCREEN_FUNCTION(name, title, under, resumed, wanted) \
  void name##_screen(TouchApp& app, Rect area);

enum class ScreenId : std::uint8_t { ADRET_SCREENS(ADRET_SCREEN_ID) kFrom };
ADRET_SCREENS(ADRET_SCREEN_FUNCTION)

struct Screen {
  ScreenId id;
  std::string_view name, title;
  ScreenId under;
  bool resumed;
  unsigned wanted;
  void (*draw)(TouchApp& app, Rect area);

  bool is(unsigned want) const { return (wanted & want) != 0; }
};

std::span<const Screen> screens();
const Screen& record_of(ScreenId screen);
std::optional<ScreenId> screen_named(std::string_view name);
std::string_view name_of(ScreenId screen);
// The five stops of the navigation, in their order.
bool is_stop(ScreenId screen);
// `from`: where one came from. The stop that a screen belongs to; itself for one of no site.
ScreenId stop_of(ScreenId screen, ScreenId from);
ScreenId under(ScreenId screen, ScreenId from);
ScreenId resumed_at(ScreenId screen, ScreenId from);

}  // namespace app
