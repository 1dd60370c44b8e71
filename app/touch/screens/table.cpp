#include "app/touch/screens/table.h"

#include <algorithm>

namespace app {
namespace {

constexpr Screen kScreens[] = {
#define ADRET_SCREEN_RECORD(name, title, under, resumed, wanted) \
  {ScreenId::name, #name, title, ScreenId::under, resumed, wanted, name##_screen},
    ADRET_SCREENS(ADRET_SCREEN_RECORD)};

}  // namespace

std::span<const Screen> screens() { return kScreens; }

const Screen& record_of(ScreenId screen) { return kScreens[std::size_t(screen)]; }

std::optional<ScreenId> screen_named(std::string_view name) {
  const auto* found = std::ranges::find(kScreens, name, &Screen::name);
  if (found == std::end(kScreens)) return {};
  return found->id;
}

std::string_view name_of(ScreenId screen) { return record_of(screen).name; }

bool is_stop(ScreenId screen) {
  return record_of(screen).under == ScreenId::sites && !record_of(screen).is(wants::alone);
}

ScreenId under(ScreenId screen, ScreenId from) {
  const ScreenId below = record_of(screen).under;
  return below == ScreenId::kFrom ? from : below;
}

ScreenId stop_of(ScreenId screen, ScreenId from) {
  if (is_stop(screen) || record_of(screen).is(wants::alone)) return screen;
  return record_of(screen).under == ScreenId::kFrom ? from : stop_of(under(screen, from), from);
}

ScreenId resumed_at(ScreenId screen, ScreenId from) {
  if (record_of(screen).resumed) return screen;
  return record_of(screen).under == ScreenId::kFrom ? from : resumed_at(under(screen, from), from);
}

}  // namespace app
