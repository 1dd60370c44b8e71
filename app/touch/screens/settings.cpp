// app/touch/screens/settings.cpp: how the app looks and speaks.
#include <algorithm>
#include <array>
#include <cmath>

#include "app/touch/screens/screens.h"
#include "app/words/words.h"

namespace app {

void settings_screen(TouchApp& app, Rect area) {
  Session& session = app.session();
  Settings& s = session.settings;
  const Rect room = titled(app, area);
  scrolling(app, "Settings rows", room, [&](Column& rows) {
    bool changed = false;
    int theme = int(s.theme);
    const std::array<std::string, 3> themes{tr("settings.sun"), tr("settings.daylight"),
                                            tr("settings.dusk")};
    changed |= rows.choices(tr("settings.colours"), themes, theme);
    s.theme = ThemeChoice(theme);
    constexpr std::array<float, 4> kSizes{0.9f, 1.f, 1.2f, 1.4f};
    const std::array<std::string, 4> sizes{tr("settings.small"), tr("settings.normal"),
                                           tr("settings.large"), tr("settings.very_large")};
    int size = 1;
    for (int i = 0; i < 4; ++i)
      if (std::fabs(kSizes[std::size_t(i)] - s.text_scale) < 0.05f) size = i;
    if (rows.choices(tr("settings.size_words"), sizes, size)) {
      s.text_scale = kSizes[std::size_t(size)];
      changed = true;
    }
    int hand = s.left_handed ? 1 : 0;
    const std::array<std::string, 2> hands{tr("settings.right_hand"), tr("settings.left_hand")};
    changed |= rows.choices(tr("settings.held"), hands, hand);
    s.left_handed = hand == 1;
    int gloves = s.gloves ? 1 : 0;
    const std::array<std::string, 2> wear{tr("settings.bare_hands"), tr("settings.gloves")};
    changed |= rows.choices(tr("settings.large_areas_skyline_stop_gloves"), wear, gloves);
    s.gloves = gloves == 1;
    if (session.devices().feedback->speaks()) {
      int speak = s.speak ? 1 : 0;
      const std::array<std::string, 2> aloud{tr("speak.silent"), tr("speak.aloud")};
      changed |= rows.choices(tr("speak.title"), aloud, speak);
      s.speak = speak == 1;
    }
    int units = int(s.units);
    const std::array<std::string, 2> names{tr("settings.metric"), tr("settings.feet_miles")};
    changed |= rows.choices(tr("settings.units"), names, units);
    s.units = Units(units);
    const auto codes = languages();
    std::vector<std::string> tongues;
    int tongue = 0;
    for (const auto& code : codes) {
      if (code == s.language) tongue = int(tongues.size());
      tongues.push_back(language_name(code));
    }
    if (rows.choices(tr("settings.language"), tongues, tongue)) {
      s.language = codes[std::size_t(tongue)];
      set_language(s.language);
      changed = true;
    }
    if (machine_made(s.language)) {
      const auto all = word_keys("en").size(), known = word_keys(s.language).size();
      rows.caution(tr("settings.machine", {percent(double(known) / double(all))}));
    }
    rows.text(tr("settings.sites_kept", {session.devices().files->sites_folder()}));
    if (changed) session.save_settings();
  });
}

}  // namespace app
