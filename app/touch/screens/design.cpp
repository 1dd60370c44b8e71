// app/touch/screens/design.cpp: what the building is to be, as far as it is known: the glazing, which way
// and how steep, the crops; the declination if it is known better than by the model; hourly weather.
#include <algorithm>
#include <cmath>

#include "app/touch/screens/screens.h"
#include "app/words/words.h"
#include "horizon/light/growing_light.h"
#include "survey/assess/climate_rows.h"
#include "survey/assess/station_input.h"
#include "survey/book/text.h"

namespace app {
namespace {

struct GlazingName {
  const char *key, *words;
};
constexpr GlazingName kGlazingNames[] = {
    {"single_glass", "design.single_glass"},
    {"double_glass", "design.double_glass"},
    {"twin_wall_polycarbonate", "design.twin_wall_sheet"},
    {"triple_wall_polycarbonate", "design.triple_wall_sheet"},
};

// A number in a field, kept as it is typed; `value` follows where it can be read within the range
// and is none where it cannot.
bool number_field(Column& rows, const std::string& label, std::string& text,
                  std::optional<double>& value, double from, double to) {
  const bool changed = rows.field(label, text);
  const auto read = survey::number_of(text);
  const bool sound = read && *read >= from && *read <= to;
  if (!sound && !text.empty())
    rows.refused(tr("touch.write_number_from", {number(from), number(to)}));
  if (!changed) return false;
  value.reset();
  if (sound) value = *read;
  return true;
}

std::string shown(const std::optional<double>& value, int decimals) {
  return value ? number(*value, decimals) : std::string();
}

void load(TouchApp& app, const survey::DesignChoices& choices) {
  DesignState& s = app.states().design;
  const survey::Site& site = app.session().site();
  if (s.loaded_for == site.id) return;
  s = {};
  s.loaded_for = site.id;
  s.facing = shown(choices.facing_true_deg, 1);
  s.tilt = shown(choices.tilt_deg, 1);
  s.dirt = number(choices.frames_and_dirt * 100);
  s.declination = shown(site.declination_deg, 2);
  s.declination_sigma = shown(site.declination_sigma_deg, 2);
  s.declination_source = site.declination_source;
}

void building(TouchApp& app, Column& rows, survey::DesignChoices& choices, bool& changed) {
  DesignState& s = app.states().design;
  rows.heading(tr("design.glazing"));
  std::vector<std::string> names;
  int chosen = -1;
  // What is reckoned with where nothing was chosen is shown as chosen.
  const horizon::Glazing reckoned =
      survey::glazing_of(choices.glazing).value_or(horizon::StationInput().glazing);
  for (const auto& glazing : kGlazingNames) {
    const auto known = survey::glazing_of(glazing.key);
    if (!known) continue;
    if (known->name == reckoned.name) chosen = int(names.size());
    names.push_back(tr(glazing.words));
  }
  if (rows.choices({}, names, chosen)) {
    int i = 0;
    for (const auto& glazing : kGlazingNames)
      if (survey::glazing_of(glazing.key) && i++ == chosen) choices.glazing = glazing.key;
    changed = true;
  }
  std::optional<double> dirt = choices.frames_and_dirt * 100;
  if (number_field(rows, tr("design.light_left_frames_dirt"), s.dirt, dirt, 30, 100)) {
    choices.frames_and_dirt = dirt ? *dirt / 100 : survey::DesignChoices{}.frames_and_dirt;
    changed = true;
  }
  changed |= number_field(rows, tr("design.facing_true_degrees"), s.facing, choices.facing_true_deg,
                          0, 360);
  changed |=
      number_field(rows, tr("design.tilt_from_level_degrees"), s.tilt, choices.tilt_deg, 0, 90);
  rows.text(tr("design.leave_both_empty_have_best"));
}

void crops(Column& rows, survey::DesignChoices& choices, bool& changed) {
  rows.heading(tr("design.crops"));
  rows.text(tr("design.light_each_needs_inside_mol"));
  for (const auto& need : horizon::default_crop_needs()) {
    const auto kept = std::find_if(choices.crop_needs.begin(), choices.crop_needs.end(),
                                   [&](const auto& f) { return f.key == need.crop; });
    bool wanted = kept != choices.crop_needs.end();
    if (!rows.tick(tr_of("crop", need.crop) + ", " + number(need.mol_m2_day), wanted)) continue;
    if (wanted)
      choices.crop_needs.push_back({need.crop, std::to_string(int(std::lround(need.mol_m2_day)))});
    else
      choices.crop_needs.erase(kept);
    changed = true;
  }
}

void declination(TouchApp& app, Column& rows) {
  Session& session = app.session();
  DesignState& s = app.states().design;
  survey::Site site = session.site();
  rows.heading(tr("design.declination"));
  rows.text(tr("design.worked_out_model_earth_field"));
  bool changed = number_field(rows, tr("design.declination_degrees_east_positive"), s.declination,
                              site.declination_deg, -180, 180);
  if (site.declination_deg) {
    changed |= number_field(rows, tr("design.good_degrees"), s.declination_sigma,
                            site.declination_sigma_deg, 0, 20);
    if (rows.field(tr("design.where_from"), s.declination_source)) {
      site.declination_source = s.declination_source;
      changed = true;
    }
  }
  if (changed)
    if (auto put = session.put_site(site); !put) session.problem = in_words(put.error());
}

void weather(TouchApp& app, Column& rows) {
  Session& session = app.session();
  rows.heading(tr("ground.months"));
  if (const auto all = session.book().all<survey::ClimateNormals>())
    rows.text(tr(sky_of(all->empty() ? survey::ClimateNormals() : all->front())));
  if (rows.button(tr("ground.months_open"), ButtonLook::plain)) {
    app.states().ground.topic = survey::Topic::frost;
    app.go(ScreenId::climate);
  }
  rows.heading(tr("design.hourly_weather"));
  while (auto file = session.devices().files->picked())
    if (session.bring_weather(*file)) app.say(tr("touch.brought_in", {file->name}));
  const std::string path = session.weather_path();
  rows.text(path.empty() ? tr("design.year_hourly_weather_region_epw")
                         : tr("design.use", {path.substr(path.rfind('/') + 1)}));
  if (rows.button(tr("design.bring_weather_file"), ButtonLook::plain, true, Icon::folder) &&
      !session.devices().files->pick("epw,csv"))
    app.bring_from_folder();
}

}  // namespace

void design_screen(TouchApp& app, Rect area) {
  Session& session = app.session();
  const Rect room = titled(app, area);
  auto choices = session.book().design();
  if (!choices) return;
  load(app, *choices);
  scrolling(app, "Design rows", room, [&](Column& rows) {
    bool changed = false;
    in_card(app.ui(), rows, "building", [&](Column& c) { building(app, c, *choices, changed); });
    in_card(app.ui(), rows, "crops", [&](Column& c) { crops(c, *choices, changed); });
    in_card(app.ui(), rows, "weather", [&](Column& c) { weather(app, c); });
    in_card(app.ui(), rows, "declination", [&](Column& c) { declination(app, c); });
    if (!changed) return;
    if (auto put = session.book().put(*choices); !put) session.problem = in_words(put.error());
    session.changed();
  });
}

}  // namespace app
