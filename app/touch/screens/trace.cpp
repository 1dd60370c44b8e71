// app/touch/screens/trace.cpp: the skyline read out of a photo: the line found, pulled right by the
// finger, told apart by kinds, oriented by marks, and kept as sightings.
#include <algorithm>
#include <array>
#include <cmath>

#include "app/drawing/shapes.h"
#include "app/touch/screens/screens.h"
#include "app/touch/session/photo_trace.h"
#include "app/touch/session/pictures.h"
#include "app/words/words.h"

namespace app {
namespace {

constexpr double kDrawnStep = 0.03, kDrawnLeast = 0.1;  // of the picture's width

enum Step : int { kLine, kKinds, kMarks };

struct Shown {
  Rect rect;
  float scale = 1;  // dp a pixel
  Point at(horizon::Pixel p) const {
    return {rect.x + float(p.x) * scale, rect.y + float(p.y) * scale};
  }
  horizon::Pixel pixel(Point p) const {
    return {std::clamp(double((p.x - rect.x) / scale), 0.0, double(rect.w / scale) - 1),
            std::clamp(double((p.y - rect.y) / scale), 0.0, double(rect.h / scale) - 1)};
  }
};

void draw_line(Ui& ui, const PhotoTrace& trace, const Shown& shown) {
  const Theme& t = ui.theme();
  const auto& points = trace.line->points;
  const auto pen = [&](std::size_t from, std::size_t to) {
    Path path;
    for (std::size_t i = from; i <= to; ++i)
      path.points.push_back(shown.at({points[i].x_px, points[i].y_px}));
    const Color color = paint_of(trace.kinds[from], t).color;
    if (points[from].sure) {
      ui.canvas().stroke(path, {faded(t.night, 0.8f), 6});
      ui.canvas().stroke(path, {{255, 255, 255}, 3.5f});
      ui.canvas().stroke(path, {color, 2});
    } else {
      ui.canvas().stroke(path, {faded(t.night, 0.8f), 4});
      ui.canvas().stroke(path, {{255, 255, 255}, 2, {3, 5}});
    }
  };
  std::size_t from = 0;
  for (std::size_t i = 1; i < points.size(); ++i) {
    const bool end = points[i].sure != points[from].sure || trace.kinds[i] != trace.kinds[from];
    if (end || i + 1 == points.size()) {
      pen(from, i);
      from = i;
    }
  }
  for (const auto& pull : trace.pulls) {
    ui.canvas().fill(circle(shown.at(pull), 6), {t.amber});
    ui.canvas().stroke(circle(shown.at(pull), 6), {t.night, 2});
  }
}

// Other lines that the picture allows: a touch on one chooses it.
void draw_rivals(Ui& ui, const PhotoTrace& trace, const Shown& shown) {
  const Theme& t = ui.theme();
  for (const auto& rival : trace.line->rivals) {
    Path path;
    for (const auto& p : rival.points) path.points.push_back(shown.at(p));
    ui.canvas().stroke(path, {faded(t.night, 0.8f), 5});
    ui.canvas().stroke(path, {t.amber, 2.5f, {10, 5}});
  }
}

// The rival under the finger, where it is nearer than the line itself.
const horizon::RivalLine* rival_at(const PhotoTrace& trace, horizon::Pixel spot, double reach_px) {
  if (!trace.line) return nullptr;
  const auto off = [&](double x, double y) {
    return std::fabs(x - spot.x) < reach_px ? std::fabs(y - spot.y) : 1e9;
  };
  double nearest = reach_px;
  for (const auto& p : trace.line->points) nearest = std::min(nearest, off(p.x_px, p.y_px));
  const horizon::RivalLine* found = nullptr;
  for (const auto& rival : trace.line->rivals)
    for (const auto& p : rival.points)
      if (off(p.x, p.y) < nearest) {
        nearest = off(p.x, p.y);
        found = &rival;
      }
  return found;
}

// A finger that went along the line: spots on its way, close enough that the line between them is
// sure. Those set before on that stretch give way.
void draw_along(PhotoTrace& trace, const std::vector<horizon::Pixel>& way) {
  const auto [low, high] = std::minmax_element(
      way.begin(), way.end(), [](const auto& a, const auto& b) { return a.x < b.x; });
  const double from = low->x, to = high->x, step = kDrawnStep * trace.width;
  std::erase_if(trace.pulls, [&](const auto& p) { return p.x >= from && p.x <= to; });
  double last = -1e9;
  std::vector<horizon::Pixel> sorted = way;
  std::stable_sort(sorted.begin(), sorted.end(),
                   [](const auto& a, const auto& b) { return a.x < b.x; });
  for (const auto& p : sorted) {
    if (p.x - last < step) continue;
    trace.pulls.push_back(p);
    last = p.x;
  }
}

// Where the marks should be by the camera, and where they were put.
void draw_marks(TouchApp& app, const PhotoTrace& trace, const Shown& shown) {
  Ui& ui = app.ui();
  const Theme& t = ui.theme();
  if (trace.orientation || trace.pose_known)
    if (const auto* skyline = app.session().skyline())
      for (const auto& p : skyline->skyline().points) {
        const auto at = horizon::pixel_of(camera_of(trace), {p.azimuth, p.elevation});
        if (!at || at->x < 0 || at->y < 0 || at->x >= trace.width || at->y >= trace.height)
          continue;
        ui.canvas().stroke(circle(shown.at(*at), 6), {t.night, 4});
        ui.canvas().stroke(circle(shown.at(*at), 6), {t.amber, 2});
      }
  for (std::size_t i = 0; i < trace.marks.size(); ++i) {
    const Point at = shown.at(trace.marks[i].at.pixel);
    ui.canvas().fill(circle(at, 11), {t.amber});
    ui.canvas().stroke(circle(at, 11), {t.night, 2});
    ui.words({at.x - 11, at.y - 11, 22, 22}, std::to_string(i + 1),
             {14, kDaylight.ink, Weight::semibold, Align::center});
  }
}

// What lies under the finger, enlarged beside it.
void loupe(Ui& ui, const Image& picture, const Shown& shown, Point finger) {
  const float size = std::min(120.f, shown.rect.w * 0.3f), zoom = 2.5f;
  const bool left = finger.x > shown.rect.x + shown.rect.w / 2;
  const Rect glass{left ? shown.rect.x + 8 : shown.rect.right() - size - 8, shown.rect.y + 8, size,
                   size};
  ui.clip(glass);
  ui.canvas().image(picture, {glass.x + size / 2 - (finger.x - shown.rect.x) * zoom,
                              glass.y + size / 2 - (finger.y - shown.rect.y) * zoom,
                              shown.rect.w * zoom, shown.rect.h * zoom});
  const Point c{glass.x + size / 2, glass.y + size / 2};
  ui.canvas().stroke(line({c.x - 14, c.y}, {c.x + 14, c.y}), {ui.theme().amber, 2});
  ui.canvas().stroke(line({c.x, c.y - 14}, {c.x, c.y + 14}), {ui.theme().amber, 2});
  ui.unclip();
  ui.canvas().stroke(rectangle(glass), {{255, 255, 255}, 2});
}

void picture(TouchApp& app, Rect frame, PhotoTrace& trace) {
  Ui& ui = app.ui();
  const Theme& t = ui.theme();
  TraceState& state = app.states().trace;
  ui.canvas().fill(rectangle(frame), {t.night});
  const Image& image = *state.picture;
  Shown shown;
  shown.scale = std::min(frame.w / float(image.width), frame.h / float(image.height));
  const float w = float(image.width) * shown.scale, h = float(image.height) * shown.scale;
  shown.rect = {frame.x + (frame.w - w) / 2, frame.y + (frame.h - h) / 2, w, h};
  ui.canvas().image(image, shown.rect);
  ui.clip(shown.rect);
  ui.figure_begin(shown.rect);
  if (trace.line && state.step == kLine && !trace.looking) draw_rivals(ui, trace, shown);
  if (trace.line && !trace.kinds.empty()) draw_line(ui, trace, shown);
  if (state.step == kMarks) draw_marks(app, trace, shown);
  ui.figure_end();
  ui.unclip();
  ui.figure_begin(shown.rect);  // what the finger does to it
  const Gesture g = ui.gesture(tr("trace.photo"), shown.rect);
  const horizon::Pixel at = shown.pixel(g.at);
  if (g.begun) {
    state.from_px = at.x;
    state.way.clear();
  }
  if (g.active) state.way.push_back(at);
  switch (state.step) {
    case kLine:
      if (g.active) loupe(ui, image, shown, g.at);
      if (g.released && !trace.looking) {
        const auto* rival = rival_at(trace, at, 24 / shown.scale);
        if (std::fabs(at.x - state.from_px) > kDrawnLeast * trace.width && !state.way.empty())
          draw_along(trace, state.way);
        else
          trace.pulls.push_back(rival ? rival->pull() : at);
        look_for_line(*app.session().devices().worker, app.states().trace.traces[trace.photo],
                      state.picture);
      }
      break;
    case kKinds:
      if (g.active || g.released) paint_kind(trace, state.from_px, at.x, horizon::Kind(state.kind));
      break;
    case kMarks:
      if (g.active) loupe(ui, image, shown, g.at);
      if (g.released) {
        const auto spot = on_the_line(trace, at);
        state.spot = Point{float(spot.x), float(spot.y)};
        ui.scroll_to_top("Trace rows");
      }
      if (state.spot) {
        const Point p = shown.at({state.spot->x, state.spot->y});
        ui.canvas().stroke(circle(p, 12), {t.night, 4});
        ui.canvas().stroke(circle(p, 12), {{255, 255, 255}, 2});
      }
      break;
  }
  ui.figure_end();
  if (g.released) ui.request_frame();
}

void line_rows(TouchApp& app, Column& rows, PhotoTrace& trace) {
  if (trace.looking) return rows.strong(tr("trace.looking_line_between_sky_ground"));
  if (!trace.problem.empty()) return rows.caution(trace.problem);
  if (!trace.line) return;
  if (trace.line->unsure) {
    rows.caution(tr("trace.not_sure_where_ground_ends", {percent(trace.line->sure_fraction)}));
    rows.text(tr(trace.line->why));
  } else {
    rows.fact(tr("trace.clear_line"), tr("trace.width", {percent(trace.line->sure_fraction)}));
    rows.text(tr("trace.dashed_parts_not_sure_stay"));
  }
  if (!trace.line->rivals.empty()) rows.text(tr("trace.another_line_may_right_one"));
  rows.text(tr("trace.wrong_somewhere_put_finger_where"));
  if (!trace.pulls.empty() &&
      rows.button(tr("trace.take_last_pull_back"), ButtonLook::plain, true, Icon::undo)) {
    trace.pulls.pop_back();
    look_for_line(*app.session().devices().worker, app.states().trace.traces[trace.photo],
                  app.states().trace.picture);
  }
}

void kind_rows(TouchApp& app, Column& rows) {
  rows.text(tr("trace.choose_what_then_sweep_finger"));
  std::vector<std::string> names;
  for (int i = 0; i < horizon::kKindCount; ++i) names.push_back(kind_label(horizon::Kind(i)));
  (void)rows.choices({}, names, app.states().trace.kind);
}

void solved_rows(Column& rows, const PhotoTrace& trace) {
  const auto& o = *trace.orientation;
  const auto sigma = [&](std::size_t i) { return std::sqrt(std::max(0.0, o.covariance(i, i))); };
  rows.fact(tr("trace.looks_true"),
            degrees(o.camera.bearing.degrees(), 1) + " ± " + number(sigma(0), 2) + "°");
  rows.fact(tr("trace.tilt"),
            degrees(o.camera.tilt.degrees(), 1) + " ± " + number(sigma(1), 2) + "°");
  rows.fact(tr("trace.leans_right"),
            degrees(o.camera.roll_deg, 1) + " ± " + number(sigma(2), 2) + "°");
  rows.fact(tr("trace.focal_length"),
            sigma(3) > 0
                ? tr("trace.of_the_width", {number(o.camera.focal_px / o.camera.width_px, 3),
                                            number(sigma(3) / o.camera.width_px, 3)})
                : tr("trace.taken_from_its_neighbours"));
  rows.fact(tr("trace.width_view"), degrees(o.camera.horizontal_view_deg(), 1));
}

void mark_rows(TouchApp& app, Column& rows, PhotoTrace& trace) {
  TraceState& state = app.states().trace;
  if (state.spot) {
    rows.heading(tr("trace.what_you_touched"));
    const auto all = what_it_may_be(app.session(), trace, {state.spot->x, state.spot->y});
    if (all.empty()) rows.text(tr("trace.nothing_choose_from_aim_two"));
    for (std::size_t i = 0; i < std::min<std::size_t>(all.size(), 8); ++i)
      if (rows.button(all[i].name, i == 0 ? ButtonLook::strong : ButtonLook::plain)) {
        trace.marks.push_back(all[i]);
        orient(trace);
        state.spot.reset();
        return;
      }
    if (rows.button(tr("trace.none_these"), ButtonLook::quiet)) state.spot.reset();
    return;
  }
  if (trace.marks.empty() && !trace.orientation)
    rows.text(tr("trace.touch_something_picture_you_have"));
  else if (trace.marks.size() == 1)
    rows.text(tr("trace.one_more_far_from_first"));
  if (!trace.orientation_problem.empty()) rows.caution(trace.orientation_problem);
  if (trace.orientation) solved_rows(rows, trace);
  for (std::size_t i = 0; i < trace.marks.size(); ++i) {
    std::string off;
    if (trace.orientation && i < trace.orientation->residual_deg.size() &&
        trace.orientation->degrees_of_freedom > 0)
      off = tr("trace.off", {number(trace.orientation->residual_deg[i], 2)});
    rows.fact(std::to_string(i + 1) + "  " + trace.marks[i].name, off);
  }
  if (!trace.marks.empty() &&
      rows.button(tr("trace.take_last_mark_back"), ButtonLook::plain, true, Icon::undo)) {
    trace.marks.pop_back();
    orient(trace);
  }
  if (!state.said.empty()) rows.strong(state.said);
  const auto of_here =
      std::count_if(state.traces.begin(), state.traces.end(),
                    [&](const auto& each) { return each.second->station == trace.station; });
  if (of_here > 1 && rows.button(tr("trace.join_other_photos"))) {
    if (const auto ring = join_ring(state.traces, trace.station)) {
      state.said = ring->closed ? tr_count("trace.photos_make_full_turn_closes", ring->photos,
                                           {number(std::fabs(ring->misclosure_deg), 2)})
                                : tr_count("trace.photos_joined_they_do_not", ring->photos);
    } else {
      state.said = in_words(ring.error());
    }
  }
}

void keep(TouchApp& app, PhotoTrace& trace) {
  const auto kept = keep_trace(app.session(), trace);
  if (!kept) return app.say(in_words(kept.error()));
  app.session().saved();
  app.say_once_kept(tr_count("trace.kept_points_skyline_read_from", *kept));
}

}  // namespace

void trace_screen(TouchApp& app, Rect area) {
  Session& session = app.session();
  Ui& ui = app.ui();
  TraceState& state = app.states().trace;
  const Rect room = titled(app, area);
  const std::string& id = app.states().photo.id;
  auto photo = session.book().get<survey::Photo>(id);
  if (photo && taken_elsewhere(session, *photo))
    return scrolling(app, "Trace rows", room, [&](Column& rows) {
      const auto at = session.book().get<survey::Station>(photo->station_id);
      const std::string name = at ? at->name : std::string();
      rows.text(tr("trace.photo_was_taken_station", {name}));
      if (rows.button(tr("trace.go_station", {name}), ButtonLook::main, at.has_value()))
        session.select_station(photo->station_id);
    });
  if (state.id != id || !state.picture) {
    auto bytes = session.book().photo_bytes(id);
    if (!photo || !bytes) return;
    state.picture = std::make_shared<Image>(decoded(*bytes, photo->orientation, 1600));
    state.id = id;
    state.spot.reset();
    state.step = kLine;
    if (state.picture->width > 0 && !state.traces.contains(id)) {
      state.traces[id] = new_trace(session, *photo, *state.picture);
      look_for_line(*session.devices().worker, state.traces[id], state.picture);
    }
  }
  if (state.picture->width == 0)
    return void(ui.words(room, tr("touch.picture_cannot_shown"),
                         ui.style(16, ui.theme().ink, Weight::regular, Align::center)));
  PhotoTrace& trace = *state.traces[id];
  const bool wide = room.w > room.h * 1.1f;
  const float foot = wide && room.h < 300 ? 60.f : 76.f;
  const float panel_w = std::clamp(room.w * 0.38f, 260.f, 420.f);
  const float aspect = float(state.picture->height) / float(state.picture->width);
  const float high = std::min(room.h * 0.5f, room.w * aspect);
  const Rect frame =
      wide ? Rect{room.x, room.y, room.w - panel_w, room.h} : Rect{room.x, room.y, room.w, high};
  const Rect panel = wide ? Rect{frame.right(), room.y, panel_w, room.h - foot}
                          : Rect{room.x, frame.bottom(), room.w, room.h - high - foot};
  picture(app, frame, trace);
  const std::array<std::string, 3> steps{tr("trace.line"), tr("trace.kinds"), tr("trace.marks")};
  const float step_w = (panel.w - 24 - 12) / 3;
  for (int i = 0; i < 3; ++i)
    if (choice(ui, steps[std::size_t(i)], steps[std::size_t(i)],
               {panel.x + 12 + float(i) * (step_w + 6), panel.y + 6, step_w, 48},
               state.step == i)) {
      state.step = i;
      state.spot.reset();
    }
  scrolling(app, "Trace rows", {panel.x, panel.y + 56, panel.w, panel.h - 56}, [&](Column& rows) {
    if (state.step == kLine) line_rows(app, rows, trace);
    if (state.step == kKinds) kind_rows(app, rows);
    if (state.step == kMarks) mark_rows(app, rows, trace);
  });
  const bool ready = trace.line && !trace.line->unsure && trace.orientation && !trace.looking;
  const float y = panel.bottom() + (foot - 56) / 2;
  hairline(ui, panel.x, panel.bottom(), panel.w);
  if (!ready && trace.line && !trace.line->unsure) {
    if (button(ui, tr("trace.go_mark_two_things"), {panel.x + 12, y, panel.w - 24, 56},
               ButtonLook::main, state.step != kMarks))
      state.step = kMarks;
  } else if (button(ui, trace.kept ? tr("trace.keep_again") : tr("trace.keep_skyline"),
                    {panel.x + 12, y, panel.w - 24, 56}, ButtonLook::main, ready)) {
    keep(app, trace);
  }
}

}  // namespace app
