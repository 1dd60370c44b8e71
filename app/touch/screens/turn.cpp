// app/touch/screens/turn.cpp: one turn on the spot: the line that was found glows over the picture, a
// ring tells how much of the round is seen, and what is to be gone back to.
#include <algorithm>
#include <array>
#include <cmath>

#include "app/drawing/shapes.h"
#include "app/touch/screens/screens.h"
#include "app/words/words.h"

namespace app {
namespace {

constexpr double kSunStop_deg = 12;  // beyond the picture's edge

// Below the first: in the turn's azimuths; the same way of the true ones as the sensors say.
double shown_deg(TouchApp& app, double turn_deg) {
  return horizon::wrap_360(turn_deg +
                           (app.session().turn.magnetic ? app.session().declination_deg() : 0));
}

std::string stretch_words(TouchApp& app, const horizon::TurnStretch& open) {
  const auto whole = [&](double deg) { return number(std::lround(shown_deg(app, deg)) % 360); };
  return tr("turn.back_to", {whole(open.from_deg), whole(open.to_deg),
                             tr("turn.why_" + std::string(name_of(open.why)))});
}

// The widest stretch that was passed but not seen; else the widest of all.
const horizon::TurnStretch* next_to_see(const horizon::TurnSkyline& skyline) {
  const horizon::TurnStretch* best = nullptr;
  const auto worth = [](const horizon::TurnStretch& s) {
    return s.width_deg() - (s.why == horizon::TurnFault::unseen ? 1000 : 0);
  };
  for (const auto& open : skyline.open)
    if (!best || worth(open) > worth(*best)) best = &open;
  return best;
}

void glow(TouchApp& app, Rect where) {
  Ui& ui = app.ui();
  const auto& turn = app.session().turn;
  const auto* skyline = turn.skyline();
  if (!skyline || !turn.step()) return;
  const horizon::Camera& camera = turn.step()->camera;
  const double scale = where.w / camera.width_px;
  Path path;
  const auto close = [&] {
    if (path.points.size() > 1) {
      ui.canvas().stroke(path, {faded(ui.theme().amber, 0.45f), 9});
      ui.canvas().stroke(path, {ui.theme().amber, 3.5f});
    }
    path = {};
  };
  const double half = camera.horizontal_view_deg() / 2 + 1;
  const int middle = int(camera.bearing.degrees() * 2), reach = int(half * 2);
  for (int i = -reach; i <= reach; ++i) {
    const int k = ((middle + i) % horizon::kTurnBins + horizon::kTurnBins) % horizon::kTurnBins;
    const auto& bin = skyline->bins[std::size_t(k)];
    const auto pixel =
        bin.found ? horizon::pixel_of(camera, {horizon::TrueAzimuth::degrees((k + 0.5) / 2),
                                               horizon::Elevation::degrees(bin.elevation_deg)})
                  : std::nullopt;
    if (!pixel) {
      close();
      continue;
    }
    path.points.push_back({where.x + float(pixel->x * scale), where.y + float(pixel->y * scale)});
  }
  close();
}

// The picture, as wide as the room, cut at its foot and head alike.
void picture(TouchApp& app, Rect room) {
  Session& session = app.session();
  Ui& ui = app.ui();
  const Theme& t = ui.theme();
  ui.clip(room);
  ui.figure_begin(room);
  ui.canvas().fill(rectangle(room), {t.night});
  if (const auto* camera = session.camera_picture()) {
    const float height = room.w * float(camera->height) / float(std::max(1, camera->width));
    const Rect where{room.x, room.y + (room.h - height) / 2, room.w, height};
    ui.canvas().image(session.camera_image(), where);
    glow(app, where);
  }
  ui.canvas().stroke(line({room.x + room.w / 2, room.y}, {room.x + room.w / 2, room.bottom()}),
                     {Color{255, 255, 255}, 2, {2, 6}});
  ui.figure_end();
  ui.unclip();
}

void round_ring(TouchApp& app, Rect room) {
  Session& session = app.session();
  Ui& ui = app.ui();
  const Theme& t = ui.theme();
  const float radius = std::min(room.h / 2 - 38, room.w * 0.3f);
  if (radius < 24) return;          // a landscape phone's keyboard, or words of twice the size
  const bool beside = radius < 80;  // too small to hold its words
  const Point c{room.x + (beside ? radius + 44 : room.w / 2), room.y + room.h / 2};
  const Rect inside{c.x - radius + 12, c.y, 2 * radius - 24, 0};
  const Rect right{c.x + radius + 40, c.y, room.right() - c.x - radius - 52, 0};
  const Rect told = beside ? right : inside;
  const auto* skyline = session.turn.skyline();
  ui.figure_begin(room);
  ui.canvas().stroke(circle(c, radius), {t.rule, 16});
  if (skyline)
    for (int i = 0; i < horizon::kTurnBins;) {
      const auto& bin = skyline->bins[std::size_t(i)];
      int end = i;
      while (end < horizon::kTurnBins && skyline->bins[std::size_t(end)].found == bin.found &&
             (bin.found || skyline->bins[std::size_t(end)].why == bin.why))
        ++end;
      const bool seen = bin.found, passed = bin.why != horizon::TurnFault::unseen;
      if (seen || passed) {  // from north, clockwise
        const float from = float(shown_deg(app, i / 2.0)), to = from + float(end - i) / 2;
        Stroke stroke{seen ? t.amber : t.warning, seen ? 16.f : 8.f};
        if (!seen) stroke.dashes = {3, 4};
        ui.canvas().stroke(arc(c, radius, from, to), stroke);
      }
      i = end;
    }
  const TextStyle point = ui.style(14, t.ink, Weight::semibold, Align::center);
  for (int az = 0; az < 360; az += 90) {
    const double a = az * horizon::kDegree;
    const float far = radius + 18;
    ui.canvas().text({c.x + far * float(std::sin(a)), c.y - far * float(std::cos(a)) + 5},
                     compass_point(az), point);
  }
  if (const auto& step = session.turn.step()) {
    const double a = shown_deg(app, step->camera.bearing.degrees()) * horizon::kDegree;
    const Point hand{float(std::sin(a)), -float(std::cos(a))};
    ui.canvas().stroke(line({c.x + hand.x * (radius - 16), c.y + hand.y * (radius - 16)},
                            {c.x + hand.x * (radius + 10), c.y + hand.y * (radius + 10)}),
                       {t.ink, 4});
  }
  const double seen = skyline ? skyline->found_fraction : 0;
  const Align align = beside ? Align::left : Align::center;
  const auto say = [&](float y, float h, const std::string& words, TextStyle style, float least) {
    ui.words({told.x, told.y + y, told.w, h}, words, ui.fitted(words, style, told.w, least));
  };
  say(-ui.sp(24), ui.sp(30), tr("turn.seen", {number(std::lround(seen * 100))}),
      ui.style(26, t.ink, Weight::semibold, align), 12);
  const std::string loop =
      skyline && skyline->closed ? tr("turn.closed")
      : session.turn.step()
          ? tr("turn.turned", {number(std::lround(std::fabs(session.turn.step()->turned_deg)))})
          : std::string();
  if (!loop.empty())
    say(ui.sp(8), ui.sp(20), loop, ui.style(14, t.ink, Weight::regular, align), 10);
  ui.figure_end();
}

// What to do now, in one sentence; urgent where something is wrong.
std::string advice(TouchApp& app, bool& urgent) {
  Session& session = app.session();
  const auto& turn = session.turn;
  const auto aim = session.aim();
  urgent = true;
  const auto camera = session.devices().camera->status();
  using platform::DeviceState;
  if (camera.state == DeviceState::missing || camera.state == DeviceState::refused ||
      camera.state == DeviceState::failed)
    return tr("turn.no_camera", {tr(camera.problem)});
  if (aim && aim->fault != AimFault::none) return words_for(aim->fault);
  const double view = session.camera_picture() ? session.camera_picture()->field_of_view_deg : 60;
  double sun = 180;
  if (aim) sun = session.sun_off_deg(*aim).value_or(180);
  if (turn.running() && turn.step() && turn.step()->sun) return tr("turn.sun");
  if (turn.running() && sun < view / 2 + kSunStop_deg) return tr("turn.sun");
  if (aim && session.sun_height_off_deg(*aim).value_or(180) < kSunStop_deg && !turn.begun())
    return tr("turn.how") + " " + tr("sight.sun_height");
  const auto* skyline = turn.skyline();
  if (turn.running() && turn.step() && turn.step()->fault != horizon::TurnFault::none &&
      turn.step()->fault != horizon::TurnFault::sun)
    return tr("turn.now_" + std::string(name_of(turn.step()->fault)));
  if (skyline && (skyline->closed || !turn.running()))
    if (const auto* open = next_to_see(*skyline)) return stretch_words(app, *open);
  urgent = false;
  if (!turn.begun()) return tr("turn.how");
  if (!turn.running()) return tr("turn.done");
  return skyline && skyline->closed ? tr("turn.done") : tr("turn.go_on");
}

void buttons(TouchApp& app, Rect row) {
  Session& session = app.session();
  Ui& ui = app.ui();
  auto& turn = session.turn;
  const auto camera = session.devices().camera->status().state;
  const bool films = camera == platform::DeviceState::running ||
                     camera == platform::DeviceState::starting ||
                     camera == platform::DeviceState::asking;
  const float half = (row.w - 10) / 2;
  const Rect first{row.x, row.y, half, row.h}, second{row.x + half + 10, row.y, half, row.h};
  if (!films) {
    if (button(ui, tr("turn.by_sensors"), row, ButtonLook::main)) app.go(ScreenId::skyline);
    return;
  }
  if (!turn.begun()) {
    if (button(ui, tr("turn.start"), row, ButtonLook::main, session.aim().has_value()))
      session.start_turn();
    return;
  }
  if (turn.running()) {
    if (button(ui, tr("turn.stop"), first, ButtonLook::plain)) turn.stop();
  } else if (button(ui, tr("turn.again"), first, ButtonLook::plain)) {
    session.start_turn();
  }
  const bool some = turn.skyline() && turn.skyline()->found_fraction > 0;
  if (button(ui, tr("turn.keep"), second, ButtonLook::main, some)) {
    if (const auto kept = session.keep_turn()) {
      app.go(ScreenId::skyline);
      app.say(tr("turn.kept", {number(*kept)}));
    }
  }
}

}  // namespace

void turn_screen(TouchApp& app, Rect area) {
  Ui& ui = app.ui();
  const Theme& t = ui.theme();
  const Rect room = titled(app, area);
  const float foot = 80;
  bool urgent = false;
  const std::string words = advice(app, urgent);
  TextStyle style = ui.style(17, urgent ? t.warning : t.ink, Weight::semibold);
  const auto height_of = [&] { return ui.paragraph_height(room.w - 40, words, style) + 20; };
  if (height_of() > (room.h - foot) * 0.6f) style.size = ui.style(14, t.ink).size;
  const float words_h = height_of(), left = room.h - foot - words_h;
  const bool begun = app.session().turn.begun();  // before it the ring tells nothing
  Rect film{room.x, room.y, room.w, left}, ring = film;
  if (!begun) {
    ring.h = 0;
  } else if (room.w > room.h) {
    film.w = room.w * 0.55f;
    ring = {film.right(), room.y, room.w - film.w, film.h};
  } else {
    film.h -= std::min(left, std::max(0.45f * left, 150.f));
    ring = {room.x, film.bottom(), room.w, left - film.h};
  }
  picture(app, film);
  round_ring(app, ring);
  const Rect box{room.x + 12, room.bottom() - foot - words_h, room.w - 24, words_h};
  if (urgent) ui.canvas().fill(rounded(box, 12), {t.warning_soft});
  ui.paragraph({box.x + 8, box.y + 10, room.w - 40, words_h - 20}, words, style);
  buttons(app, {room.x + 12, room.bottom() - 72, room.w - 24, 64});
  if (app.session().turn.running()) ui.request_frame();
}

}  // namespace app
