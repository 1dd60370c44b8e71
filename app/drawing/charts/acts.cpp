#include "app/drawing/charts/acts.h"

#include <algorithm>
#include <array>
#include <initializer_list>

#include "app/drawing/shapes.h"
#include "app/words/words.h"

namespace app {
namespace {

// A pen on a field of 100 by 100.
class Pen {
 public:
  Pen(Canvas& canvas, Rect box, const Theme& theme) : canvas_(canvas), theme_(theme) {
    scale_ = std::min(box.w, box.h) / 100;
    origin_ = {box.x + (box.w - 100 * scale_) / 2, box.y + (box.h - 100 * scale_) / 2};
  }
  const Theme& theme() const { return theme_; }
  Point at(float x, float y) const { return {origin_.x + x * scale_, origin_.y + y * scale_}; }
  Path path(std::initializer_list<Point> points, bool closed) const {
    Path out{{}, closed};
    for (const Point& p : points) out.points.push_back(at(p.x, p.y));
    return out;
  }
  void line(std::initializer_list<Point> points, float width = 2.5f) {
    canvas_.stroke(path(points, false), {theme_.ink, width * scale_});
  }
  void dashed(std::initializer_list<Point> points) {
    canvas_.stroke(path(points, false), {theme_.amber_deep, 2 * scale_, {4 * scale_, 3 * scale_}});
  }
  void shape(std::initializer_list<Point> points, Paint paint) {
    canvas_.fill(path(points, true), paint);
  }
  void disc(Point c, float radius, Color color) {
    canvas_.fill(circle(at(c.x, c.y), radius * scale_), {color});
  }
  void ring(Point c, float radius, float width = 2.5f) {
    canvas_.stroke(circle(at(c.x, c.y), radius * scale_), {theme_.ink, width * scale_});
  }
  void bow(Point c, float radius, float from_deg, float to_deg) {
    canvas_.stroke(arc(at(c.x, c.y), radius * scale_, from_deg, to_deg),
                   {theme_.amber_deep, 2.5f * scale_});
  }
  void ground(float y) {
    shape({{2, y}, {98, y}, {98, 98}, {2, 98}}, {theme_.rule});
    line({{2, y}, {98, y}}, 2);
  }
  void ridge() {
    shape({{62, 60}, {76, 28}, {84, 40}, {98, 22}, {98, 60}},
          paint_of(horizon::Kind::ridge, theme_));
  }
  // Feet at (x, y), as high as 44; the arm reaches to `hand`.
  void person(float x, float y, Point hand) {
    disc({x, y - 39}, 5, theme_.ink);
    line({{x, y - 34}, {x, y - 16}}, 4);
    line({{x - 6, y}, {x, y - 16}, {x + 6, y}}, 3);
    line({{x, y - 29}, hand}, 2.5f);
  }
  void cross(float x, float y) {
    canvas_.stroke(path({{x - 9, y - 9}, {x + 9, y + 9}}, false), {theme_.warning, 3.5f * scale_});
    canvas_.stroke(path({{x + 9, y - 9}, {x - 9, y + 9}}, false), {theme_.warning, 3.5f * scale_});
  }
  void tick(float x, float y) {
    canvas_.stroke(path({{x - 8, y}, {x - 2, y + 7}, {x + 9, y - 8}}, false),
                   {theme_.good, 3.5f * scale_});
  }
  void sun(float x, float y) {
    disc({x, y}, 7, theme_.amber);
    ring({x, y}, 7, 1.5f);
  }

 private:
  Canvas& canvas_;
  const Theme& theme_;
  float scale_ = 1;
  Point origin_;
};

// On the plot, away from iron and walls.
void stand(Pen& pen) {
  pen.ground(78);
  pen.person(68, 78, {80, 52});
  pen.shape({{6, 78}, {6, 62}, {14, 62}, {19, 52}, {33, 52}, {36, 78}},
            paint_of(horizon::Kind::building, pen.theme()));
  pen.disc({14, 78}, 5, pen.theme().ink);
  pen.disc({29, 78}, 5, pen.theme().ink);
  pen.cross(22, 42);
  pen.dashed({{38, 88}, {64, 88}});
  pen.line({{38, 84}, {38, 92}});
  pen.line({{64, 84}, {64, 92}});
  pen.tick(82, 34);
}

// Upright in both hands, the camera's back to the ridge.
void phone(Pen& pen) {
  pen.ridge();
  pen.ground(82);
  pen.person(22, 82, {38, 46});
  pen.line({{22, 54}, {38, 52}}, 2.5f);
  pen.shape({{37, 38}, {42, 38}, {42, 57}, {37, 57}}, {pen.theme().ink});
  pen.dashed({{44, 45}, {76, 28}});
  pen.ring({76, 28}, 5, 2);
}

// Level, away from iron; the needle swings free.
void compass(Pen& pen) {
  pen.ground(86);
  pen.person(24, 86, {42, 52});
  pen.line({{36, 52}, {48, 52}}, 4);
  pen.dashed({{49, 51}, {94, 46}});
  pen.ring({72, 24}, 18, 3);
  pen.shape({{72, 9}, {76.5f, 24}, {67.5f, 24}}, {pen.theme().warning});
  pen.shape({{72, 39}, {76.5f, 24}, {67.5f, 24}}, {pen.theme().rule});
  pen.line({{72, 39}, {76.5f, 24}, {67.5f, 24}, {72, 39}}, 1.2f);
  pen.disc({72, 24}, 2.2f, pen.theme().ink);
}

// At the eye, both eyes open; the angle is from level.
void clinometer(Pen& pen) {
  pen.ridge();
  pen.ground(84);
  pen.person(20, 84, {30, 46});
  pen.shape({{25, 41}, {37, 37}, {38.5f, 42}, {26.5f, 46}}, {pen.theme().ink});
  pen.dashed({{38, 40}, {76, 28}});
  pen.dashed({{38, 42}, {60, 42}});
  pen.bow({34, 42}, 24, 76, 90);
}

// Level, pulled straight, read where the plumb hangs.
void tape(Pen& pen) {
  pen.shape({{2, 66}, {98, 86}, {98, 98}, {2, 98}}, {pen.theme().rule});
  pen.line({{2, 66}, {98, 86}}, 2);
  pen.line({{14, 68}, {14, 44}}, 3);
  pen.line({{84, 83}, {84, 44}}, 3);
  pen.line({{14, 46}, {84, 46}}, 3);
  for (float x = 24; x < 84; x += 10) pen.line({{x, 46}, {x, 51}}, 1.5f);
  pen.dashed({{84, 46}, {84, 80}});
  pen.bow({14, 46}, 12, 90, 178);
  pen.tick(50, 28);
}

// A string with a weight, still, away from wind; its shadow is the line.
void plumb(Pen& pen) {
  pen.sun(14, 16);
  pen.ground(80);
  pen.line({{56, 10}, {88, 10}}, 4);
  pen.line({{86, 10}, {86, 80}}, 4);
  pen.line({{60, 10}, {60, 60}}, 1.5f);
  pen.shape({{55, 58}, {65, 58}, {60, 73}}, {pen.theme().ink});
  pen.shape({{60, 80}, {97, 91}, {97, 95}, {60, 83}}, {pen.theme().night});
  pen.dashed({{20, 20}, {58, 60}});
}

// One clean wall, stepped sides, the tape from the top; nobody in a pit deeper than the hip.
void pit(Pen& pen) {
  const Theme& t = pen.theme();
  pen.shape({{2, 30}, {98, 30}, {98, 98}, {2, 98}}, {t.rule});
  pen.shape({{22, 30}, {22, 84}, {70, 84}, {70, 66}, {80, 66}, {80, 48}, {90, 48}, {90, 30}},
            {t.card});
  pen.shape({{12, 30}, {22, 30}, {22, 44}, {12, 44}}, {t.pole});
  pen.shape({{12, 44}, {22, 44}, {22, 64}, {12, 64}}, paint_of(horizon::Kind::leafy, t));
  pen.shape({{12, 64}, {22, 64}, {22, 84}, {12, 84}}, paint_of(horizon::Kind::building, t));
  pen.line({{2, 30},
            {22, 30},
            {22, 84},
            {70, 84},
            {70, 66},
            {80, 66},
            {80, 48},
            {90, 48},
            {90, 30},
            {98, 30}},
           2.5f);
  pen.line({{28, 30}, {28, 84}}, 2);
  for (float y = 30; y < 84; y += 9) pen.line({{28, y}, {33, y}}, 1.5f);
  pen.line({{52, 84}, {60, 20}}, 3);
  pen.shape({{48, 70}, {57, 71}, {52, 84}}, {t.ink});
}

// Clear: its edge is a line. Not clear: thin cloud, no edge.
void shadow(Pen& pen) {
  pen.sun(10, 12);
  pen.sun(60, 12);
  pen.disc({66, 16}, 7, pen.theme().rule);
  pen.disc({75, 18}, 6, pen.theme().rule);
  pen.ground(64);
  pen.line({{22, 24}, {22, 64}}, 4);
  pen.shape({{22, 64}, {48, 80}, {44, 83}, {18, 66}}, {pen.theme().night});
  pen.line({{72, 30}, {72, 64}}, 4);
  pen.shape({{72, 64}, {97, 77}, {86, 88}, {66, 67}}, {faded(pen.theme().night, 0.3f)});
  pen.tick(34, 92);
  pen.cross(84, 91);
}

}  // namespace

std::string name_of(HowTo act) {
  constexpr std::array<const char*, kActCount> kNames{"stand", "phone", "compass", "clinometer",
                                                      "tape",  "plumb", "pit",     "shadow"};
  return kNames[std::size_t(act)];
}

void draw_act(Canvas& canvas, Rect box, HowTo act, const Theme& theme) {
  constexpr std::array<void (*)(Pen&), kActCount> kDrawings{stand, phone, compass, clinometer,
                                                            tape,  plumb, pit,     shadow};
  canvas.begin_figure(tr("act." + name_of(act)));
  Pen pen(canvas, box, theme);
  kDrawings[std::size_t(act)](pen);
  canvas.end_figure();
}

}  // namespace app
