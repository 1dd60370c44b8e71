// app/screens/pit.cpp: one soil pit and its layers, with a guide to the texture by feel.
#include <algorithm>
#include <array>

#include "app/charts/ground_charts.h"
#include "app/lang/words.h"
#include "app/screens/screens.h"
#include "horizon/ground/texture.h"
#include "survey/text.h"

namespace app {
namespace {

SoilFill fill_of(const std::string& texture) {
  if (texture.find("clay") != std::string::npos) return SoilFill::clay;
  if (texture.find("loam") != std::string::npos) return SoilFill::loam;
  if (texture.find("silt") != std::string::npos) return SoilFill::silt;
  if (texture.find("sand") != std::string::npos) return SoilFill::sand;
  return SoilFill::other;
}

// Centimetres as typed; nothing for an empty or wrong field.
std::optional<double> metres(const std::string& centimetres) {
  const auto value = survey::number_of(centimetres);
  if (!value || *value < 0 || *value > 1000) return {};
  return *value / 100;
}

void feel_guide(TouchApp& app, Column& rows) {
  GroundState& state = app.states().ground;
  if (state.feel.empty() && !state.feel_open) {
    if (rows.button(tr("Find it by feel"), ButtonLook::plain)) state.feel_open = true;
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

void layer_form(TouchApp& app, Column& rows, const survey::SoilPit& pit, double below_m) {
  Session& session = app.session();
  GroundState& state = app.states().ground;
  rows.heading(tr("Next layer, from {0}", {depth(below_m, session.settings.units)}));
  rows.field(tr("Down to, cm"), state.bottom, "30");
  std::vector<std::string> names;
  for (int i = 0; i < horizon::kTextureCount; ++i)
    names.push_back(tr(horizon::name_of(horizon::Texture(i))));
  rows.choices(tr("Texture"), names, state.texture);
  feel_guide(app, rows);
  rows.field(tr("Stones, % of the volume"), state.stones, "10");
  rows.field(tr("Colour"), state.colour, tr("dark brown, 10YR 3/2"));
  if (!state.problem.empty()) rows.caution(state.problem);
  if (!rows.button(tr("Add the layer"), ButtonLook::main, !state.bottom.empty() && state.texture >= 0)) return;
  const auto bottom = metres(state.bottom);
  const auto stones = survey::number_of(state.stones);
  if (!bottom || *bottom <= below_m) {
    state.problem = tr("The layer must end deeper than {0}.", {depth(below_m, session.settings.units)});
    return;
  }
  if (!state.stones.empty() && (!stones || *stones < 0 || *stones > 100)) {
    state.problem = tr("Stones are 0 to 100 %.");
    return;
  }
  survey::SoilLayer layer;
  layer.pit_id = pit.id;
  layer.top_m = below_m;
  layer.bottom_m = *bottom;
  layer.texture = horizon::name_of(horizon::Texture(state.texture));
  layer.coarse_percent = stones;
  layer.colour = state.colour;
  if (auto put = session.book().put(layer); !put) {
    state.problem = in_words(put.error());
    return;
  }
  session.saved();
  if (!pit.depth_m || *pit.depth_m < *bottom) {
    survey::SoilPit deeper = pit;
    deeper.depth_m = *bottom;
    (void)session.book().put(deeper);
  }
  const std::string pit_id = state.pit_id;
  state = {};
  state.pit_id = pit_id;
  app.ui().blur();
}

}  // namespace

void pit_screen(TouchApp& app, Rect area) {
  Session& session = app.session();
  GroundState& state = app.states().ground;
  Ui& ui = app.ui();
  auto pit = session.book().get<survey::SoilPit>(state.pit_id);
  const Rect room = titled(app, area, pit ? pit->name : tr("Soil pit"), ScreenId::ground);
  if (!pit) return;
  auto layers = session.book().where<survey::SoilLayer>("pit_id", pit->id);
  if (!layers) return;
  std::sort(layers->begin(), layers->end(),
            [](const auto& a, const auto& b) { return a.top_m < b.top_m; });
  const double below = layers->empty() ? 0 : layers->back().bottom_m;
  const auto drawing = [&](Column& rows) {
    if (layers->empty()) return;
    SoilProfileChart chart;
    for (const auto& layer : *layers) {
      SoilLayer each{layer.top_m, layer.bottom_m, tr(layer.texture), layer.colour, fill_of(layer.texture)};
      if (layer.coarse_percent) each.notes += (each.notes.empty() ? "" : ", ") + tr("stones {0} %", {number(*layer.coarse_percent)});
      chart.layers.push_back(each);
    }
    chart.water_m = pit->water_m;
    chart.ended_on_rock = pit->rock_m.has_value();
    draw_soil_profile(ui.canvas(), rows.row(std::max(220.f, 70 * float(layers->size()))), chart, chart_style(app));
    if (rows.button(tr("Remove the last layer"), ButtonLook::warning))
      if (auto gone = session.book().remove<survey::SoilLayer>(layers->back().id); !gone)
        session.problem = in_words(gone.error());
  };
  const auto facts = [&](Column& rows) {
    in_card(ui, rows, "pit facts", [&](Column& c) {
      survey::SoilPit changed = *pit;
      bool any = c.field(tr("Name of the pit"), changed.name);
      if (state.loaded_pit != pit->id) {
        state.loaded_pit = pit->id;
        state.water = pit->water_m ? number(*pit->water_m * 100) : "";
        state.rock = pit->rock_m ? number(*pit->rock_m * 100) : "";
        state.note = pit->note;
      }
      if (c.field(tr("Water stands at, cm below ground"), state.water, tr("empty: none seen"))) {
        changed.water_m = metres(state.water);
        any = true;
      }
      if (c.field(tr("Rock at, cm"), state.rock, tr("empty: not reached"))) {
        changed.rock_m = metres(state.rock);
        any = true;
      }
      if (c.notes(tr("Note"), state.note)) {
        changed.note = state.note;
        any = true;
      }
      if (any && !changed.name.empty())
        if (auto put = session.book().put(changed); !put) session.problem = in_words(put.error());
    });
  };
  const auto form = [&](Column& rows) {
    in_card(ui, rows, "layer", [&](Column& c) { layer_form(app, c, *pit, below); });
    rows.caution(tr("What the ground may carry and how deep frost goes is for the local code and a "
                    "licensed engineer to say."));
  };
  if (area.w > 760) {
    const float half = room.w / 2;
    scrolling(app, "Pit left", {room.x, room.y, half, room.h}, [&](Column& rows) {
      drawing(rows);
      facts(rows);
    });
    scrolling(app, "Pit right", {room.x + half, room.y, half, room.h}, form);
  } else {
    scrolling(app, "Pit rows", room, [&](Column& rows) {
      drawing(rows);
      form(rows);
      facts(rows);
    });
  }
}

}  // namespace app
