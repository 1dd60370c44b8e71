#include "app/touch/screens/sight.h"

#include <algorithm>
#include <array>
#include <cmath>

#include "app/drawing/shapes.h"
#include "app/touch/practice/valley.h"
#include "app/words/words.h"

namespace app {
namespace {

struct View {
  Rect rect;
  double azimuth_deg, elevation_deg, per_dp;  // at the middle
  Point middle;
  Point at(double azimuth, double elevation) const {
    return {middle.x + float(horizon::wrap_180(azimuth - azimuth_deg) / per_dp),
            middle.y - float((elevation - elevation_deg) / per_dp)};
  }
};

void marked_so_far(TouchApp& app, const View& view) {
  Session& session = app.session();
  Ui& ui = app.ui();
  const Theme& t = ui.theme();
  const horizon::Mask& mask = session.mask();
  const auto& skyline = session.skyline()->skyline();
  const auto paint_at = [&](double azimuth) {
    const auto& piece = mask.piece_at(horizon::wrap_360(azimuth));
    if (piece.open || piece.obstacle < 0) return -1;
    return int(skyline.obstacles[std::size_t(piece.obstacle)].kind);
  };
  const float step = 4;
  const double left = view.azimuth_deg - double(view.middle.x - view.rect.x) * view.per_dp;
  Path shape;
  int kind = -2;
  float from = view.rect.x;
  const auto finish = [&](float to) {
    if (shape.points.size() > 1) {
      shape.points.push_back({to, view.rect.bottom()});
      shape.points.push_back({from, view.rect.bottom()});
      shape.closed = true;
      Paint paint = kind < 0 ? Paint{faded(t.warning, 0.10f), Hatch::open, faded(t.warning, 0.45f)}
                             : paint_of(horizon::Kind(kind), t);
      ui.canvas().fill(shape, paint);
    }
    shape = {};
  };
  for (float x = view.rect.x; x <= view.rect.right() + step; x += step) {
    const double azimuth = left + double(x - view.rect.x) * view.per_dp;
    const float y = view.at(azimuth, mask.elevation_deg(azimuth)).y;
    const int now = skyline.points.empty() ? -1 : paint_at(azimuth);
    if (now != kind) {
      if (!shape.points.empty()) shape.points.push_back({x, y});
      finish(x);
      kind = now;
      from = x;
    }
    shape.points.push_back({x, std::min(y, view.rect.bottom())});
  }
  finish(view.rect.right());
  for (const auto& point : skyline.points) {
    const Point p = view.at(point.azimuth.degrees(), point.elevation.degrees());
    if (!view.rect.contains(p)) continue;
    ui.canvas().fill(circle(p, 5), {t.mark});
    ui.canvas().stroke(circle(p, 5), {t.ink, 1.5f});
  }
}

// Over the camera's picture the line alone: dashed where nobody aimed.
void line_so_far(TouchApp& app, const View& view) {
  Session& session = app.session();
  Ui& ui = app.ui();
  const Theme& t = ui.theme();
  const horizon::Mask& mask = session.mask();
  const auto& points = session.skyline()->skyline().points;
  if (points.empty()) return;
  constexpr float kStep = 5;
  const double left = view.azimuth_deg - double(view.middle.x - view.rect.x) * view.per_dp;
  Path path;
  bool open = false;
  const auto finish = [&] {
    if (path.points.size() > 1) {
      const Color halo = faded(t.night, 0.5f);
      if (!open) ui.canvas().stroke(path, {halo, 5});
      ui.canvas().stroke(path, open ? Stroke{t.warning, 3, {6, 5}} : Stroke{t.mark, 2.5f});
    }
    path = {};
  };
  for (float x = view.rect.x; x <= view.rect.right() + kStep; x += kStep) {
    const double azimuth = horizon::wrap_360(left + double(x - view.rect.x) * view.per_dp);
    const auto& piece = mask.piece_at(azimuth);
    const bool now = piece.open || piece.obstacle < 0;
    const Point at{x, view.at(azimuth, mask.elevation_deg(azimuth)).y};
    if (now != open) {
      path.points.push_back(at);
      finish();
      open = now;
    }
    path.points.push_back(at);
  }
  finish();
  for (const auto& point : points) {
    const Point p = view.at(point.azimuth.degrees(), point.elevation.degrees());
    if (!view.rect.contains(p)) continue;
    ui.canvas().fill(circle(p, 5), {t.mark});
    ui.canvas().stroke(circle(p, 5), {t.ink, 1.5f});
  }
}

// Read over ground and camera picture too.
void on_sky(Ui& ui, Point at, const std::string& words, const TextStyle& style) {
  const float width = ui.width(words, style) + 6;
  const float x = style.align == Align::center ? at.x - width / 2 : at.x - 3;
  ui.canvas().fill(rounded({x, at.y - style.size * 0.9f, width, style.size * 1.15f}, 4),
                   {faded(ui.theme().sky, 0.92f)});
  ui.canvas().text(at, words, style);
}

std::optional<double> elevation_at(const DayPath& path, double azimuth_deg) {
  for (std::size_t i = 1; i < path.points.size(); ++i) {
    const auto &a = path.points[i - 1], &b = path.points[i];
    const double from = horizon::wrap_180(a.azimuth_deg - azimuth_deg),
                 to = horizon::wrap_180(b.azimuth_deg - azimuth_deg);
    if (from * to > 0 || std::fabs(from) > 45 || std::fabs(to) > 45) continue;
    const double part = from == to ? 0 : from / (from - to);
    return a.elevation_deg + part * (b.elevation_deg - a.elevation_deg);
  }
  return std::nullopt;
}

// Where the sun runs in winter: between the solstice's path and that of winter's first and last days.
void sun_band(TouchApp& app, const View& view) {
  constexpr double kWinterHigher_deg = 12.5;  // 21 February's noon over that of 21 December
  constexpr float kStep = 6;
  const LiveResults* live = app.session().live();
  if (!live) return;
  Ui& ui = app.ui();
  const Theme& t = ui.theme();
  const DayPath *lowest = nullptr, *edge = nullptr;
  const auto highest = [](const DayPath& path) {
    double most = -90;
    for (const auto& p : path.points) most = std::max(most, p.elevation_deg);
    return most;
  };
  for (const DayPath& path : live->paths)
    if (path.strong) lowest = &path;
  if (!lowest || lowest->points.empty()) return;
  const double wanted = highest(*lowest) + kWinterHigher_deg;
  for (const DayPath& path : live->paths)
    if (!path.strong &&
        (!edge || std::fabs(highest(path) - wanted) < std::fabs(highest(*edge) - wanted)))
      edge = &path;
  if (!edge) return;
  const double left = view.azimuth_deg - double(view.middle.x - view.rect.x) * view.per_dp;
  Path top, bottom, solstice;
  const auto finish = [&] {
    if (top.points.size() > 1) {
      Path band = top;
      band.points.insert(band.points.end(), bottom.points.rbegin(), bottom.points.rend());
      band.closed = true;
      ui.canvas().fill(band, {faded(t.amber, 0.28f)});
    }
    if (solstice.points.size() > 1) ui.canvas().stroke(solstice, {t.amber, 3});
    top = bottom = solstice = {};
  };
  for (float x = view.rect.x; x <= view.rect.right() + kStep; x += kStep) {
    const double azimuth = left + double(x - view.rect.x) * view.per_dp;
    const auto high = elevation_at(*edge, azimuth), low = elevation_at(*lowest, azimuth);
    if (!high) {
      finish();
      continue;
    }
    top.points.push_back({x, view.at(azimuth, *high).y});
    bottom.points.push_back({x, view.at(azimuth, low.value_or(0)).y});
    if (low) solstice.points.push_back(bottom.points.back());
  }
  finish();
  const TextStyle small = ui.style(12, t.ink, Weight::semibold, Align::center);
  for (const auto& hour : lowest->hours) {
    const Point p = view.at(hour.at.azimuth_deg, hour.at.elevation_deg);
    if (!view.rect.inset(14).contains(p) ||
        std::hypot(p.x - view.middle.x, p.y - view.middle.y) < 40)
      continue;
    ui.canvas().fill(circle(p, 4), {t.amber});
    on_sky(ui, {p.x, p.y - 8}, std::to_string(hour.hour), small);
  }
}

// What is to be aimed at next: where it is in the picture, else which way to turn.
void next_aim(TouchApp& app, const View& view) {
  Session& session = app.session();
  const horizon::Advice* next = nullptr;
  if (const auto* live = session.live(); live && live->live && !live->live->aim_next.empty())
    next = &live->live->aim_next.front();
  else if (const auto* far = session.terrain.far();
           session.marks() == 0 && far && far->light && !far->light->aim_next.empty())
    next = &far->light->aim_next.front();
  if (!next) return;
  Ui& ui = app.ui();
  const Theme& t = ui.theme();
  const double width = horizon::wrap_360(next->to_deg - next->from_deg);
  const Point from = view.at(next->from_deg, session.mask().elevation_deg(next->from_deg));
  const float y =
      std::clamp(view.at(0, std::max(next->lowest_sun_deg,
                                     session.mask().elevation_deg(next->from_deg + width / 2)))
                         .y -
                     26,
                 view.rect.y + ui.sp(46), view.rect.bottom() - 20);
  const float to = from.x + float(width / view.per_dp);
  const Stroke stroke{t.warning, 4};
  if (to > view.rect.x + 8 && from.x < view.rect.right() - 8) {
    const float a = std::max(from.x, view.rect.x + 3), b = std::min(to, view.rect.right() - 3);
    ui.canvas().stroke(line({a, y}, {b, y}), stroke);
    for (const float x : {a, b}) ui.canvas().stroke(line({x, y}, {x, y + 9}), stroke);
    on_sky(ui, {(a + b) / 2, y - 8}, tr("sight.next"),
           ui.style(13, t.warning, Weight::semibold, Align::center));
    return;
  }
  const bool to_the_right = horizon::wrap_180(next->from_deg + width / 2 - view.azimuth_deg) > 0;
  const float x = to_the_right ? view.rect.right() - 14 : view.rect.x + 50;  // beside the scale
  const float tip = to_the_right ? x + 8 : x - 8, at = view.rect.y + ui.sp(58);
  ui.canvas().stroke(line({x, at - 9}, {tip, at}), stroke);
  ui.canvas().stroke(line({tip, at}, {x, at + 9}), stroke);
  TextStyle style = ui.style(13, t.warning, Weight::semibold);
  const std::string words = tr("sight.next") + " " +
                            number(std::lround(horizon::wrap_360(next->from_deg + width / 2))) +
                            "°";
  on_sky(ui, {to_the_right ? x - 14 - ui.width(words, style) : x + 14, at + 5}, words, style);
}

void scale_lines(TouchApp& app, const View& view, float readout_top) {
  Ui& ui = app.ui();
  const Theme& t = ui.theme();
  const TextStyle small = ui.style(12, t.ink);
  for (int el = -80; el <= 80; el += 10) {
    const float y = view.at(view.azimuth_deg, el).y;
    if (y < view.rect.y + 34 || y > readout_top - 14) continue;
    ui.canvas().stroke(line({view.rect.x, y}, {view.rect.right(), y}),
                       {faded(t.ink, el ? 0.16f : 0.45f), 1});
    const float label_x = view.rect.x + 8;
    if (std::fabs(y - view.middle.y) > 12)
      on_sky(ui, {label_x, y - 4}, std::to_string(el) + "°", small);
  }
  // The compass along the top edge.
  TextStyle point = ui.style(13, t.ink, Weight::semibold, Align::center);
  for (int az = 0; az < 360; az += 15) {
    const float x = view.at(az, 0).x;
    if (x < view.rect.x + 24 || x > view.rect.right() - 24) continue;
    ui.canvas().fill(rectangle({x, view.rect.y, 1, az % 45 ? 5.f : 8.f}), {t.ink});
    on_sky(ui, {x, view.rect.y + 9 + ui.sp(13)}, az % 45 ? std::to_string(az) : compass_point(az),
           point);
  }
}

void cross(TouchApp& app, Point c, bool steady) {
  Ui& ui = app.ui();
  const Theme& t = ui.theme();
  const float r = 20;
  const Color halo = faded(t.mark, 0.8f);
  for (const auto& [color, width] : {std::pair{halo, 6.f}, std::pair{t.ink, 2.5f}}) {
    ui.canvas().stroke(circle(c, r), {color, width});
    for (const Point d : {Point{1, 0}, Point{-1, 0}, Point{0, 1}, Point{0, -1}})
      ui.canvas().stroke(line({c.x + d.x * r * 0.55f, c.y + d.y * r * 0.55f},
                              {c.x + d.x * r * 1.7f, c.y + d.y * r * 1.7f}),
                         {color, width});
  }
  ui.canvas().fill(circle(c, steady ? 4.5f : 3), {steady ? t.amber : t.warning});
}

void readouts(TouchApp& app, Rect bar, const std::optional<Aim>& aim, bool by_hand) {
  Session& session = app.session();
  Ui& ui = app.ui();
  const Theme& t = ui.theme();
  ui.canvas().fill(rectangle(bar), {faded(t.night, 0.94f)});
  const TextStyle small = ui.style(13, faded(t.on_ink, 0.85f));
  TextStyle big = ui.style(30, t.on_ink, Weight::semibold);
  struct Readout {
    std::string name, value, doubt;
  };
  std::array<Readout, 3> shown;
  shown[0].name = tr("sight.true_bearing");
  shown[1].name = tr("sight.elevation");
  shown[2].name = by_hand ? tr("sight.marks") : tr("sight.steady");
  if (by_hand) {
    shown[0].value = shown[1].value = "–";
    if (session.skyline() && !session.skyline()->skyline().points.empty()) {
      const auto& last = session.skyline()->skyline().points.back();
      shown[0].value = number(last.azimuth.degrees(), 1) + "°";
      shown[1].value = number(last.elevation.degrees(), 1) + "°";
    }
    shown[2].value = number(session.kept_marks());
  } else if (aim) {
    const bool known = session.direction_known(*aim);
    if (!known) shown[0].name = tr("sight.turn_not_north");
    shown[0].value = number(session.true_azimuth_deg(*aim), 1) + "°";
    shown[0].doubt =
        known ? "±" + number(std::hypot(session.heading_sigma_deg(), aim->azimuth_sigma_deg), 1)
              : "?";
    shown[1].value = number(aim->elevation_deg, 1) + "°";
    shown[1].doubt = "±" + number(aim->elevation_sigma_deg, 1);
    shown[2].value = number(std::min(aim->steady_s, 9.9), 1) + " s";
  } else {
    for (auto& each : shown) each.value = "–";
  }
  const float pad = 16, gap = 12;
  const std::array<float, 3> parts{0.40f, 0.35f, 0.25f};
  const float room = bar.w - 2 * pad;
  const auto too_wide = [&] {
    for (int i = 0; i < 3; ++i) {
      TextStyle doubt = small;
      doubt.size = big.size * 0.5f;
      const float need = ui.width(shown[std::size_t(i)].value, big) + 5 +
                         ui.width(shown[std::size_t(i)].doubt, doubt);
      if (need > room * parts[std::size_t(i)] - gap) return true;
    }
    return false;
  };
  while (big.size > 16 && (too_wide() || ui.sp(17) + big.size * 1.2f > bar.h - 2)) big.size -= 1;
  float x = bar.x + pad;
  for (int i = 0; i < 3; ++i) {
    const auto& each = shown[std::size_t(i)];
    const float width = room * parts[std::size_t(i)];
    const float block = ui.sp(17) + big.size * 1.2f, top = bar.y + (bar.h - block) / 2;
    ui.words({x, top, width - 4, ui.sp(17)}, each.name, ui.fitted(each.name, small, width - 4));
    const float used = ui.words({x, top + ui.sp(17), width, big.size * 1.2f}, each.value, big);
    TextStyle doubt = small;
    doubt.size = big.size * 0.5f;
    ui.words({x + used + 5, top + ui.sp(17) + big.size * 0.12f, width - used - 5, big.size * 1.2f},
             each.doubt, doubt);
    x += width;
  }
}

}  // namespace

void sight(TouchApp& app, Rect where, const std::optional<Aim>& aim) {
  Session& session = app.session();
  Ui& ui = app.ui();
  const Theme& t = ui.theme();
  const bool by_hand = session.settings.instrument == Instrument::by_hand;
  const float bar = std::min(std::clamp(where.h * 0.26f, ui.sp(58), ui.sp(78)), where.h * 0.5f);
  const Rect picture{where.x, where.y, where.w, where.h - bar};
  View view{picture,
            app.states().skyline.center_deg,
            12,
            50.0 / double(picture.w),
            {picture.x + picture.w / 2, picture.y + picture.h * 0.5f}};
  if (aim && !by_hand) {
    view.azimuth_deg = session.true_azimuth_deg(*aim);
    view.elevation_deg = aim->elevation_deg;
  }
  ui.clip(picture);
  ui.figure_begin(picture);
  ui.canvas().fill(rectangle(picture), {t.sky});
  const platform::CameraPicture* camera = session.camera_picture();
  if (camera && !by_hand) {
    view.per_dp = camera->field_of_view_deg / double(picture.w);
    const float height = picture.w * float(camera->height) / float(std::max(1, camera->width));
    ui.canvas().image(session.camera_image(),
                      {picture.x, view.middle.y - height / 2, picture.w, height});
  }
  if (session.skyline()) {
    if (camera && !by_hand)
      line_so_far(app, view);
    else
      marked_so_far(app, view);
  }
  sun_band(app, view);
  scale_lines(app, view, picture.bottom());
  if (aim && !by_hand) next_aim(app, view);
  if (!by_hand) cross(app, view.middle, aim && aim->steady_s > 0.4);
  ui.figure_end();
  if (Practice* me = session.practice()) {  // the finger turns whoever practises
    const Gesture g = ui.gesture(tr("practice.look"), picture);
    me->turn(double(-g.moved.x) * view.per_dp, double(g.moved.y) * view.per_dp);
    if (g.active || g.moved.x != 0 || g.moved.y != 0) ui.request_frame();
  }
  std::string trouble;
  if (!by_hand) {
    const auto status = session.devices().attitude->status();
    if (!status.problem.empty())
      trouble = tr(status.problem);
    else if (aim && aim->fault == AimFault::none && !session.direction_known(*aim))
      trouble = words_for_unknown(aim->north);
    else if (aim)
      trouble = words_for(aim->fault);
    else
      trouble = tr("sight.waiting_compass_level_device");
  }
  if (const auto status = session.devices().camera->status();
      trouble.empty() && !by_hand && status.state == platform::DeviceState::failed)
    trouble = tr(status.problem);
  // The sun itself is never aimed at; where it stands behind the ridge nothing is lost by the words.
  constexpr double kSunStop_deg = 10;
  if (aim && !by_hand) {
    if (const auto off = session.sun_height_off_deg(*aim); off && *off < kSunStop_deg)
      trouble = tr("sight.sun_height") + (trouble.empty() ? "" : "\n" + trouble);
    if (const auto off = session.sun_off_deg(*aim); off && *off < kSunStop_deg)
      trouble = tr("sight.sun", {number(std::lround(*off))});
  }
  if (!trouble.empty()) {
    const float width = picture.w - 40;
    const TextStyle style =
        ui.unbroken(trouble, ui.style(15, t.warning, Weight::semibold), width, picture.h - 20);
    const float height = ui.paragraph_height(width, trouble, style);
    const Rect box{picture.x + 12, picture.bottom() - height - 18, picture.w - 24, height + 16};
    ui.canvas().fill(rounded(box, 12), {t.warning_soft});
    ui.paragraph({box.x + 8, box.y + 8, width, height}, trouble, style);
  }
  ui.unclip();
  readouts(app, {where.x, picture.bottom(), where.w, bar}, aim, by_hand);
}

}  // namespace app
