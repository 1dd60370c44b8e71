// app/handover/plan_houses.cpp: three places for the house, each the end of another trade-off, with
// their pegs, their sun at four heights and what they cost.
#include <algorithm>
#include <cmath>

#include "app/handover/site_plan.h"
#include "horizon/geodesy.h"
#include "horizon/parallel.h"
#include "horizon/plot/predicted_skyline.h"
#include "survey/exchange/grid.h"

namespace app {
namespace {

using Eigen::Vector2d;
using horizon::PlanHouse;
using horizon::PlanRange;

constexpr double kHalfOfBest = 0.5;   // less sun than that is no option
constexpr double kTooSteep_deg = 10;  // common practice: above it a terrace is a job of its own
constexpr int kMostTried = 40;        // of the places with most sun by the map
constexpr double kBed_m = 0.2, kFoot_m = 0.1;
constexpr double kNinety = 1.645;

double to_line(const Vector2d& p, const std::vector<Vector2d>& line) {
  double best = 1e9;
  for (std::size_t i = 0; i < line.size(); ++i) {
    const Vector2d a = line[i], d = line[std::min(i + 1, line.size() - 1)] - a;
    const double t =
        d.squaredNorm() > 0 ? std::clamp((p - a).dot(d) / d.squaredNorm(), 0.0, 1.0) : 0;
    best = std::min(best, (a + t * d - p).norm());
  }
  return best;
}

class Houses {
 public:
  Houses(horizon::SitePlan& plan, const SiteReport& site, const survey::PlotInput& input,
         const horizon::Levels& levels)
      : plan_(plan),
        site_(site),
        input_(input),
        levels_(levels),
        ground_(horizon::ground_plane(site.plot->plot.survey.stations)),
        live_(input.stations.front()) {
    if (const auto grid = plan.grid ? survey::Grid::open(plan.grid->code)
                                    : horizon::Result<survey::Grid>(tl::unexpected(
                                          horizon::Error{horizon::Code::not_found, "", ""})))
      grid_ = *grid;
    const auto& choices = site.settings.choices;
    height_m_ = choices.height_m.value_or(3);
    for (const auto& line : plan.lines) {
      std::vector<Vector2d> flat;
      for (const auto& p : line.points) flat.push_back(p.flat());
      if (line.kind == horizon::PlanLineKind::access) ways_.push_back(flat);
    }
    for (const auto& note : site.notes)
      if (note.topic == survey::Topic::water && note.position) {
        const auto& p = *note.position;
        water_.push_back(
            horizon::to_enu(plan.origin, {p.latitude_deg, p.longitude_deg, plan.origin.height_m})
                .head<2>());
      }
  }

  void run() {
    auto places = admissible();
    // At the bed, by the predicted skyline.
    horizon::in_parallel(static_cast<int>(places.size()), [&](int i) {
      auto& place = places[static_cast<std::size_t>(i)];
      place.mean_h = bed_h(place);
    });
    horizon::sort_by_sun(places, [](const auto& place) { return place.mean_h; });
    if (places.empty()) plan_.unknown.push_back({"plan.unknown.no_place", ""});
    std::vector<const horizon::FootprintPlace*> taken;
    const auto take = [&](const horizon::FootprintPlace* place, horizon::PlanChoice choice) {
      if (!place || std::find(taken.begin(), taken.end(), place) != taken.end()) return;
      taken.push_back(place);
      plan_.houses.push_back(house(*place, choice, std::to_string(taken.size())));
    };
    const auto least = [&](auto&& cost) -> const horizon::FootprintPlace* {
      const horizon::FootprintPlace* best = nullptr;
      double at = 1e18;
      for (const auto& place : places) {
        if (place.mean_h < kHalfOfBest * places.front().mean_h ||
            std::find(taken.begin(), taken.end(), &place) != taken.end())
          continue;
        const std::optional<double> value = cost(place);
        if (value && *value < at) at = *value, best = &place;
      }
      return best;
    };
    if (!places.empty()) take(&places.front(), horizon::PlanChoice::most_sun);
    take(least([&](const auto& p) { return digging(p); }), horizon::PlanChoice::least_digging);
    take(least([&](const auto& p) -> std::optional<double> {
           const auto way = access({p.east_m, p.north_m}), supply = water({p.east_m, p.north_m});
           if (!way && !supply) return std::nullopt;
           return way.value_or(0) + supply.value_or(0);
         }),
         horizon::PlanChoice::nearest);
    // Without another end of the trade-off the next sunniest, somewhere else.
    const auto elsewhere = [&](const horizon::FootprintPlace& place) {
      return std::all_of(taken.begin(), taken.end(), [&](const auto* other) {
        return std::hypot(place.east_m - other->east_m, place.north_m - other->north_m) >=
               2 * input_.footprint.length_m;
      });
    };
    for (const auto& place : places)
      if (taken.size() < 3 && elsewhere(place)) take(&place, horizon::PlanChoice::next_sun);
    const auto& stands = site_.settings.choices.station_id;
    for (std::size_t s = 0; s < plan_.stations.size(); ++s)
      if (!stands.empty() && plan_.stations[s].id == stands && s < site_.plot->at_stations.size() &&
          site_.plot->at_stations[s])
        plan_.houses.push_back(house(*site_.plot->at_stations[s], horizon::PlanChoice::chosen,
                                     std::to_string(taken.size() + 1)));
    const auto& placed = site_.plot->plot.survey.stations;
    for (std::size_t s = 0; s < plan_.stations.size(); ++s) {
      const Vector2d at = placed[s].eye.head<2>();
      plan_.stations[s].light = lights({{"eye", at, placed[s].eye_height_m},
                                        {"bed", at, kBed_m},
                                        {"glazing_foot", at, kFoot_m},
                                        {"glazing_head", at, height_m_}},
                                       measured(plan_.stations[s].id, placed[s].eye_height_m));
    }
    const bool dug = std::any_of(plan_.houses.begin(), plan_.houses.end(),
                                 [](const auto& h) { return h.digging_m3.has_value(); });
    if (!dug && !places.empty()) plan_.unknown.push_back({"plan.unknown.digging", ""});
    if (water_.empty()) plan_.unknown.push_back({"plan.unknown.water", ""});
  }

 private:
  std::vector<horizon::FootprintPlace> admissible() const {
    const auto off = input_.keep_off();
    auto places = horizon::best_places(site_.plot->map, input_.footprint, input_.boundary,
                                       kMostTried, input_.setback_m, off);
    std::erase_if(places, [&](const auto& place) {
      const auto fall = fall_deg({place.east_m, place.north_m});
      return fall && *fall > kTooSteep_deg;
    });
    return places;
  }

  Vector2d out() const {
    const double az = input_.footprint.facing.radians();
    return {std::sin(az), std::cos(az)};
  }
  std::array<Vector2d, 4> corners(const Vector2d& middle) const {
    const Vector2d o = out(), left(o.y(), -o.x());  // as seen from before the glazing
    const Vector2d l = input_.footprint.length_m / 2 * left, d = input_.footprint.depth_m / 2 * o;
    return {middle + l + d, middle - l + d, middle - l - d, middle + l - d};
  }
  double up_at(const Vector2d& p) const {
    return levels_.up_at(p).value_or(ground_.up_at(p.x(), p.y()));
  }

  // The steepest fall from corner to corner, by the levels.
  std::optional<double> fall_deg(const Vector2d& middle) const {
    const auto c = corners(middle);
    double steepest = 0;
    for (std::size_t i = 0; i < 4; ++i) {
      const auto a = levels_.up_at(c[i]), b = levels_.up_at(c[(i + 1) % 4]);
      if (!a || !b) return std::nullopt;
      steepest = std::max(steepest, std::atan2(std::abs(*a - *b), (c[i] - c[(i + 1) % 4]).norm()));
    }
    return steepest / horizon::kDegree;
  }
  // Cut equal to fill, to a level floor: half of what stands off the mean, over the floor.
  std::optional<double> digging(const horizon::FootprintPlace& place) const {
    const auto c = corners({place.east_m, place.north_m});
    constexpr int kSteps = 6;
    double sum = 0, off = 0;
    std::vector<double> ups;
    for (int i = 0; i <= kSteps; ++i)
      for (int k = 0; k <= kSteps; ++k) {
        const double s = static_cast<double>(i) / kSteps, t = static_cast<double>(k) / kSteps;
        const Vector2d p = c[0] + s * (c[1] - c[0]) + t * (c[3] - c[0]);
        const auto up = levels_.up_at(p);
        if (!up) return std::nullopt;
        ups.push_back(*up);
        sum += *up;
      }
    const double mean = sum / static_cast<double>(ups.size());
    for (const double up : ups) off += std::abs(up - mean);
    return off / static_cast<double>(ups.size()) / 2 * input_.footprint.length_m *
           input_.footprint.depth_m;
  }
  std::optional<double> access(const Vector2d& p) const {
    std::optional<double> best;
    for (const auto& way : ways_) best = std::min(best.value_or(1e9), to_line(p, way));
    return best;
  }
  std::optional<double> water(const Vector2d& p) const {
    std::optional<double> best;
    for (const auto& at : water_) best = std::min(best.value_or(1e9), (at - p).norm());
    return best;
  }

  horizon::PlanPeg peg(const std::string& name, const Vector2d& at) const {
    horizon::PlanPeg out;
    out.name = name;
    out.at = {at.x(), at.y(), levels_.up_at(at), {}, {}};
    out.at.sigma_m = 0.1;  // of a tape and a line from the station [common practice]
    if (out.at.up_m) out.at.up_sigma_m = 0.15;
    out.place = horizon::to_place(plan_.origin, {at.x(), at.y(), up_at(at)});
    if (grid_)
      if (const auto on = grid_->easting_northing(out.place))
        out.easting = on->first, out.northing = on->second;
    const auto line = horizon::geodesic(plan_.origin, out.place);
    out.from_station_m = line.distance_m;
    out.bearing = bearing_of(plan_, line.azimuth.degrees());
    // By compass from the station: its error turns the peg about it.
    if (out.bearing.compass_sigma_deg)
      out.at.sigma_m =
          std::hypot(0.1, out.from_station_m * *out.bearing.compass_sigma_deg * horizon::kDegree);
    return out;
  }

  double bed_h(const horizon::FootprintPlace& place) const {
    const horizon::Enu eye(place.east_m, place.north_m,
                           up_at({place.east_m, place.north_m}) + kBed_m);
    return horizon::spot_hours(site_.plot->plot, eye, site_.plot->sun->samples).direct_h;
  }
  struct LightAt {
    std::string_view where;
    Vector2d at;
    double above_m;
  };
  std::vector<horizon::PlanLight> lights(
      const std::vector<LightAt>& wanted,
      const std::optional<horizon::PlanLight>& first = {}) const {
    std::vector<horizon::PlanLight> out(wanted.size());
    horizon::in_parallel(static_cast<int>(wanted.size()), [&](int i) {
      const auto& [where, at, above_m] = wanted[static_cast<std::size_t>(i)];
      out[static_cast<std::size_t>(i)] = i == 0 && first ? *first : light(where, at, above_m);
    });
    return out;
  }
  // By the map's own draws, so that plan and map cannot differ.
  horizon::PlanLight light(std::string_view where, const Vector2d& at, double above_m) const {
    horizon::PlanLight out;
    out.where = where;
    out.above_ground_m = above_m;
    const horizon::Enu eye(at.x(), at.y(), up_at(at) + above_m);
    const auto skyline = horizon::predicted_skyline(site_.plot->plot, eye);
    const auto& [sun, lifts] = *site_.plot->sun;
    const double off_plane_m = up_at(at) - ground_.up_at(at.x(), at.y());
    const auto winter = horizon::hours_at(site_.plot->plot, lifts, at, above_m + off_plane_m, sun);
    const double days = site_.plot->winter_days;
    out.winter_h_day = {winter.mean_h / days, winter.low_h / days, winter.high_h / days};
    // Draws where the table tells the range of the shortest day.
    const int draws = where == "bed" ? std::min(24, site_.stations.front().input.draws) : 0;
    const auto shortest = live_.shortest_day_h(skyline, draws);
    out.shortest_day_h = {shortest.value, shortest.low, shortest.high};
    return out;
  }

  // At a station's own eye the hours are those that were measured there.
  std::optional<horizon::PlanLight> measured(const survey::Id& id, double eye_height_m) const {
    const StationReport* at = site_.station(id);
    if (!at) return std::nullopt;
    const auto& hours = at->findings.hours;
    const auto range = [](const horizon::Ranged& r) { return PlanRange{r.value, r.low, r.high}; };
    horizon::PlanLight out;
    out.where = "eye";
    out.above_ground_m = eye_height_m;
    out.winter_h_day = range(hours.winter_h_a_day);
    out.shortest_day_h = range(hours.shortest_day_h);
    return out;
  }

  PlanHouse house(const horizon::FootprintPlace& place, horizon::PlanChoice choice,
                  const std::string& name) const {
    PlanHouse out;
    out.name = name;
    out.choice = choice;
    out.east_m = place.east_m;
    out.north_m = place.north_m;
    out.facing_true_deg = input_.footprint.facing.degrees();
    out.length_m = input_.footprint.length_m;
    out.depth_m = input_.footprint.depth_m;
    out.height_m = height_m_;
    const Vector2d middle(place.east_m, place.north_m);
    const auto c = corners(middle);
    for (std::size_t i = 0; i < 4; ++i)
      out.pegs.push_back(peg(name + std::string(1, static_cast<char>('a' + i)), c[i]));
    const Vector2d front = (c[0] + c[1]) / 2;
    out.light = lights({{"eye", middle, input_.survey.stations.front().eye_height_m},
                        {"bed", middle, kBed_m},
                        {"glazing_foot", front, kFoot_m},
                        {"glazing_head", front, height_m_}});
    out.winter_h_day = out.light[1].winter_h_day;
    if (const auto dug = digging(place)) {
      // 0.15 m at each corner, as the levels are.
      const double doubt = 0.15 / 4 * out.length_m * out.depth_m;
      out.digging_m3 =
          PlanRange{*dug, std::max(0.0, *dug - kNinety * doubt), *dug + kNinety * doubt};
    }
    for (std::size_t o = 0; o < place.shares.size(); ++o) {
      const auto& what = site_.plot->plot.survey.obstacles[o].what;
      const double h_day = place.shares[o].hidden_h / site_.plot->winter_days;
      if (what.kind == horizon::Kind::ridge || h_day <= out.hidden_h_day) continue;
      out.hidden_by = what.label;
      out.hidden_h_day = h_day;
    }
    out.access_m = access(middle);
    out.water_m = water(middle);
    return out;
  }

  horizon::SitePlan& plan_;
  const SiteReport& site_;
  const survey::PlotInput& input_;
  const horizon::Levels& levels_;
  horizon::GroundPlane ground_;
  horizon::LiveStation live_;  // within a plot the sun's ways are the same
  std::optional<survey::Grid> grid_;
  double height_m_ = 3;
  std::vector<std::vector<Vector2d>> ways_;
  std::vector<Vector2d> water_;
};

}  // namespace

void add_houses(horizon::SitePlan& plan, const SiteReport& site, const survey::PlotInput& input,
                const horizon::Levels& levels) {
  Houses(plan, site, input, levels).run();
}

}  // namespace app
