#include "horizon/plot/in_years.h"

#include <algorithm>

namespace horizon {
namespace {

void grow(Shape& shape, double by_m, double ground_up_m, double tallest_m) {
  const double height = shape.top_up_m - ground_up_m;
  const double up = std::clamp(tallest_m - height, 0.0, by_m);
  shape.top_up_m += up;
  shape.eave_up_m += up;
  shape.width_m += 2 * up / 3;
  shape.length_m += 2 * up / 3;
}

void build(PlacedPlot& plot, const ToBuild& one, const GroundPlane& ground) {
  plot.survey.obstacles.push_back({{Kind::building, one.name}, {}});
  PlacedShape placed;
  placed.obstacle = static_cast<int>(plot.survey.obstacles.size()) - 1;
  placed.placing = Placing::placed;
  placed.middle = {one.east_m, one.north_m};
  placed.height_m = placed.height_low_m = placed.height_high_m = one.height_m;
  Shape shape;
  shape.form = ShapeForm::flat;
  shape.middle = placed.middle;
  shape.turn_rad = one.long_side.radians();
  shape.length_m = one.length_m;
  shape.width_m = one.width_m;
  const auto on = [&](const GroundPlane& under) {
    shape.top_up_m = shape.eave_up_m = under.up_at(one.east_m, one.north_m) + one.height_m;
    return shape;
  };
  placed.choices = {{on(ground), 1}};
  for (const GroundPlane& under : plot.grounds) placed.draws.push_back(on(under));
  if (placed.draws.empty()) placed.draws.push_back(on(ground));
  if (!plot.shapes.empty())
    placed.ends.assign(plot.shapes.front().ends.size(), placed.choices.front().shape);
  plot.shapes.push_back(std::move(placed));
}

}  // namespace

PlacedPlot in_years(const PlacedPlot& plot, double years, const Growth& growth,
                    std::span<const int> gone, std::span<const ToBuild> built) {
  PlacedPlot later = plot;
  std::erase_if(later.shapes, [&](const PlacedShape& shape) {
    return std::find(gone.begin(), gone.end(), shape.obstacle) != gone.end();
  });
  const GroundPlane ground = ground_plane(plot.survey.stations);
  for (PlacedShape& shape : later.shapes) {
    const Kind kind = plot.survey.obstacles[static_cast<size_t>(shape.obstacle)].what.kind;
    if (kind != Kind::evergreen && kind != Kind::leafy) continue;
    const double by_m = years * (kind == Kind::leafy ? growth.leafy_m_y : growth.evergreen_m_y);
    for (ShapeChoice& choice : shape.choices)
      grow(choice.shape, by_m, ground.up_at(choice.shape.middle.x(), choice.shape.middle.y()),
           growth.tallest_m);
    for (Shape& end : shape.ends)  // as fast as any
      grow(end, 1.5 * by_m, ground.up_at(end.middle.x(), end.middle.y()), growth.tallest_m);
    for (size_t d = 0; d < shape.draws.size(); ++d) {
      // Eleven rates from a half to one and a half of it, each tree its own.
      const double rate =
          0.5 + static_cast<double>((7 * d + 3 * static_cast<size_t>(shape.obstacle)) % 11) / 10;
      Shape& draw = shape.draws[d];
      grow(draw, rate * by_m, plot.grounds[d].up_at(draw.middle.x(), draw.middle.y()),
           growth.tallest_m);
    }
  }
  for (const ToBuild& one : built)
    if (one.in_years <= years) build(later, one, ground);
  return later;
}

}  // namespace horizon
