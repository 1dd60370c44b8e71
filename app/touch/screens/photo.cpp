// app/touch/screens/photo.cpp: one photo, with the skyline and the sun paths drawn over it.
#include <algorithm>
#include <cmath>

#include "app/drawing/shapes.h"
#include "app/touch/screens/screens.h"
#include "app/touch/session/photo_trace.h"
#include "app/touch/session/pictures.h"
#include "app/words/words.h"
#include "survey/book/text.h"

namespace app {
namespace {

// Directions into a pinhole picture that looks at azimuth and elevation with a roll.
struct Pinhole {
  double azimuth_deg, elevation_deg, roll_deg, focal;
  Point middle;
  std::optional<Point> at(double azimuth, double elevation) const {
    const double d = horizon::wrap_180(azimuth - azimuth_deg) * horizon::kDegree;
    const double e = elevation * horizon::kDegree, e0 = elevation_deg * horizon::kDegree;
    const double right = std::cos(e) * std::sin(d);
    const double up = std::sin(e) * std::cos(e0) - std::cos(e) * std::cos(d) * std::sin(e0);
    const double ahead = std::sin(e) * std::sin(e0) + std::cos(e) * std::cos(d) * std::cos(e0);
    if (ahead < 0.1) return {};
    const double x = right / ahead * focal, y = up / ahead * focal, r = roll_deg * horizon::kDegree;
    // The device rolled clockwise: the scene turns the other way in the picture.
    return Point{middle.x + float(x * std::cos(r) - y * std::sin(r)),
                 middle.y - float(x * std::sin(r) + y * std::cos(r))};
  }
};

void draw_line(Ui& ui, const Pinhole& eye, const std::vector<SkyPoint>& points,
               const Stroke& stroke) {
  Path path;
  const auto flush = [&] {
    if (path.points.size() > 1) ui.canvas().stroke(path, stroke);
    path.points.clear();
  };
  for (const auto& p : points) {
    if (const auto at = eye.at(p.azimuth_deg, p.elevation_deg))
      path.points.push_back(*at);
    else
      flush();
  }
  flush();
}

}  // namespace

void photo_screen(TouchApp& app, Rect area) {
  Session& session = app.session();
  Ui& ui = app.ui();
  const Theme& t = ui.theme();
  PhotoState& state = app.states().photo;
  auto photo = session.book().get<survey::Photo>(state.id);
  const Rect room = titled(app, area);
  if (!photo) return;
  if (state.loaded != state.id) {
    state.loaded = state.id;
    state.picture = {};
    if (auto bytes = session.book().photo_bytes(state.id))
      state.picture = decoded(*bytes, photo->orientation, 1600);
    else
      session.problem = in_words(bytes.error());
    state.note = photo->note;
    state.bearing.clear();
    state.bearing_open = false;
  }
  const bool no_bearing = !photo->bearing_deg || state.bearing_open;
  const float foot = ui.sp(24) + 74 + (no_bearing ? 62 : 0);
  const Rect frame{room.x, room.y, room.w, room.h - foot};
  ui.canvas().fill(rectangle(frame), {t.night});
  if (state.picture.width > 0) {
    const float scale =
        std::min(frame.w / float(state.picture.width), frame.h / float(state.picture.height));
    const float w = float(state.picture.width) * scale, h = float(state.picture.height) * scale;
    const Rect shown{frame.x + (frame.w - w) / 2, frame.y + (frame.h - h) / 2, w, h};
    ui.canvas().image(state.picture, shown);
    if (photo->bearing_deg && state.lines && !taken_elsewhere(session, *photo)) {
      const double view = photo->view_width_deg.value_or(60) * horizon::kDegree;
      const float longer = std::max(w, h);
      const Pinhole eye{*photo->bearing_deg,
                        photo->elevation_deg.value_or(0),
                        photo->roll_deg.value_or(0),
                        longer / 2 / std::tan(view / 2),
                        {shown.x + w / 2, shown.y + h / 2}};
      ui.clip(shown);
      ui.figure_begin(shown);
      std::vector<SkyPoint> line;
      for (double d = -90; d <= 90; d += 0.5) {
        const double az = horizon::wrap_360(*photo->bearing_deg + d);
        line.push_back({az, session.mask().elevation_deg(az)});
      }
      if (session.marks() > 0) {
        draw_line(ui, eye, line, {faded(t.night, 0.7f), 5});
        draw_line(ui, eye, line, {{255, 255, 255}, 2.5f});
      }
      if (session.live())
        for (const auto& path : session.live()->paths)
          draw_line(ui, eye, path.points, {t.amber, path.strong ? 3.f : 1.8f});
      ui.figure_end();
      ui.unclip();
    }
  } else {
    ui.words(frame, tr("touch.picture_cannot_shown"),
             ui.style(16, t.on_ink, Weight::regular, Align::center));
  }
  std::string words = clock_text(app, photo->time.utc_s);
  if (photo->bearing_deg)
    words += " · " + degrees(*photo->bearing_deg) + " " + compass_point(*photo->bearing_deg);
  words += " · " + std::to_string(photo->width_px) + " × " + std::to_string(photo->height_px);
  const float x = room.x + 16, width = room.w - 32, y = frame.bottom();
  ui.words({x, y + 2, width, ui.sp(24)}, words, ui.style(14, t.quiet));
  const float side = std::clamp(width * 0.28f, 92.f, 150.f), row = y + ui.sp(24) + 8;
  if (no_bearing) {
    state.bearing_open = true;
    const Rect line{x, row + 62, width, 56};
    const std::string label = tr("photo.bearing_photo_true_degrees");
    const bool typed = ui.text_field(label, line, state.bearing, false,
                                     example_words(tr("photo.bearing_its_middle_171")));
    const auto value = survey::number_of(state.bearing);
    const bool sound = value && *value >= 0 && *value <= 360;
    const std::string why = tr("touch.write_number_from", {number(0), number(360)});
    if (!sound && !state.bearing.empty()) ui.refuse(label, line, why, line.bottom());
    if (typed) {
      photo->bearing_deg.reset();
      if (sound)
        photo->bearing_deg = *value;
      else if (!state.bearing.empty())
        app.say(why);
      photo->reference = horizon::Reference::true_north;
      if (auto put = session.book().put(*photo); !put) session.problem = in_words(put.error());
    }
  }
  const float field = width - 2 * (side + 10);
  if (ui.text_field(tr("photo.note_photo"), {x, row, field, 56}, state.note, false,
                    tr("touch.note"))) {
    photo->note = state.note;
    if (auto put = session.book().put(*photo); !put) session.problem = in_words(put.error());
  }
  if (button_as(ui, tr("photo.lines"),
                state.lines ? tr("photo.hide_lines") : tr("photo.show_lines"),
                {x + field + 10, row, side, 56}))
    state.lines = !state.lines;
  if (button(ui, tr("photo.read_skyline"), {x + width - side, row, side, 56}, ButtonLook::main))
    app.go(ScreenId::trace);
}

}  // namespace app
