#include "horizon/plot/predicted_skyline.h"

#include <algorithm>
#include <cmath>

namespace horizon {
namespace {

constexpr double kPoleWidth_m = 0.3;
constexpr double kEdgeStep_deg = 5;  // a great circle given as chords of this length
constexpr int kRoundPoints = 9;
constexpr double kNinety = 1.6449;  // sigmas either side that hold 90 %

Enu ray_direction(const PlacedPlot::Ray& ray, const Enu& eye) {
  const double az = ray.azimuth_rad, el = ray.elevation_rad;
  return (ray.from - eye) * ray.inverse_m +
         Enu(std::sin(az) * std::cos(el), std::cos(az) * std::cos(el), std::sin(el));
}

// How f changes with the six numbers of two rays, and so its sigma.
template <class F>
double sigma_of(const PlacedPlot& plot, std::array<int, 2> marks, F&& f) {
  std::vector<PlacedPlot::Ray> rays = plot.rays;
  Eigen::Matrix<double, 6, 1> gradient = Eigen::Matrix<double, 6, 1>::Zero();
  Eigen::Matrix<double, 6, 6> covariance = Eigen::Matrix<double, 6, 6>::Zero();
  const int count = marks[1] >= 0 && marks[1] != marks[0] ? 2 : 1;
  for (int p = 0; p < count; ++p) {
    PlacedPlot::Ray& ray = rays[static_cast<size_t>(marks[static_cast<size_t>(p)])];
    double* const parts[] = {&ray.azimuth_rad, &ray.elevation_rad, &ray.inverse_m};
    for (int k = 0; k < 3; ++k) {
      const double keep = *parts[k];
      const double step = k == 2 ? std::max(1e-7, 1e-4 * keep) : 1e-5;
      *parts[k] = keep + step;
      const double more = f(rays);
      *parts[k] = keep - step;
      const double less = f(rays);
      *parts[k] = keep;
      gradient(3 * p + k) = wrap_180(more - less) / (2 * step);
    }
    for (int q = 0; q < count; ++q)
      covariance.block<3, 3>(3 * p, 3 * q) = plot.covariance.block<3, 3>(
          3 * marks[static_cast<size_t>(p)], 3 * marks[static_cast<size_t>(q)]);
  }
  return std::sqrt(std::max(0.0, gradient.dot(covariance * gradient)));
}

double azimuth_sigma(const PlacedPlot& plot, const Enu& eye, int mark) {
  return sigma_of(plot, {mark, -1}, [&](const auto& rays) {
    const Enu v = ray_direction(rays[static_cast<size_t>(mark)], eye);
    return std::atan2(v.x(), v.y()) / kDegree;
  });
}
double elevation_sigma(const PlacedPlot& plot, const Enu& eye, int mark) {
  return sigma_of(plot, {mark, -1}, [&](const auto& rays) {
    const Enu v = ray_direction(rays[static_cast<size_t>(mark)], eye);
    return std::atan2(v.z(), std::hypot(v.x(), v.y())) / kDegree;
  });
}

}  // namespace

double SpotView::Piece::elevation_deg(double along) const {
  switch (form) {
    case Form::line:
      return width_deg > 0 ? a + (b - a) * along / width_deg : std::max(a, b);
    case Form::circle: {
      const double az = (from_deg + along) * kDegree;
      return std::atan(a * std::cos(az) + b * std::sin(az)) / kDegree;
    }
    case Form::round: {
      const double t = width_deg > 0 ? 2 * along / width_deg - 1 : 0;
      return a + (b - a) * std::sqrt(std::max(0.0, 1 - t * t));
    }
    case Form::level:
      break;
  }
  return a;
}

void SpotView::add_shape(const Shape& shape, int obstacle, const Enu& eye) {
  if (shape.covers(eye.x(), eye.y())) {
    inside_ = obstacle;
    pieces_.push_back({Form::level, 0, 360, 89.9, 89.9, obstacle, {-1, -1}, false});
    return;
  }
  if (shape.form == ShapeForm::round) {
    const CrownSeen seen = crown_seen(shape, eye);
    Piece piece{Form::round};
    piece.width_deg = 2 * seen.half_width_rad / kDegree;
    piece.from_deg = wrap_360((seen.azimuth_rad - seen.half_width_rad) / kDegree);
    piece.a = std::atan(seen.wide_tan) / kDegree;
    piece.b = std::atan(seen.top_tan) / kDegree;
    piece.obstacle = obstacle;
    pieces_.push_back(piece);
    return;
  }
  const ShapeCorners corners = corners_of(shape);
  for (int e = 0; e < corners.edge_count; ++e) {
    const auto [i, j] = corners.edges[static_cast<size_t>(e)];
    Enu p = corners.at[static_cast<size_t>(i)] - eye, q = corners.at[static_cast<size_t>(j)] - eye;
    double az1 = std::atan2(p.x(), p.y()), az2 = std::atan2(q.x(), q.y());
    if (std::sin(az2 - az1) < 0) std::swap(p, q), std::swap(az1, az2);
    const double t1 = p.z() / std::max(0.01, std::hypot(p.x(), p.y())),
                 t2 = q.z() / std::max(0.01, std::hypot(q.x(), q.y()));
    Piece piece{Form::circle, wrap_360(az1 / kDegree), wrap_360((az2 - az1) / kDegree)};
    piece.obstacle = obstacle;
    const double sine = std::sin(az2 - az1);
    if (sine < 1e-6) {  // one end behind the other
      piece = {Form::level, wrap_360(az1 / kDegree), 0, 0, 0, obstacle, {-1, -1}, false};
      piece.a = piece.b = std::atan(std::max(t1, t2)) / kDegree;
    } else {
      piece.a = (t1 * std::sin(az2) - t2 * std::sin(az1)) / sine;
      piece.b = (t2 * std::cos(az1) - t1 * std::cos(az2)) / sine;
    }
    pieces_.push_back(piece);
  }
}

SpotView::SpotView(const PlacedPlot& plot, std::span<const PlacedPlot::Ray> rays, const Enu& eye,
                   int draw) {
  for (const PlacedShape& shape : plot.shapes)
    add_shape(draw < 0 ? shape.choices.front().shape : shape.draws[static_cast<size_t>(draw)],
              shape.obstacle, eye);
  const PlotSurvey& survey = plot.survey;
  seen_.reserve(rays.size());
  for (const PlacedPlot::Ray& ray : rays) {
    const Enu v = ray_direction(ray, eye);
    const double flat = std::hypot(v.x(), v.y());
    seen_.push_back({wrap_360(std::atan2(v.x(), v.y()) / kDegree),
                     std::atan2(v.z(), flat) / kDegree, flat / std::max(1e-6, ray.inverse_m)});
  }

  std::vector<int> ridge;
  std::vector<std::vector<int>> near(survey.obstacles.size());
  for (size_t m = 0; m < survey.marks.size(); ++m) {
    const auto o = static_cast<size_t>(survey.marks[m].obstacle);
    if (survey.obstacles[o].what.kind == Kind::ridge)
      ridge.push_back(static_cast<int>(m));
    else
      near[o].push_back(static_cast<int>(m));
  }
  std::sort(ridge.begin(), ridge.end(),
            [&](int x, int y) { return mark(x).azimuth_deg < mark(y).azimuth_deg; });
  for (size_t i = 0; i < ridge.size(); ++i) {
    const int from = ridge[i], to = ridge[(i + 1) % ridge.size()];
    double width = wrap_360(mark(to).azimuth_deg - mark(from).azimuth_deg);
    if (ridge.size() == 1) width = 360;
    Piece piece{Form::line, mark(from).azimuth_deg, width, mark(from).elevation_deg,
                mark(to).elevation_deg};
    piece.obstacle = survey.marks[static_cast<size_t>(from)].obstacle;
    piece.marks = {from, to};
    piece.open = width > survey.max_gap_deg;
    pieces_.push_back(piece);
  }

  for (size_t o = 0; o < near.size(); ++o) {
    const PlotObstacle& obstacle = survey.obstacles[o];
    const int number = static_cast<int>(o);
    if (obstacle.radius_m || near[o].size() == 1) {
      for (const int m : near[o]) {
        const MarkSeen& top = mark(m);
        Piece piece;
        piece.obstacle = number;
        piece.marks = {m, m};
        if (obstacle.radius_m) {
          const double r = *obstacle.radius_m;
          if (top.distance_m <= r) {
            inside_ = number;
            piece = {Form::level, 0, 360, 89.9, 89.9, number, {m, m}, false};
          } else {
            // The crown's widest part lies one radius below its top, and hides what is below.
            const double up_m = top.distance_m * std::tan(top.elevation_deg * kDegree) - r;
            piece.form = Form::round;
            piece.width_deg = 2 * std::asin(r / top.distance_m) / kDegree;
            piece.a = std::atan2(up_m, top.distance_m) / kDegree;
            piece.b = top.elevation_deg;
            piece.from_deg = wrap_360(top.azimuth_deg - piece.width_deg / 2);
          }
        } else {
          piece.form = Form::level;
          piece.width_deg = obstacle.what.width_deg.value_or(
              std::min(90.0, kPoleWidth_m / std::max(0.01, top.distance_m) / kDegree));
          piece.a = piece.b = top.elevation_deg;
          piece.from_deg = wrap_360(top.azimuth_deg - piece.width_deg / 2);
        }
        pieces_.push_back(piece);
      }
      continue;
    }
    for (size_t i = 0; i + 1 < near[o].size(); ++i) {
      int from = near[o][i], to = near[o][i + 1];
      if (wrap_180(mark(to).azimuth_deg - mark(from).azimuth_deg) < 0) std::swap(from, to);
      const MarkSeen &p = mark(from), &q = mark(to);
      Piece piece{Form::circle, p.azimuth_deg, wrap_360(q.azimuth_deg - p.azimuth_deg)};
      piece.obstacle = number;
      piece.marks = {from, to};
      const double az1 = p.azimuth_deg * kDegree, az2 = q.azimuth_deg * kDegree;
      const double t1 = std::tan(p.elevation_deg * kDegree),
                   t2 = std::tan(q.elevation_deg * kDegree);
      const double sine = std::sin(az2 - az1);
      if (std::abs(sine) < 1e-6) {  // one end behind the other: the higher counts
        piece.form = Form::line;
        piece.a = p.elevation_deg;
        piece.b = q.elevation_deg;
      } else {
        piece.a = (t1 * std::sin(az2) - t2 * std::sin(az1)) / sine;
        piece.b = (t2 * std::cos(az1) - t1 * std::cos(az2)) / sine;
      }
      pieces_.push_back(piece);
    }
  }
}

const SpotView::Piece* SpotView::highest_at(double azimuth_deg, double* elevation_deg) const {
  const Piece* best = nullptr;
  for (const Piece& piece : pieces_) {
    const double along = wrap_360(azimuth_deg - piece.from_deg);
    if (along > piece.width_deg) continue;
    const double el = piece.elevation_deg(along);
    if (best && el <= *elevation_deg) continue;
    best = &piece;
    *elevation_deg = el;
  }
  return best;
}

void SpotView::highest_at(std::span<const double> azimuths_deg, double nothing,
                          std::vector<double>& elevations_deg) const {
  constexpr double kSpare_deg = 1e-6;  // rounding: `along` decides
  elevations_deg.assign(azimuths_deg.size(), nothing);
  std::vector<char> reached(azimuths_deg.size());
  for (const Piece& piece : pieces_) {
    const auto over = [&](double from, double to) {
      for (auto at = std::lower_bound(azimuths_deg.begin(), azimuths_deg.end(), from);
           at != azimuths_deg.end() && *at <= to; ++at) {
        const double along = wrap_360(*at - piece.from_deg);
        if (along > piece.width_deg) continue;
        const auto i = static_cast<size_t>(at - azimuths_deg.begin());
        const double el = piece.elevation_deg(along);
        if (reached[i] && el <= elevations_deg[i]) continue;
        reached[i] = true;
        elevations_deg[i] = el;
      }
    };
    const double to = piece.from_deg + piece.width_deg;
    over(piece.from_deg - kSpare_deg, std::min(to, 360.0) + kSpare_deg);
    if (to + kSpare_deg >= 360) over(0, std::min(to - 360 + kSpare_deg, piece.from_deg));
  }
}

PredictedElevation predicted_elevation(const PlacedPlot& plot, const Enu& eye,
                                       TrueAzimuth azimuth) {
  const SpotView view(plot, plot.rays, eye);
  PredictedElevation result;
  const auto band_at = [&](double az, double* el, double* sigma) {
    const SpotView::Piece* piece = view.highest_at(az, el);
    *sigma = 0;
    if (!piece || piece->marks[0] < 0) return piece;
    const auto index = static_cast<size_t>(piece - view.pieces().data());
    // The same piece, carried past its ends, so that a moved end does not end it.
    *sigma = sigma_of(plot, piece->marks, [&](const auto& rays) {
      const SpotView moved(plot, rays, eye);
      const SpotView::Piece& same = moved.pieces()[std::min(index, moved.pieces().size() - 1)];
      const double along = wrap_180(az - same.from_deg - same.width_deg / 2) + same.width_deg / 2;
      return same.elevation_deg(along);
    });
    return piece;
  };
  const SpotView::Piece* here =
      band_at(azimuth.degrees(), &result.elevation_deg, &result.sigma_deg);
  if (!here) return result;
  result.obstacle = here->obstacle;
  result.open = here->open;
  result.low_deg = result.elevation_deg - kNinety * result.sigma_deg;
  result.high_deg = result.elevation_deg + kNinety * result.sigma_deg;
  // Sides of near things: within their own error of bearing either may be seen.
  for (const SpotView::Piece& piece : view.pieces()) {
    if (piece.form == SpotView::Form::line || piece.marks[0] < 0) continue;
    for (int end = 0; end < 2; ++end) {
      const int m = piece.marks[static_cast<size_t>(end)];
      const double side = piece.from_deg + (end ? piece.width_deg : 0);
      const double away = wrap_180(azimuth.degrees() - side);
      const double reach = kNinety * azimuth_sigma(plot, eye, m);
      if (std::abs(away) > reach) continue;
      double el = 0, sigma = 0;
      if (!band_at(side - std::copysign(1e-6 + reach * 0.02, away), &el, &sigma)) continue;
      result.low_deg = std::min(result.low_deg, el - kNinety * sigma);
      result.high_deg = std::max(result.high_deg, el + kNinety * sigma);
    }
  }
  return result;
}

namespace {

// How unsure the thing's bearing and height are from this eye, by its draws.
void sigmas_of(const PlacedShape& shape, const Enu& eye, double* azimuth, double* elevation) {
  double az = 0, az2 = 0, el = 0, el2 = 0;
  const auto n = static_cast<double>(std::max<size_t>(1, shape.draws.size()));
  const auto seen = [&](const Shape& s, double* a, double* e) {
    const Eigen::Vector2d off = s.middle - eye.head<2>();
    *a = std::atan2(off.x(), off.y()) / kDegree;
    *e = std::atan2(s.top_up_m - eye.z(), std::max(0.5, off.norm())) / kDegree;
  };
  double a0 = 0, e0 = 0;
  seen(shape.choices.front().shape, &a0, &e0);
  for (const Shape& s : shape.draws) {
    double a = 0, e = 0;
    seen(s, &a, &e);
    a = wrap_180(a - a0);
    az += a / n;
    az2 += a * a / n;
    el += e / n;
    el2 += e * e / n;
  }
  *azimuth = std::max(0.05, std::sqrt(std::max(0.0, az2 - az * az)));
  *elevation = std::max(0.05, std::sqrt(std::max(0.0, el2 - el * el)));
}

void add_shape_points(const PlacedPlot& plot, const Enu& eye, const SpotView::Piece& piece,
                      int layer, Skyline& skyline) {
  const auto shape = std::find_if(plot.shapes.begin(), plot.shapes.end(),
                                  [&](const auto& s) { return s.obstacle == piece.obstacle; });
  SkylinePoint p;
  sigmas_of(*shape, eye, &p.azimuth_sigma_deg, &p.elevation_sigma_deg);
  if (shape->placing == Placing::placed)
    p.distance_m = std::max(0.5, (shape->choices.front().shape.middle - eye.head<2>()).norm());
  p.obstacle = piece.obstacle;
  p.layer = layer;
  p.computed = true;
  if (skyline.obstacles[static_cast<size_t>(piece.obstacle)].kind == Kind::pole) {
    skyline.obstacles[static_cast<size_t>(piece.obstacle)].width_deg = piece.width_deg;
    p.azimuth = TrueAzimuth::degrees(piece.from_deg + piece.width_deg / 2);
    p.elevation = Elevation::degrees(piece.elevation_deg(piece.width_deg / 2));
    skyline.points.push_back(p);
    return;
  }
  const int steps =
      piece.form == SpotView::Form::round
          ? std::max(kRoundPoints - 1, static_cast<int>(piece.width_deg / kEdgeStep_deg) + 1)
          : static_cast<int>(piece.width_deg / kEdgeStep_deg) + 1;
  for (int i = 0; i <= steps; ++i) {
    const double along = std::min(piece.width_deg * i / steps, 359.9);
    p.azimuth = TrueAzimuth::degrees(piece.from_deg + along);
    p.elevation = Elevation::degrees(piece.elevation_deg(along));
    skyline.points.push_back(p);
  }
}

}  // namespace

Skyline predicted_skyline(const PlacedPlot& plot, const Enu& eye) {
  const SpotView view(plot, plot.rays, eye);
  Skyline skyline;
  skyline.max_gap_deg = plot.survey.max_gap_deg;
  for (const PlotObstacle& obstacle : plot.survey.obstacles)
    skyline.obstacles.push_back(obstacle.what);
  const auto point = [&](const SpotView::Piece& piece, double along, int mark, int layer) {
    SkylinePoint p;
    p.azimuth = TrueAzimuth::degrees(piece.from_deg + along);
    p.elevation = Elevation::degrees(piece.elevation_deg(along));
    p.azimuth_sigma_deg = azimuth_sigma(plot, eye, mark);
    p.elevation_sigma_deg = elevation_sigma(plot, eye, mark);
    if (plot.marks[static_cast<size_t>(mark)].placing == Placing::placed)
      p.distance_m = view.mark(mark).distance_m;
    p.obstacle = piece.obstacle;
    p.layer = layer;
    p.source = mark;
    p.computed = true;
    return p;
  };
  int layer = 0;
  for (const SpotView::Piece& piece : view.pieces()) {
    if (piece.marks[0] < 0) {
      add_shape_points(plot, eye, piece, ++layer, skyline);
      continue;
    }
    if (piece.form == SpotView::Form::line &&
        plot.survey.obstacles[static_cast<size_t>(piece.obstacle)].what.kind == Kind::ridge) {
      skyline.points.push_back(point(piece, 0, piece.marks[0], 0));
      continue;
    }
    ++layer;
    if (skyline.obstacles[static_cast<size_t>(piece.obstacle)].kind == Kind::pole) {
      skyline.obstacles[static_cast<size_t>(piece.obstacle)].width_deg = piece.width_deg;
      skyline.points.push_back(point(piece, piece.width_deg / 2, piece.marks[0], layer));
      continue;
    }
    const int steps =
        piece.form == SpotView::Form::round
            ? std::max(kRoundPoints - 1, static_cast<int>(piece.width_deg / kEdgeStep_deg) + 1)
            : static_cast<int>(piece.width_deg / kEdgeStep_deg) + 1;
    for (int i = 0; i <= steps; ++i) {
      // All round is one layer whose ends must not fall on each other.
      const double along = std::min(piece.width_deg * i / steps, 359.9);
      const int mark = piece.marks[2 * i > steps ? 1 : 0];
      skyline.points.push_back(point(piece, along, mark, layer));
    }
  }
  return skyline;
}

}  // namespace horizon
