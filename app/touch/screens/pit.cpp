// app/touch/screens/pit.cpp: one soil pit and its layers: texture by feel or from the laboratory, the
// triangle, and all that is seen in the wall.
#include <algorithm>
#include <array>

#include "app/drawing/charts/ground_charts.h"
#include "app/touch/screens/ground_parts.h"
#include "app/touch/screens/guide.h"
#include "app/touch/screens/take_out.h"
#include "app/words/words.h"
#include "horizon/ground/texture.h"
#include "survey/book/text.h"

namespace app {
namespace {

constexpr double kDeepest_m = 10;

SoilFill fill_of(const std::string& texture) {
  if (texture.find("loam") != std::string::npos) return SoilFill::loam;
  if (texture.find("clay") != std::string::npos) return SoilFill::clay;
  if (texture.find("silt") != std::string::npos) return SoilFill::silt;
  if (texture.find("sand") != std::string::npos) return SoilFill::sand;
  return SoilFill::other;
}

void feel_guide(TouchApp& app, Column& rows) {
  GroundState& state = app.states().ground;
  if (state.feel.empty() && !state.feel_open) {
    if (rows.button(tr("pit.find_feel"), ButtonLook::plain)) state.feel_open = true;
    return;
  }
  const auto step = horizon::walk_feel_key(state.feel);
  if (!step) {
    state.feel.clear();
    return;
  }
  if (step->texture) {
    state.texture = int(*step->texture);
    state.feel_open = false;
    state.feel_found.clear();
    for (const int answer : state.feel)
      state.feel_found += (state.feel_found.empty() ? "" : " ") + std::to_string(answer);
    state.feel.clear();
    return;
  }
  const auto& question = horizon::feel_key()[std::size_t(step->question)];
  rows.strong(tr(question.text));
  rows.text(tr(question.how));
  for (int i = 0; i < int(question.answers.size()); ++i)
    if (rows.button(tr(question.answers[std::size_t(i)].text), ButtonLook::plain))
      state.feel.push_back(i);
}

struct Parts {
  std::optional<double> sand, silt, clay;
};

// Typed percentages of the laboratory; two are enough.
Parts laboratory(TouchApp& app, Column& rows) {
  GroundState& state = app.states().ground;
  Parts parts;
  const auto part = [&](const char* words, std::string& text, std::optional<double>& value) {
    (void)number_field(app, rows, tr(words), Measure::part_percent, 0, 100, text, value);
    if (!text.empty())
      if (const auto read = typed(Measure::part_percent, 0, 100, text, Units::metric))
        value = *read;
  };
  part("ground.sand", state.sand, parts.sand);
  part("ground.silt", state.silt, parts.silt);
  part("ground.clay", state.clay, parts.clay);
  const int known = parts.sand.has_value() + parts.silt.has_value() + parts.clay.has_value();
  if (known < 2) {
    rows.text(tr("ground.two_parts"));
    return parts;
  }
  const auto soil = horizon::fine_earth(parts.sand, parts.silt, parts.clay);
  if (!soil) {
    rows.caution(in_words(soil.error()));
    return parts;
  }
  state.texture = int(horizon::texture_of(*soil));
  rows.strong(
      tr("ground.class_is", {tr_of("texture", horizon::name_of(horizon::Texture(state.texture)))}));
  return parts;
}

void triangle(TouchApp& app, Column& rows, const Parts& parts,
              const std::vector<survey::SoilLayer>& layers) {
  const GroundState& state = app.states().ground;
  std::vector<TexturePoint> points;
  for (std::size_t i = 0; i < layers.size(); ++i)
    if (const auto found = layer_finding(layers[i]))
      points.push_back({found->soil.sand_percent, found->soil.silt_percent,
                        found->soil.clay_percent, std::to_string(i + 1)});
  if (state.texture >= 0) {
    auto soil = horizon::typical_of(horizon::Texture(state.texture));
    if (const auto typed_soil = horizon::fine_earth(parts.sand, parts.silt, parts.clay);
        state.laboratory && typed_soil)
      soil = *typed_soil;
    points.push_back({soil.sand_percent, soil.silt_percent, soil.clay_percent, "•"});
  }
  if (points.empty()) return;
  draw_texture_triangle(app.ui().figure({rows.x(), 0, rows.width(), 0}),
                        rows.row(std::min(rows.width() * 0.95f, 340.f)), points, chart_style(app));
}

// One of a few words of a list of app/words.
void word_choice(Column& rows, const char* label, const char* list,
                 std::span<const char* const> words, int& chosen) {
  std::vector<std::string> names;
  for (const char* word : words) names.push_back(tr_of(list, word));
  rows.choices(tr(label), names, chosen);
}
constexpr const char* kStructures[] = {"single grain", "crumb", "blocky", "platy", "massive"};
constexpr const char* kMoistures[] = {"dry", "moist", "wet"};
constexpr const char* kFirmness[] = {"loose", "friable", "firm", "very firm", "compacted"};
std::string word_of(std::span<const char* const> words, int chosen) {
  return chosen >= 0 && chosen < int(words.size()) ? words[std::size_t(chosen)] : "";
}

struct Typed {
  std::optional<double> bottom, stones, organic, ph;
};

std::optional<double> sound(const std::string& text, Measure measure, double low, double high,
                            Units units) {
  if (text.empty()) return {};
  const auto read = typed(measure, low, high, text, units);
  return read ? std::optional(*read) : std::nullopt;
}

void layer_form(TouchApp& app, Column& rows, const survey::SoilPit& pit, double below_m,
                const std::vector<survey::SoilLayer>& layers) {
  Session& session = app.session();
  GroundState& state = app.states().ground;
  const Units units = session.settings.units;
  rows.heading(tr("pit.next_layer_from", {depth(below_m, units)}));
  Typed given;
  const auto ask = [&](const char* words, Measure measure, double low, double high,
                       std::string& text, std::optional<double>& value) {
    (void)number_field(app, rows, tr(words), measure, low, high, text, value);
    value = sound(text, measure, low, high, units);
  };
  ask("ground.down_to", Measure::depth_m, 0, kDeepest_m, state.bottom, given.bottom);
  Parts parts;
  rows.tick(tr("ground.laboratory"), state.laboratory);
  if (state.laboratory) {
    parts = laboratory(app, rows);
  } else {
    std::vector<std::string> names;
    for (int i = 0; i < horizon::kTextureCount; ++i)
      names.push_back(tr_of("texture", horizon::name_of(horizon::Texture(i))));
    if (rows.choices(tr("pit.texture"), names, state.texture)) state.feel_found.clear();
    feel_guide(app, rows);
  }
  triangle(app, rows, parts, layers);
  ask("ground.stones", Measure::part_percent, 0, 100, state.stones, given.stones);
  rows.field(tr("ground.colour"), state.colour);
  rows.tick(tr("ground.more_open"), state.more);
  if (state.more) {
    word_choice(rows, "ground.structure", "structure", kStructures, state.structure);
    word_choice(rows, "ground.moisture", "moisture", kMoistures, state.moisture);
    word_choice(rows, "ground.firmness", "firmness", kFirmness, state.firmness);
    rows.field(tr("ground.roots"), state.roots, tr("ground.roots_hint"));
    rows.field(tr("ground.mottles"), state.mottles);
    ask("ground.organic", Measure::part_percent, 0, 60, state.organic, given.organic);
    ask("ground.ph", Measure::acidity, 2, 11, state.ph, given.ph);
  }
  if (!state.problem.empty()) rows.caution(state.problem);
  if (!rows.button(tr("pit.add_layer"), ButtonLook::main, given.bottom && state.texture >= 0))
    return;
  if (*given.bottom <= below_m) {
    state.problem = tr("pit.layer_must_end_deeper_than", {depth(below_m, units)});
    return;
  }
  survey::SoilLayer layer;
  layer.pit_id = pit.id;
  layer.top_m = below_m;
  layer.bottom_m = *given.bottom;
  layer.texture = horizon::name_of(horizon::Texture(state.texture));
  if (state.laboratory) {
    layer.sand_percent = parts.sand;
    layer.silt_percent = parts.silt;
    layer.clay_percent = parts.clay;
  } else {
    layer.feel = state.feel_found;
  }
  layer.coarse_percent = given.stones;
  layer.organic_percent = given.organic;
  layer.ph = given.ph;
  layer.colour = state.colour;
  layer.structure = word_of(kStructures, state.structure);
  layer.moisture = word_of(kMoistures, state.moisture);
  layer.consistence = word_of(kFirmness, state.firmness);
  layer.roots = state.roots;
  layer.mottles = state.mottles;
  survey::SoilPit deeper = pit;
  deeper.depth_m = std::max(pit.depth_m.value_or(0), *given.bottom);
  const auto put = session.book().change("add a soil layer", [&]() -> horizon::Result<void> {
    if (auto row = session.book().put(layer); !row) return tl::unexpected(row.error());
    if (auto row = session.book().put(deeper); !row) return tl::unexpected(row.error());
    return {};
  });
  if (!put) {
    state.problem = in_words(put.error());
    return;
  }
  session.saved();
  const std::string pit_id = state.pit_id;
  const bool more = state.more, lab = state.laboratory;
  auto findings = state.findings;
  state = {};
  state.pit_id = pit_id;
  state.more = more;
  state.laboratory = lab;
  app.ui().blur();
}

std::string notes_of(const survey::SoilLayer& layer) {
  std::string words;
  const auto add = [&](const std::string& more) {
    if (!more.empty()) add_listed(words, more);
  };
  add(layer.colour);
  add(tr_of("structure", layer.structure));
  add(tr_of("moisture", layer.moisture));
  add(tr_of("firmness", layer.consistence));
  add(layer.roots);
  add(layer.mottles);
  if (layer.coarse_percent) add(tr("report.stones", {number(*layer.coarse_percent)}));
  if (layer.ph) add("pH " + number(*layer.ph, 1));
  return words;
}

}  // namespace

void pit_screen(TouchApp& app, Rect area) {
  Session& session = app.session();
  GroundState& state = app.states().ground;
  Ui& ui = app.ui();
  const Units units = session.settings.units;
  if (state.pit_id.empty())  // after a restart
    if (const auto pits = session.book().all<survey::SoilPit>(); pits && !pits->empty())
      state.pit_id = pits->back().id;
  auto pit = session.book().get<survey::SoilPit>(state.pit_id);
  const Rect room = titled(app, area, pit ? pit->name : tr("pit.soil_pit"));
  if (!pit) return;
  auto layers = session.book().where<survey::SoilLayer>("pit_id", pit->id);
  if (!layers) return;
  std::sort(layers->begin(), layers->end(),
            [](const auto& a, const auto& b) { return a.top_m < b.top_m; });
  const double below = layers->empty() ? 0 : layers->back().bottom_m;
  const auto drawing = [&](Column& rows) {
    caution_once(app, rows, "ground.caution.dig");
    if (below > 0.9) caution_once(app, rows, "ground.caution.trench");
    if (layers->empty()) return act_row(app, rows, HowTo::pit);
    SoilProfileChart chart;
    for (const auto& layer : *layers)
      chart.layers.push_back({layer.top_m, layer.bottom_m, tr_of("texture", layer.texture),
                              notes_of(layer), fill_of(layer.texture)});
    chart.water_m = pit->water_m;
    chart.ended_on_rock = pit->rock_m.has_value();
    draw_soil_profile(ui.figure({rows.x(), 0, rows.width(), 0}),
                      rows.row(std::max(220.f, 70 * float(layers->size()))), chart,
                      chart_style(app));
    if (rows.button(tr("pit.remove_last_layer"), ButtonLook::warning))
      (void)take_out(app, layers->back(), tr_of("texture", layers->back().texture));
  };
  const auto facts_of_pit = [&](Column& rows) {
    in_card(ui, rows, "pit facts", [&](Column& c) {
      survey::SoilPit changed = *pit;
      bool any = c.field(tr("pit.name_pit"), changed.name);
      if (state.loaded_pit != pit->id) {
        state.loaded_pit = pit->id;
        state.water = pit->water_m ? typed_again(Measure::depth_m, *pit->water_m, units) : "";
        state.rock = pit->rock_m ? typed_again(Measure::depth_m, *pit->rock_m, units) : "";
        state.note = pit->note;
      }
      any |= number_field(app, c, tr("ground.water_at"), Measure::depth_m, 0, kDeepest_m,
                          state.water, changed.water_m);
      any |= number_field(app, c, tr("ground.rock_at"), Measure::depth_m, 0, kDeepest_m, state.rock,
                          changed.rock_m);
      if (c.notes(tr("touch.note"), state.note)) {
        changed.note = state.note;
        any = true;
      }
      if (any && !changed.name.empty()) say_if_failed(app, session.book().put(changed));
    });
    for (const auto& found : ground_of(app).pits)
      if (found.name == pit->name && !found.layers.empty())
        in_card(ui, rows, "pit found", [&](Column& c) { facts(c, pit_facts(found, units)); });
  };
  const auto form = [&](Column& rows) {
    in_card(ui, rows, "layer", [&](Column& c) { layer_form(app, c, *pit, below, *layers); });
  };
  if (area.w > 760) {
    const float half = room.w / 2;
    scrolling(app, "Pit left", {room.x, room.y, half, room.h}, [&](Column& rows) {
      drawing(rows);
      facts_of_pit(rows);
    });
    scrolling(app, "Pit right", {room.x + half, room.y, half, room.h}, form);
  } else {
    scrolling(app, "Pit rows", room, [&](Column& rows) {
      drawing(rows);
      form(rows);
      facts_of_pit(rows);
    });
  }
}

}  // namespace app
