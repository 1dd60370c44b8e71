#include "app/handover/site_plan.h"

#include <algorithm>
#include <cmath>

#include "horizon/geodesy.h"
#include "horizon/plot/shadow.h"
#include "survey/book/text.h"
#include "survey/exchange/exchange.h"
#include "survey/exchange/grid.h"

namespace app {
namespace {

using horizon::PlanPoint;
using horizon::SitePlan;

constexpr double kOnThePlan_m = 300;  // from the main station; further things are told by bearing
constexpr double kBearable_m = 0.25;  // a height worse than that makes no contour

class Builder {
 public:
  Builder(const SiteReport& site, const survey::PlotInput& input) : site_(site), input_(input) {}

  SitePlan run() {
    plan_.site = site_.site().name;
    plan_.origin = input_.origin;
    north_and_grid();
    stations();
    obstacles();
    lines();
    hazards_and_probes();
    ground();
    add_houses(plan_, site_, input_, horizon::Levels(levelled_));
    shadows();
    photos();
    return std::move(plan_);
  }

 private:
  PlanPoint point(const survey::Position& p, std::optional<double> sigma_m = {},
                  std::optional<double> up_sigma_m = {}) const {
    const double height = p.height_m.value_or(plan_.origin.height_m);
    const auto enu = horizon::to_enu(plan_.origin, {p.latitude_deg, p.longitude_deg, height});
    PlanPoint out{enu.x(), enu.y(), {}, sigma_m, up_sigma_m};
    if (p.height_m) out.up_m = *p.height_m - plan_.origin.height_m;
    return out;
  }
  void unknown(const char* key, std::string filled = {}) {
    plan_.unknown.push_back({key, std::move(filled)});
  }
  static bool near(const PlanPoint& p) { return std::hypot(p.east_m, p.north_m) < kOnThePlan_m; }

  void north_and_grid() {
    const StationReport& main = site_.stations.front();
    const auto& station = main.derived.station;
    plan_.height_datum = std::string(name_of(station.height_datum));
    plan_.height_sigma_m = station.height_sigma_m;
    if (!station.position.height_m) unknown("plan.unknown.level_datum");
    plan_.declination_deg = main.derived.declination_deg;
    if (plan_.declination_deg) plan_.declination_sigma_deg = main.derived.declination_sigma_deg;
    plan_.declination_source = main.derived.declination_source;
    for (const auto& each : main.derived.instruments)
      if (each.magnetic && each.correction.used > 0 && !each.correction.disputed) {
        plan_.compass_off_deg = each.correction.offset_deg;
        plan_.compass_sigma_deg = each.correction.sigma_deg;
        break;
      }
    if (!plan_.compass_off_deg) unknown("plan.unknown.compass");
    horizon::PlanGrid grid;
    grid.code = site_.site().grid;
    grid.chosen = !grid.code.empty();
    if (!grid.chosen) {
      char code[24];
      const int zone = survey::utm_zone_of(plan_.origin);
      std::snprintf(code, sizeof code, "EPSG:%d",
                    (plan_.origin.latitude_deg < 0 ? 32700 : 32600) + zone);
      grid.code = code;
    }
    const auto opened = survey::Grid::open(grid.code);
    const auto at = opened ? opened->at(plan_.origin) : tl::unexpected(opened.error());
    if (!at) return unknown("plan.unknown.grid", grid.code);
    grid.name = opened->name();
    grid.easting = at->easting;
    grid.northing = at->northing;
    grid.convergence_deg = at->convergence_deg;
    grid.scale = at->scale;
    plan_.grid = grid;
  }

  void stations() {
    const auto& placed = site_.plot->plot.survey.stations;
    for (std::size_t i = 0; i < placed.size(); ++i) {
      horizon::PlanStation out;
      out.name = placed[i].name;
      out.main = i == 0;
      out.id = input_.station_ids[i];
      out.eye_height_m = placed[i].eye_height_m;
      // As surveyed, not as the adjustment moved it: pegs are set out from the mark on the ground.
      const auto& eye = input_.survey.stations[i].eye;
      out.ground = {eye.x(), eye.y(), eye.z() - placed[i].eye_height_m,
                    i == 0 ? 0.0 : placed[i].horizontal_sigma_m,
                    i == 0 ? 0.0 : placed[i].up_sigma_m};
      if (i == 0) plan_.origin_station = out.name;
      if (const auto* report = site_.station(out.id)) {
        out.winter_sun_h_day = report->findings.hours.winter_h_a_day.value;
        if (!report->derived.instruments.empty())
          out.instrument = report->derived.instruments.front().instrument;
        for (const auto& piece : report->masks.all.pieces()) {
          out.skyline.emplace_back(piece.from_deg, piece.from_el_deg);
          out.skyline.emplace_back(piece.to_deg, piece.to_el_deg);
        }
        if (report->derived.station.position.height_m)
          level(out.ground);
        else
          out.ground.up_m.reset();
      }
      plan_.stations.push_back(std::move(out));
    }
  }

  void level(const PlanPoint& p) {
    plan_.levels.push_back(p);
    if (p.up_m && p.up_sigma_m && *p.up_sigma_m <= kBearable_m)
      levelled_.emplace_back(p.east_m, p.north_m, *p.up_m);
  }

  void obstacles() {
    const auto& plot = site_.plot->plot;
    std::string nobody_s;  // trees of which nobody wrote whose they are
    for (std::size_t o = 0; o < plot.survey.obstacles.size(); ++o) {
      const auto& from = plot.survey.obstacles[o];
      if (from.what.kind == horizon::Kind::ridge) continue;
      horizon::PlanObstacle out;
      out.name = from.what.label;
      out.kind = from.what.kind;
      const auto found =
          std::find_if(plot.shapes.begin(), plot.shapes.end(),
                       [&](const auto& each) { return each.obstacle == static_cast<int>(o); });
      if (found == plot.shapes.end()) continue;
      const horizon::Shape& shape = found->choices.front().shape;
      const double sigma = found->ellipse.major_m, up_sigma = found->height_sigma_m;
      if (shape.form == horizon::ShapeForm::round) {
        out.tops.push_back({shape.middle.x(), shape.middle.y(), shape.top_up_m, sigma, up_sigma});
        out.radius_m = shape.length_m / 2;
      } else {
        // Its corners in turn and back to the first, as high as its top.
        const auto corners = horizon::corners_of(shape);
        for (const std::size_t c : {0U, 1U, 2U, 3U, 0U})
          out.tops.push_back(
              {corners.at[c].x(), corners.at[c].y(), shape.top_up_m, sigma, up_sigma});
      }
      out.placing = found->placing;
      out.height_m = found->height_m;
      out.height_sigma_m = found->height_sigma_m;
      out.stations = found->stations;
      out.azimuth_deg =
          horizon::wrap_360(std::atan2(found->middle.x(), found->middle.y()) / horizon::kDegree);
      if (out.placing == horizon::Placing::direction) {
        unknown("plan.unknown.distance", out.name);
      } else {
        out.ellipse = found->ellipse;
        out.width_m = shape.length_m;
      }
      for (const auto& row : site_.obstacles)
        if (row.kind == out.kind && row.label == out.name) out.note = row.note;
      const bool tree = out.kind == horizon::Kind::evergreen || out.kind == horizon::Kind::leafy;
      if (tree && out.note.empty() && !out.name.empty())
        nobody_s += (nobody_s.empty() ? "" : ", ") + out.name;
      plan_.obstacles.push_back(std::move(out));
    }
    if (!nobody_s.empty()) unknown("plan.unknown.owner", nobody_s);
  }

  static horizon::PlanLineKind kind_of(survey::PathKind kind) {
    using horizon::PlanLineKind;
    switch (kind) {
      case survey::PathKind::boundary:
        return PlanLineKind::boundary;
      case survey::PathKind::access:
        return PlanLineKind::access;
      case survey::PathKind::watercourse:
        return PlanLineKind::watercourse;
      case survey::PathKind::service:
        return PlanLineKind::service;
      case survey::PathKind::building:
        return PlanLineKind::building;
      default:
        return PlanLineKind::other;
    }
  }

  void lines() {
    for (const auto& path : site_.paths) {
      if (path.kind == survey::PathKind::walked) continue;  // where somebody went, no part of it
      horizon::PlanLine line;
      line.kind = kind_of(path.kind);
      line.name = path.name;
      line.closed = path.closed;
      for (const auto& p : path.points) {
        line.points.push_back(point(p.position, 3.0));  // as good as a walked line
        if (!near(line.points.back())) line.points.pop_back();
      }
      if (line.points.size() > 1) plan_.lines.push_back(std::move(line));
    }
    const auto has = [&](horizon::PlanLineKind kind) {
      return std::any_of(plan_.lines.begin(), plan_.lines.end(),
                         [&](const auto& line) { return line.kind == kind; });
    };
    plan_.setback_m = input_.setback_m;
    plan_.limits = input_.limits;
    if (input_.boundary.empty()) unknown("plan.unknown.boundary");
    if (!has(horizon::PlanLineKind::access)) unknown("plan.unknown.access");
    if (!has(horizon::PlanLineKind::service)) unknown("plan.unknown.services");
    if (input_.setback_m <= 0) {
      unknown("plan.unknown.setback");
    } else if (const auto inner = horizon::set_back(input_.boundary, input_.setback_m);
               !inner.empty()) {
      horizon::PlanLine line{horizon::PlanLineKind::setback, "", true, {}};
      for (const auto& p : inner) line.points.push_back({p.x(), p.y(), {}, 3.0, {}});
      plan_.lines.push_back(std::move(line));
    }
  }

  void hazards_and_probes() {
    for (const auto& hazard : site_.hazards) {
      horizon::PlanHazard out;
      out.kind = std::string(name_of(hazard.kind));
      out.text = hazard.text;
      out.severity = hazard.severity;
      if (hazard.position) out.at = point(*hazard.position);
      if (!hazard.position && hazard.severity >= 2)
        unknown("plan.unknown.hazard", hazard.text.empty() ? out.kind : hazard.text);
      plan_.hazards.push_back(std::move(out));
    }
    for (const auto& pit : site_.pits) {
      horizon::PlanProbe out{pit.pit.name,    false,           {},
                             pit.pit.depth_m, pit.pit.water_m, pit.pit.rock_m};
      if (pit.pit.position) out.at = point(*pit.pit.position);
      plan_.probes.push_back(std::move(out));
    }
    for (const auto& test : site_.percolation) {
      horizon::PlanProbe out{test.test.name, true, {}, test.test.hole_depth_m, {}, {}};
      if (test.test.position) out.at = point(*test.test.position);
      plan_.probes.push_back(std::move(out));
    }
  }

  void ground() {
    for (const auto& mark : site_.landmarks) {
      const auto p = point(mark.position, mark.sigma_m, mark.height_sigma_m);
      if (p.up_m && near(p)) level(p);
    }
    for (const auto& path : site_.paths)
      for (const auto& each : path.points)
        if (each.position.height_m) {
          const auto p = point(each.position, 3.0, {});
          if (near(p)) plan_.levels.push_back(p);
        }
    const horizon::Levels levels(levelled_);
    const auto fall = levels.plane();
    if (fall) {
      horizon::PlanSlope slope;
      slope.slope_deg = fall->slope_deg;
      slope.downhill_true_deg = fall->downhill_true_deg;
      slope.from_levels = true;
      double reach = 0;
      for (const auto& p : levelled_)
        for (const auto& q : levelled_) reach = std::max(reach, (p - q).head<2>().norm());
      slope.sigma_deg = kBearable_m / std::max(1.0, reach) / horizon::kDegree;
      plan_.slope = slope;
      const auto [low, high] =
          std::minmax_element(levelled_.begin(), levelled_.end(),
                              [](const auto& a, const auto& b) { return a.z() < b.z(); });
      const double range = high->z() - low->z();
      for (const double step : {0.25, 0.5, 1.0, 2.0, 5.0, 10.0})
        if (range / step <= 12) {
          plan_.contour_step_m = step;
          break;
        }
      plan_.ground = levels.points();
      plan_.ground_triangles = levels.triangles();
      plan_.contours = levels.contours(plan_.contour_step_m);
    } else {
      unknown("plan.unknown.contours");
      if (site_.settings.slope) {
        horizon::PlanSlope slope;
        slope.slope_deg = site_.settings.slope->slope_deg;
        slope.downhill_true_deg = site_.settings.slope->downhill.degrees();
        slope.sigma_deg = 1;  // of a hand level [common practice]
        for (const auto& pit : site_.pits)
          if (pit.pit.slope_deg && pit.pit.position) {
            slope.at = point(*pit.pit.position);
            break;
          }
        plan_.slope = slope;
      } else {
        unknown("plan.unknown.slope");
      }
    }
  }

  void shadows() {
    const StationReport& main = site_.stations.front();
    const auto& path = *main.path;
    const auto& shortest = main.findings.hours.shortest_day;
    const auto ground = horizon::ground_plane(site_.plot->plot.survey.stations);
    for (int day = 0; day < path.days(); ++day) {
      if (path.date(day) != shortest) continue;
      for (const int hour : {9, 12, 15}) {
        const auto sun = path.at(path.day_start_utc_s(day) + hour * 3600.0);
        horizon::PlanSunAt at{hour, sun.azimuth_deg, sun.elevation_deg, false};
        const auto& piece = main.masks.all.piece_at(sun.azimuth_deg);
        const bool ridge =
            piece.obstacle < 0 ||
            main.skyline().obstacles[static_cast<std::size_t>(piece.obstacle)].kind ==
                horizon::Kind::ridge;
        at.behind_skyline = sun.elevation_deg <= 0 ||
                            (ridge && piece.elevation_deg(sun.azimuth_deg) > sun.elevation_deg);
        plan_.suns.push_back(at);
        if (at.behind_skyline) continue;
        for (const auto& thing : plan_.obstacles)
          for (auto& outline :
               horizon::shadows_of(thing, ground, horizon::TrueAzimuth::degrees(sun.azimuth_deg),
                                   horizon::Elevation::degrees(sun.elevation_deg)))
            plan_.shadows.push_back({hour, thing.name, std::move(outline)});
      }
    }
  }

  void photos() {
    for (std::size_t i = 0; i < site_.photos.size(); ++i) {
      const auto& photo = site_.photos[i];
      horizon::PlanPhoto out;
      out.number = static_cast<int>(i) + 1;
      out.what = photo.label.empty() ? photo.note : photo.label;
      out.file = photo_file_name(site_, i);
      if (photo.position) {
        out.at = point(*photo.position);
      } else {
        for (const auto& station : plan_.stations)
          if (station.id == photo.station_id) out.at = station.ground;
      }
      if (photo.bearing_deg) {
        double turn = 0;
        if (photo.reference == survey::Reference::magnetic)
          turn = plan_.declination_deg.value_or(0) + plan_.compass_off_deg.value_or(0);
        if (photo.reference == survey::Reference::grid && plan_.grid)
          turn = plan_.grid->convergence_deg;
        out.true_deg = horizon::wrap_360(*photo.bearing_deg + turn);
      }
      out.view_deg = photo.view_width_deg.value_or(0);
      plan_.photos.push_back(std::move(out));
    }
  }

  const SiteReport& site_;
  const survey::PlotInput& input_;
  SitePlan plan_;
  std::vector<Eigen::Vector3d> levelled_;
};

}  // namespace

SitePlan site_plan(const SiteReport& site, const survey::PlotInput& input) {
  return Builder(site, input).run();
}

horizon::PlanBearing bearing_of(const SitePlan& plan, double true_deg) {
  horizon::PlanBearing out;
  out.true_deg = horizon::wrap_360(true_deg);
  if (plan.grid) out.grid_deg = horizon::wrap_360(true_deg - plan.grid->convergence_deg);
  if (plan.declination_deg) {
    out.compass_deg =
        horizon::wrap_360(true_deg - *plan.declination_deg - plan.compass_off_deg.value_or(0));
    // Common practice, where nobody checked it: 4 degrees.
    out.compass_sigma_deg = plan.compass_off_deg
                                ? plan.compass_sigma_deg.value_or(1)
                                : std::hypot(4.0, plan.declination_sigma_deg.value_or(0));
  }
  return out;
}

std::string photo_file_name(const SiteReport& site, std::size_t index) {
  const auto& photo = site.photos[index];
  const auto* station = site.station(photo.station_id);
  std::string what = !photo.label.empty() ? photo.label : photo.note;
  if (what.empty()) what = "view";
  if (station) what += " from " + station->name();
  char number[32];
  std::snprintf(number, sizeof number, "photos/%03d-", static_cast<int>(index) + 1);
  return number + survey::file_stem_of(what, "photo") +
         (photo.media_type == "image/png" ? ".png" : ".jpg");
}

}  // namespace app
