#include "app/drawing/charts/site_plan_chart.h"

#include <algorithm>
#include <cmath>

#include "app/drawing/shapes.h"
#include "app/drawing/text_layout.h"
#include "app/words/words.h"

namespace app {
namespace {

using Eigen::Vector2d;
using horizon::PlanLineKind;
using horizon::SitePlan;

constexpr double kNinety = 2.146;    // of a sigma in the plane
constexpr double kRoundThe_m = 1.5;  // round the outermost things
constexpr float kFoot = 26;          // for the scale bar

struct Extent {
  double west = 1e9, east = -1e9, south = 1e9, north = -1e9;
  void hold(const Vector2d& p, double round = 0) {
    west = std::min(west, p.x() - round);
    east = std::max(east, p.x() + round);
    south = std::min(south, p.y() - round);
    north = std::max(north, p.y() + round);
  }
  double wide() const { return east - west; }
  double tall() const { return north - south; }
};

Extent extent_of(const SitePlan& plan) {
  Extent core;
  for (const auto& line : plan.lines)
    if (line.kind == PlanLineKind::boundary)
      for (const auto& p : line.points) core.hold(p.flat());
  for (const auto& station : plan.stations) core.hold(station.ground.flat());
  for (const auto& house : plan.houses)
    for (const auto& peg : house.pegs) core.hold(peg.at.flat());
  if (core.west > core.east) core.hold({0, 0});
  // What stands near by is drawn where there is room for it; it does not make the plot smaller.
  Extent out = core;
  out.hold({out.west, out.south}, kRoundThe_m);
  out.hold({out.east, out.north}, kRoundThe_m);
  return out;
}

class Labels {
 public:
  Labels(Canvas& canvas, Rect where, const ChartStyle& style)
      : canvas_(canvas), where_(where), style_(style) {}
  void keep_free(Rect box) { taken_.push_back(box); }
  void keep_free(Point p, float round) {
    taken_.push_back({p.x - round, p.y - round, 2 * round, 2 * round});
  }
  // Beside the point where there is room, further off by and by; a label with no room at all is
  // left out only where `must` is false.
  bool put(Point p, std::string text, TextStyle words, bool must = false) {
    words.align = Align::left;
    text = shortened(text, words, where_.w * 0.4f);
    const float u = words.size, width = text_width(text, words);
    for (float away = u * 0.7f; away < u * 6; away += u * 0.8f)
      for (const auto& [dx, dy] : {std::pair{1.f, 0.f},
                                   {-1.f, 0.f},
                                   {0.f, -1.f},
                                   {0.f, 1.f},
                                   {1.f, -1.f},
                                   {1.f, 1.f},
                                   {-1.f, -1.f},
                                   {-1.f, 1.f}}) {
        const Point at{dx > 0   ? p.x + away
                       : dx < 0 ? p.x - away - width
                                : p.x - width / 2,
                       p.y + dy * away + u * 0.35f};
        if (place(at, text, words, width, away > u * 2 ? &p : nullptr)) return true;
      }
    if (must) canvas_.text({p.x + u * 0.5f, p.y}, text, words);
    return must;
  }

 private:
  bool place(Point at, const std::string& text, const TextStyle& words, float width,
             const Point* from) {
    const float u = words.size;
    const Rect box{at.x - u * 0.15f, at.y - u * 0.9f, width + u * 0.3f, u * 1.2f};
    if (box.x < where_.x || box.right() > where_.right() || box.y < where_.y ||
        box.bottom() > where_.bottom())
      return false;
    for (const Rect& o : taken_)
      if (box.x < o.right() && o.x < box.right() && box.y < o.bottom() && o.y < box.bottom())
        return false;
    if (from) {
      const Point to{std::clamp(from->x, box.x, box.right()),
                     std::clamp(from->y, box.y, box.bottom())};
      canvas_.stroke(line(*from, to), {faded(style_.theme->quiet, 0.6f), 0.35f, {}});
    }
    // Legible over lines.
    canvas_.fill(rectangle(box), {faded(style_.theme->card, 0.72f)});
    canvas_.text(at, text, words);
    taken_.push_back(box);
    return true;
  }
  Canvas& canvas_;
  Rect where_;
  const ChartStyle& style_;
  std::vector<Rect> taken_;
};

class Sheet {
 public:
  Sheet(Canvas& canvas, Rect where, const SitePlan& plan, int scale, const ChartStyle& style)
      : c_(canvas),
        box_(where),
        plan_(plan),
        style_(style),
        theme_(*style.theme),
        per_m_(kPointsAMetre / static_cast<float>(scale)),
        labels_(canvas, where, style) {
    const Extent extent = extent_of(plan);
    box_.h -= kFoot;
    middle_ = {(extent.west + extent.east) / 2, (extent.south + extent.north) / 2};
  }

  void draw() {
    c_.push_clip(box_);
    layer("ground", [&] { land(); });
    layer("shadows", [&] { shadows(); });
    layer("contours", [&] { contours(); });
    layer("lines", [&] { lines(); });
    layer("limits", [&] { limits(); });
    layer("obstacles", [&] { obstacles(); });
    layer("houses", [&] { houses(); });
    layer("views", [&] { views(); });
    layer("pits", [&] { probes_and_hazards(); });
    layer("stations", [&] { stations(); });
    c_.pop_clip();
    layer("frame", [&] {
      c_.stroke(rectangle(box_), {theme_.rule, 0.6f, {}});
      grid_ticks();
      norths();
      scale_bar();
    });
    layer("names", [&] { names(); });
  }

 private:
  void layer(const char* name, const std::function<void()>& draw) {
    c_.begin_layer(name);
    draw();
    c_.end_layer();
  }
  Point at(const Vector2d& p) const {
    return {box_.x + box_.w / 2 + static_cast<float>(p.x() - middle_.x()) * per_m_,
            box_.y + box_.h / 2 - static_cast<float>(p.y() - middle_.y()) * per_m_};
  }
  float wide(double metres) const { return static_cast<float>(metres) * per_m_; }
  Path path(const std::vector<Vector2d>& points, bool closed) const {
    Path out;
    out.closed = closed;
    for (const auto& p : points) out.points.push_back(at(p));
    return out;
  }
  static std::vector<Vector2d> flat(const std::vector<horizon::PlanPoint>& points) {
    std::vector<Vector2d> out;
    for (const auto& p : points) out.push_back(p.flat());
    return out;
  }
  bool shown(const Vector2d& p) const { return box_.contains(at(p)); }
  TextStyle words(Color color, Weight weight = Weight::regular) const {
    return {style_.text, color, weight};
  }

  const horizon::PlanLine* of(PlanLineKind kind) const {
    for (const auto& line : plan_.lines)
      if (line.kind == kind && line.closed) return &line;
    return nullptr;
  }

  void land() {
    const auto *boundary = of(PlanLineKind::boundary), *inner = of(PlanLineKind::setback);
    if (boundary)
      c_.fill(path(flat(boundary->points), true),
              {inner ? Color{247, 246, 242} : Color{255, 252, 243},
               inner ? Hatch::open : Hatch::none, faded(theme_.quiet, 0.5f)});
    if (inner) {
      c_.fill(path(flat(inner->points), true), {{255, 252, 243}});
      c_.stroke(path(flat(inner->points), true), {faded(theme_.quiet, 0.7f), 0.5f, {}});
    }
    if (boundary)
      c_.stroke(path(flat(boundary->points), true), {theme_.ink, 1.4f, {8, 2.5f, 1.5f, 2.5f}});
  }

  void shadows() {
    // Morning and afternoon as outlines, noon filled: three that can be told apart in grey.
    for (const auto& shadow : plan_.shadows) {
      const Path shape = path(shadow.outline, true);
      if (shadow.hour == 12)
        c_.fill(shape, {faded(theme_.night, 0.2f)});
      else
        c_.stroke(shape, {faded(theme_.night, 0.55f), 0.5f,
                          shadow.hour < 12 ? std::vector<float>{2.5f, 1.5f}
                                           : std::vector<float>{0.7f, 1.2f}});
    }
  }

  void contours() {
    for (const auto& contour : plan_.contours) {
      const bool whole = std::abs(contour.up_m - std::round(contour.up_m)) < 1e-6;
      c_.stroke(path(contour.line, false), {kEarth, whole ? 0.9f : 0.45f, {}});
    }
  }

  void lines() {
    for (const auto& l : plan_.lines) {
      Stroke pen{theme_.ink, 0.8f, {}};
      switch (l.kind) {
        case PlanLineKind::boundary:
          if (l.closed) continue;
          pen = {theme_.ink, 1.4f, {8, 2.5f, 1.5f, 2.5f}};
          break;
        case PlanLineKind::setback:
          continue;
        case PlanLineKind::access:
          pen = {{176, 164, 148}, std::max(2.5f, wide(2.5)), {}};
          break;
        case PlanLineKind::watercourse:
          pen = {{40, 96, 150}, 1.3f, {7, 2, 1, 2, 1, 2}};
          break;
        case PlanLineKind::service:
          pen = {theme_.warning, 1.1f, {4, 2, 1, 2}};
          break;
        case PlanLineKind::building:
          if (l.closed) c_.fill(path(flat(l.points), true), {faded(theme_.building, 0.5f)});
          pen = {theme_.building, 1, {}};
          break;
        case PlanLineKind::other:
          pen = {theme_.quiet, 0.7f, {3, 2}};
          break;
      }
      c_.stroke(path(flat(l.points), l.closed), pen);
    }
  }

  void limits() {
    for (const auto& limit : plan_.limits) {
      const Stroke pen{theme_.warning, 0.5f, {1.5f, 1.5f}};
      if (limit.line.size() == 1)
        c_.stroke(circle(at(limit.line.front()), wide(limit.distance_m)), pen);
      else
        for (const double side : {-1.0, 1.0}) {
          Path off;
          for (std::size_t i = 0; i + 1 < limit.line.size(); ++i) {
            const Vector2d d = (limit.line[i + 1] - limit.line[i]).normalized();
            if (!d.allFinite()) continue;
            const Vector2d aside = side * limit.distance_m * Vector2d(-d.y(), d.x());
            off.points.push_back(at(limit.line[i] + aside));
            off.points.push_back(at(limit.line[i + 1] + aside));
          }
          c_.stroke(off, pen);
        }
    }
  }

  void ellipse(const Vector2d& middle, const horizon::ErrorEllipse& e) {
    if (wide(kNinety * e.major_m) < 1) return;
    Path shape;
    shape.closed = true;
    const double turn = e.major_azimuth.radians();
    for (int i = 0; i < 36; ++i) {
      const double t = i * 10 * horizon::kDegree;
      const double along = kNinety * e.major_m * std::cos(t),
                   across = kNinety * e.minor_m * std::sin(t);
      shape.points.push_back(
          at(middle + Vector2d(along * std::sin(turn) + across * std::cos(turn),
                               along * std::cos(turn) - across * std::sin(turn))));
    }
    c_.stroke(shape, {theme_.quiet, 0.5f, {2, 1.5f}});
  }

  void obstacles() {
    for (const auto& thing : plan_.obstacles) {
      const Paint paint = paint_of(thing.kind, theme_);
      if (thing.placing == horizon::Placing::direction) continue;
      const Vector2d first = thing.tops.front().flat();
      if (thing.radius_m) {
        c_.fill(circle(at(first), std::max(1.5f, wide(*thing.radius_m))),
                {faded(paint.color, 0.55f)});
        c_.stroke(circle(at(first), std::max(1.5f, wide(*thing.radius_m))),
                  {paint.color, 0.9f, {}});
        c_.fill(circle(at(first), 1), {paint.color});
      } else {
        const bool tree =
            thing.kind == horizon::Kind::evergreen || thing.kind == horizon::Kind::leafy;
        c_.stroke(path(flat(thing.tops), false), {paint.color, tree ? 4 : 2.6f, {}});
        for (const auto& top : thing.tops) c_.fill(circle(at(top.flat()), 1.6f), {paint.color});
      }
      if (thing.ellipse) ellipse(first, *thing.ellipse);
    }
  }

  void houses() {
    bool first = true;
    for (const auto& house : plan_.houses) {
      std::vector<Vector2d> corners;
      for (const auto& peg : house.pegs) corners.push_back(peg.at.flat());
      if (corners.size() != 4) continue;
      c_.fill(path(corners, true), {first ? theme_.amber_soft : Color{238, 231, 216}});
      c_.stroke(path(corners, true), {theme_.ink, first ? 1.3f : 0.8f, {}});
      c_.stroke(line(at(corners[0]), at(corners[1])), {theme_.amber, 3, {}});
      for (const auto& corner : corners) {
        c_.fill(circle(at(corner), 1.9f), {theme_.ink});
        labels_.keep_free(at(corner), 2);
      }
      const Point middle = at({house.east_m, house.north_m});
      labels_.keep_free(middle, std::min(wide(house.length_m), wide(house.depth_m)) / 2);
      first = false;
    }
  }

  void views() {
    const Color blue{40, 96, 150};
    for (const auto& photo : plan_.photos) {
      if (!photo.at || !photo.true_deg || !shown(photo.at->flat())) continue;
      const Point from = at(photo.at->flat());
      const auto way = static_cast<float>(*photo.true_deg);
      const float half = photo.view_deg > 0 ? static_cast<float>(photo.view_deg) / 2 : 0;
      const Point tip = polar(from, 20, way);
      c_.stroke(line(polar(from, 6, way), tip), {blue, 0.6f, {}});
      for (const float turn : {-150.f, 150.f})
        c_.stroke(line(tip, polar(tip, 3, way + turn)), {blue, 0.6f, {}});
      if (half > 0) c_.stroke(arc(from, 16, way - half, way + half), {blue, 0.4f, {}});
    }
  }

  void probes_and_hazards() {
    for (const auto& probe : plan_.probes) {
      if (!probe.at || !shown(probe.at->flat())) continue;
      const Point p = at(probe.at->flat());
      if (probe.percolation) {
        c_.stroke(circle(p, 3), {kEarth, 0.9f, {}});
        c_.fill(circle(p, 1), {kEarth});
      } else {
        c_.fill(rectangle({p.x - 3, p.y - 3, 6, 6}), {kEarth});
      }
      labels_.keep_free(p, 3.5f);
    }
    for (const auto& hazard : plan_.hazards) {
      if (!hazard.at || !shown(hazard.at->flat())) continue;
      const Point p = at(hazard.at->flat());
      c_.fill({{{p.x, p.y - 5}, {p.x + 5, p.y + 4}, {p.x - 5, p.y + 4}}, true},
              {theme_.warning_soft});
      c_.stroke({{{p.x, p.y - 5}, {p.x + 5, p.y + 4}, {p.x - 5, p.y + 4}}, true},
                {theme_.warning, 1, {}});
      c_.stroke(line({p.x, p.y - 2}, {p.x, p.y + 1}), {theme_.warning, 1, {}});
      c_.fill(circle({p.x, p.y + 2.6f}, 0.6f), {theme_.warning});
      labels_.keep_free(p, 5.5f);
    }
    if (plan_.slope && shown(plan_.slope->at.flat())) {
      const Point from = at(plan_.slope->at.flat() + Vector2d(1.5, 0));
      const auto way = static_cast<float>(plan_.slope->downhill_true_deg);
      const Point tip = polar(from, 30, way);
      c_.stroke(line(from, tip), {theme_.ink, 0.8f, {}});
      c_.fill({{tip, polar(tip, 6, way + 155), polar(tip, 6, way - 155)}, true}, {theme_.ink});
      slope_tip_ = tip;
    }
  }

  void stations() {
    for (const auto& station : plan_.stations) {
      const Point p = at(station.ground.flat());
      const Path shape{{{p.x, p.y - 5.5f}, {p.x + 5, p.y + 3}, {p.x - 5, p.y + 3}}, true};
      c_.fill(shape, {theme_.card});
      c_.stroke(shape, {theme_.ink, 1.1f, {}});
      c_.fill(circle(p, 0.9f), {theme_.ink});
      labels_.keep_free(p, 5);
    }
  }

  // Whole tens of the grid along the frame.
  void grid_ticks() {
    if (!plan_.grid) return;
    const double turn = plan_.grid->convergence_deg * horizon::kDegree;
    const double c = std::cos(turn) / plan_.grid->scale, s = std::sin(turn) / plan_.grid->scale;
    const double step = per_m_ * 10 > 90 ? 10 : per_m_ * 20 > 90 ? 20 : per_m_ * 50 > 90 ? 50 : 100;
    const Extent extent = [&] {
      Extent out;
      for (const auto& [x, y] : {std::pair{-1, -1}, {1, -1}, {1, 1}, {-1, 1}})
        out.hold(
            plan_.on_grid(middle_ + Vector2d(x * box_.w / per_m_ / 2, y * box_.h / per_m_ / 2)));
      return out;
    }();
    for (double e = std::ceil(extent.west / step) * step; e < extent.east; e += step)
      for (double n = std::ceil(extent.south / step) * step; n < extent.north; n += step) {
        const double de = e - plan_.grid->easting, dn = n - plan_.grid->northing;
        const Vector2d local(c * de + s * dn, -s * de + c * dn);
        if (!box_.inset(5).contains(at(local))) continue;
        const Point p = at(local);
        for (const auto& [x, y] : {std::pair{3.f, 0.f}, {0.f, 3.f}})
          c_.stroke(line({p.x - x, p.y - y}, {p.x + x, p.y + y}), {theme_.quiet, 0.35f, {}});
        crosses_.push_back({p, {e, n}});
      }
  }

  void norths() {
    const Point foot{box_.right() - 34, box_.y + 58};
    const float tall = 42;
    const Rect ground{foot.x - 42, foot.y - tall - 15, 75, tall + 2 * style_.text + 22};
    labels_.keep_free(ground);
    c_.fill(rounded(ground, 3), {faded(theme_.card, 0.88f)});
    c_.stroke(line(foot, {foot.x, foot.y - tall}), {theme_.ink, 1.4f, {}});
    c_.fill({{{foot.x, foot.y - tall - 4},
              {foot.x + 4, foot.y - tall + 6},
              {foot.x - 4, foot.y - tall + 6}},
             true},
            {theme_.ink});
    c_.text({foot.x, foot.y - tall - 7}, tr("plan.north_true"),
            {style_.text, theme_.ink, Weight::semibold, Align::center});
    const auto other = [&](double deg, Color color, const std::string& name, float row) {
      const Point tip = polar(foot, tall * 0.8f, static_cast<float>(deg));
      c_.stroke(line(foot, tip), {color, 0.8f, {}});
      c_.text({foot.x, foot.y + row}, name, {style_.text, color, Weight::regular, Align::center});
    };
    if (plan_.declination_deg)
      other(*plan_.declination_deg, theme_.warning,
            tr("plan.north_compass", {degrees(*plan_.declination_deg, 1)}), style_.text + 1);
    if (plan_.grid)
      other(plan_.grid->convergence_deg, {40, 96, 150},
            tr("plan.north_grid", {degrees(plan_.grid->convergence_deg, 2)}),
            2 * style_.text + 2.5f);
    labels_.keep_free({foot.x - 44, foot.y, 78, 2 * style_.text + 6});
  }

  void scale_bar() {
    const float y = box_.bottom() + 12;
    double whole = 2;
    for (const double length : {5.0, 10.0, 20.0, 50.0, 100.0, 200.0})
      if (wide(length) <= box_.w * 0.3f) whole = length;
    const float left = box_.x + 2;
    const Rect first{left, y - 5, wide(whole / 2), 5};
    c_.fill(rectangle(first), {theme_.ink});
    c_.fill(rectangle({first.right(), y - 5, wide(whole / 2), 5}), {theme_.card});
    c_.stroke(rectangle({left, y - 5, wide(whole), 5}), {theme_.ink, 0.7f, {}});
    const auto say = [&](double metres, Align align) {
      c_.text({left + wide(metres), y + style_.text + 1},
              metres > 0 && metres == whole   ? distance(metres, style_.units)
              : style_.units == Units::metric ? number(metres)
                                              : distance(metres, style_.units),
              {style_.text, theme_.ink, Weight::regular, align});
    };
    say(0, Align::left);
    say(whole / 2, Align::center);
    say(whole, Align::center);
    // What the greys and hatches are, in words.
    std::vector<std::string> told;
    std::string hours;
    for (const auto& sun : plan_.suns)
      add_listed(hours, tr(sun.behind_skyline ? "plan.key.behind"
                           : sun.hour < 12    ? "plan.key.dashed"
                           : sun.hour == 12   ? "plan.key.grey"
                                              : "plan.key.dotted",
                           {std::to_string(sun.hour)}));
    if (!hours.empty()) told.push_back(tr("plan.key.shadows", {hours}));
    if (plan_.setback_m > 0)
      told.push_back(tr("plan.key.setback", {distance(plan_.setback_m, style_.units)}));
    std::string all;
    for (const auto& each : told) add_clause(all, each);
    const float x = left + wide(whole) + 24;
    const TextStyle quiet{style_.text, theme_.quiet};
    float row = y - 1;
    auto rows = wrapped(all, quiet, box_.right() - x);
    if (rows.size() > 2) rows.resize(2);
    for (const auto& each : rows) {
      c_.text({x, row}, each, quiet);
      row += style_.text * 1.25f;
    }
  }

  std::string height_words(const horizon::PlanObstacle& thing) const {
    const double spread = 1.645 * thing.height_sigma_m;
    return style_.units == Units::metric
               ? number(thing.height_m, 1) + " ± " + number(spread, 1) + " m"
               : distance(thing.height_m, style_.units) + " ± " + distance(spread, style_.units);
  }

  void names() {
    for (const auto& house : plan_.houses) {
      const TextStyle strong{style_.text * 1.5f, theme_.ink, Weight::semibold, Align::center};
      const Point middle = at({house.east_m, house.north_m});
      c_.text({middle.x, middle.y + style_.text * 0.55f}, house.name, strong);
    }
    for (const auto& station : plan_.stations)
      labels_.put(at(station.ground.flat()), tr("report.station", {station.name}),
                  words(theme_.ink, Weight::semibold), true);
    bool first = true;
    for (const auto& house : plan_.houses) {
      if (first)
        for (const auto& peg : house.pegs)
          labels_.put(at(peg.at.flat()), peg.name.substr(peg.name.size() - 1), words(theme_.ink));
      first = false;
    }
    for (const auto& thing : plan_.obstacles) {
      const Color color = thing.kind == horizon::Kind::building || thing.kind == horizon::Kind::pole
                              ? theme_.ink
                          : thing.kind == horizon::Kind::evergreen ? Color{28, 76, 52}
                                                                   : Color{104, 74, 12};
      const std::string name =
          thing.name.empty() ? tr("kind." + std::string(horizon::name_of(thing.kind))) : thing.name;
      if (thing.placing == horizon::Placing::direction) {
        toward(thing.azimuth_deg, name + ", " + tr("plan.distance_unknown"), color);
        continue;
      }
      const Vector2d place = thing.tops[thing.tops.size() / 2].flat();
      if (shown(place))
        labels_.put(at(place), name + " " + height_words(thing), words(color));
      else
        toward(thing.azimuth_deg,
               name + ", " + distance(thing.tops.front().flat().norm(), style_.units), color);
    }
    for (const auto& l : plan_.lines)
      if (l.kind != PlanLineKind::setback && !l.points.empty()) {
        std::string name = tr("plan.line." + std::string(name_of(l.kind)));
        if (!l.name.empty()) name = l.kind == PlanLineKind::boundary ? name + " " + l.name : l.name;
        for (std::size_t i = 0; i < l.points.size(); ++i) {
          const auto& a = l.points[i];
          const auto& b = l.points[(i + 1) % l.points.size()];
          const Vector2d middle = (a.flat() + b.flat()) / 2;
          if (!shown(middle)) continue;
          if (labels_.put(at(middle), name,
                          words(l.kind == PlanLineKind::service ? theme_.warning : theme_.quiet)))
            break;
        }
      }
    for (const auto& hazard : plan_.hazards)
      if (hazard.at && shown(hazard.at->flat()))
        labels_.put(at(hazard.at->flat()),
                    tr("hazard." + hazard.kind) + (hazard.text.empty() ? "" : ": " + hazard.text),
                    words(theme_.warning));
    for (const auto& probe : plan_.probes)
      if (probe.at && shown(probe.at->flat())) {
        std::string name = probe.name;
        if (probe.water_m)
          name += ", " + tr("plan.water_at", {depth(*probe.water_m, style_.units)});
        else if (probe.depth_m)
          name += ", " + depth(*probe.depth_m, style_.units);
        labels_.put(at(probe.at->flat()), name, words({96, 70, 34}));
      }
    if (slope_tip_)
      labels_.put(*slope_tip_, tr("plan.falls", {degrees(plan_.slope->slope_deg, 1)}),
                  words(theme_.ink));
    levels();
    for (const auto& photo : plan_.photos)
      if (photo.at && photo.true_deg && shown(photo.at->flat()))
        labels_.put(polar(at(photo.at->flat()), 22, static_cast<float>(*photo.true_deg)),
                    std::to_string(photo.number), words({40, 96, 150}));
    if (!crosses_.empty()) {
      const auto& [p, en] = crosses_[crosses_.size() / 2];
      labels_.put(p, "E " + number(en.x()) + "  N " + number(en.y()), words(theme_.quiet));
    }
  }

  void levels() {
    for (const auto& contour : plan_.contours) {
      if (contour.line.size() < 2) continue;
      const Vector2d end = contour.line.front();
      if (shown(end))
        labels_.put(at(end), (contour.up_m >= 0 ? "+" : "") + number(contour.up_m, 2),
                    words({104, 74, 12}));
    }
    for (const auto& level : plan_.levels)
      if (level.up_m && shown(level.flat())) {
        const Point p = at(level.flat());
        c_.stroke(line({p.x - 2, p.y - 2}, {p.x + 2, p.y + 2}), {kEarth, 0.5f, {}});
        c_.stroke(line({p.x - 2, p.y + 2}, {p.x + 2, p.y - 2}), {kEarth, 0.5f, {}});
      }
  }

  // At the frame, where a thing lies beyond it.
  void toward(double azimuth_deg, const std::string& name, Color color) {
    const Point from = at({0, 0});
    const auto way = static_cast<float>(azimuth_deg);
    float out = 10;
    while (box_.inset(14).contains(polar(from, out + 4, way))) out += 4;
    const Point tip = polar(from, out, way);
    c_.stroke(line(polar(from, out - 14, way), tip), {color, 0.7f, {2, 1.5f}});
    for (const float turn : {-150.f, 150.f})
      c_.stroke(line(tip, polar(tip, 4, way + turn)), {color, 0.7f, {}});
    labels_.put(polar(from, out - 16, way), name, words(color));
  }

  static constexpr Color kEarth{150, 104, 40};
  Canvas& c_;
  Rect box_;
  const SitePlan& plan_;
  const ChartStyle& style_;
  const Theme& theme_;
  float per_m_ = 1;
  Labels labels_;
  Vector2d middle_;
  std::optional<Point> slope_tip_;
  std::vector<std::pair<Point, Vector2d>> crosses_;
};

}  // namespace

int plan_scale(const SitePlan& plan, float width, float height) {
  const Extent extent = extent_of(plan);
  int last = 100;
  for (const int scale : {100, 200, 500, 1000, 2000, 5000}) {
    last = scale;
    const float per_m = kPointsAMetre / static_cast<float>(scale);
    if (static_cast<float>(extent.wide()) * per_m <= width &&
        static_cast<float>(extent.tall()) * per_m <= height - kFoot)
      break;
  }
  return last;
}

float plan_height(const SitePlan& plan, int scale) {
  return static_cast<float>(extent_of(plan).tall()) * kPointsAMetre / static_cast<float>(scale) +
         kFoot;
}

void draw_site_plan(Canvas& canvas, Rect where, const SitePlan& plan, int scale,
                    const ChartStyle& style) {
  canvas.begin_figure(
      tr("plan.alternative",
         {scale_words(scale), std::to_string(plan.stations.size()),
          std::to_string(plan.obstacles.size()), std::to_string(plan.houses.size())}));
  Sheet(canvas, where, plan, scale, style).draw();
  canvas.end_figure();
}

std::string scale_words(int scale) { return "1:" + std::to_string(scale); }

}  // namespace app
