// app/ground/plot_input.cpp: the field book's aims as a survey of the plot.
#include <algorithm>
#include <cmath>

#include "app/ground/forms.h"
#include "app/ground/plot_findings.h"
#include "survey/assess/station_input.h"
#include "survey/assess/station_skyline.h"
#include "survey/book/text.h"

namespace app {
namespace {

using horizon::Result;

constexpr double kOneTree_m = 12;    // wider than that it is a row
constexpr double kTaped = 0.1;       // a distance on site is good to a tenth
constexpr double kLoneRadius_m = 2;  // of a tree with one aim and no width

struct Seen {  // one point of an obstacle
  int station = 0;
  const horizon::SkylinePoint* point = nullptr;
};
struct Thing {
  horizon::Obstacle what;
  std::vector<std::vector<Seen>> by_station;  // each clockwise
};

class Survey {
 public:
  Survey(const std::vector<survey::StationSkyline>& skylines,
         const std::vector<survey::ObstacleRow>& rows, horizon::PlotSurvey& out)
      : skylines_(skylines), rows_(rows), out_(out) {}

  void run() {
    for (std::size_t s = 0; s < skylines_.size(); ++s) gather(static_cast<int>(s));
    for (const Thing& thing : things_)
      thing.what.kind == horizon::Kind::ridge ? ridge(thing) : near(thing);
  }

 private:
  void gather(int station) {
    const auto& skyline = skylines_[static_cast<std::size_t>(station)].skyline();
    for (std::size_t o = 0; o < skyline.obstacles.size(); ++o) {
      const auto& what = skyline.obstacles[o];
      auto known = std::find_if(things_.begin(), things_.end(), [&](const Thing& t) {
        return t.what.kind == what.kind && t.what.label == what.label && !what.label.empty();
      });
      if (known == things_.end()) {
        things_.push_back({what, std::vector<std::vector<Seen>>(skylines_.size())});
        known = things_.end() - 1;
      }
      auto& seen = known->by_station[static_cast<std::size_t>(station)];
      for (const auto& point : skyline.points)
        if (point.obstacle == static_cast<int>(o)) seen.push_back({station, &point});
      if (seen.empty()) continue;
      // Clockwise from the side after the widest gap, so that north does not cut it.
      std::sort(seen.begin(), seen.end(), [](const Seen& a, const Seen& b) {
        return a.point->azimuth.degrees() < b.point->azimuth.degrees();
      });
      std::size_t first = 0;
      double widest = -1;
      for (std::size_t i = 0; i < seen.size(); ++i) {
        const auto& before = seen[(i + seen.size() - 1) % seen.size()];
        const double gap =
            horizon::wrap_360(seen[i].point->azimuth.degrees() - before.point->azimuth.degrees());
        if (gap > widest) {
          widest = gap;
          first = i;
        }
      }
      std::rotate(seen.begin(), seen.begin() + static_cast<long>(first), seen.end());
    }
  }

  int mark(int obstacle, const std::string& name, std::optional<double> distance_m) {
    horizon::PlotMark mark{obstacle, name, distance_m, {}};
    if (distance_m) mark.distance_sigma_m = std::max(0.5, kTaped * *distance_m);
    out_.marks.push_back(mark);
    return static_cast<int>(out_.marks.size()) - 1;
  }

  void aim(const Seen& seen, int mark) {
    out_.aims.push_back({seen.station, mark, seen.point->azimuth, seen.point->elevation,
                         std::max(0.05, seen.point->azimuth_sigma_deg),
                         std::max(0.05, seen.point->elevation_sigma_deg)});
  }

  void ridge(const Thing& thing) {
    const int obstacle = add(thing.what, {});
    for (const auto& seen : thing.by_station)
      for (const Seen& one : seen)
        aim(one, mark(obstacle, thing.what.label, one.point->distance_m));
  }

  int add(const horizon::Obstacle& what, std::optional<double> radius_m) {
    out_.obstacles.push_back({what, radius_m});
    return static_cast<int>(out_.obstacles.size()) - 1;
  }

  std::optional<double> distance(const Thing& thing, const Seen& seen) const {
    if (seen.point->distance_m) return seen.point->distance_m;
    for (const auto& row : rows_)
      if (row.kind == thing.what.kind && row.label == thing.what.label && seen.station == 0)
        return row.distance_m;
    return std::nullopt;
  }

  static double width_deg(const std::vector<Seen>& seen) {
    return horizon::wrap_360(seen.back().point->azimuth.degrees() -
                             seen.front().point->azimuth.degrees());
  }

  // The widest that it looks, in metres; nothing without a distance.
  std::optional<double> width_m(const Thing& thing) const {
    std::optional<double> widest;
    for (const auto& seen : thing.by_station)
      if (!seen.empty())
        if (const auto d = distance(thing, seen.front()))
          widest = std::max(widest.value_or(0),
                            2 * *d * std::tan(width_deg(seen) / 2 * horizon::kDegree));
    return widest;
  }

  static const Seen& highest(const std::vector<Seen>& seen) {
    return *std::max_element(seen.begin(), seen.end(), [](const Seen& a, const Seen& b) {
      return a.point->elevation.degrees() < b.point->elevation.degrees();
    });
  }

  void near(const Thing& thing) {
    const auto width = width_m(thing);
    const bool tree =
        thing.what.kind == horizon::Kind::evergreen || thing.what.kind == horizon::Kind::leafy;
    std::size_t most = 0;
    for (const auto& seen : thing.by_station) most = std::max(most, seen.size());
    if ((tree && (width ? *width <= kOneTree_m : most == 1)) ||
        thing.what.kind == horizon::Kind::pole)
      return lone(thing, tree, width);
    row(thing, most);
  }

  // One tree or pole: its top, from every station that saw it.
  void lone(const Thing& thing, bool tree, std::optional<double> width) {
    std::optional<double> radius;
    if (tree) radius = std::max(0.5, width && *width > 1 ? *width / 2 : kLoneRadius_m);
    const int obstacle = add(thing.what, radius);
    std::optional<double> d;
    for (const auto& seen : thing.by_station)
      if (!d && !seen.empty()) d = distance(thing, highest(seen));
    const int top = mark(obstacle, thing.what.label, d);
    for (const auto& seen : thing.by_station) {
      if (seen.empty()) continue;
      // Through the middle of the crown at its highest.
      horizon::SkylinePoint middle = *highest(seen).point;
      middle.azimuth = seen.front().point->azimuth.turned_by(width_deg(seen) / 2);
      aim({seen.front().station, &middle}, top);
    }
  }

  // A roof or a row of trees: every point of the station that saw most of it, and those of the
  // others that are the same.
  void row(const Thing& thing, std::size_t most) {
    const auto base = std::find_if(thing.by_station.begin(), thing.by_station.end(),
                                   [&](const auto& seen) { return seen.size() == most; });
    if (most == 0) return;
    const int obstacle = add(thing.what, {});
    std::vector<int> marks;
    for (const Seen& one : *base) {
      marks.push_back(mark(obstacle, thing.what.label, distance(thing, one)));
      aim(one, marks.back());
    }
    for (const auto& other : thing.by_station)
      if (!other.empty() && &other != &*base) match(thing, *base, marks, other);
  }

  void match(const Thing& thing, const std::vector<Seen>& base, const std::vector<int>& marks,
             const std::vector<Seen>& other) {
    const auto& from = out_.stations[static_cast<std::size_t>(base.front().station)].eye;
    const auto& to = out_.stations[static_cast<std::size_t>(other.front().station)].eye;
    std::vector<bool> taken(other.size());
    bool any_distance = false;
    for (std::size_t m = 0; m < base.size(); ++m) {
      const auto d = distance(thing, base[m]);
      if (!d) continue;
      any_distance = true;
      const double az = base[m].point->azimuth.radians();
      const horizon::Enu at =
          from + horizon::Enu(*d * std::sin(az), *d * std::cos(az),
                              *d * std::tan(base[m].point->elevation.radians()));
      const horizon::Enu v = at - to;
      const double flat = std::max(0.5, std::hypot(v.x(), v.y()));
      const double azimuth = std::atan2(v.x(), v.y()) / horizon::kDegree,
                   elevation = std::atan2(v.z(), flat) / horizon::kDegree;
      const double loose = 1.5 + std::max(0.5, kTaped * *d) / flat / horizon::kDegree;
      double nearest = 1;
      std::size_t best = other.size();
      for (std::size_t i = 0; i < other.size(); ++i) {
        if (taken[i]) continue;
        const double off =
            std::hypot(horizon::wrap_180(other[i].point->azimuth.degrees() - azimuth),
                       other[i].point->elevation.degrees() - elevation) /
            loose;
        if (off < nearest) {
          nearest = off;
          best = i;
        }
      }
      if (best == other.size()) continue;
      taken[best] = true;
      aim(other[best], marks[m]);
    }
    if (any_distance) return;
    const auto top = static_cast<std::size_t>(&highest(base) - base.data());
    aim(highest(other), marks[top]);
  }

  const std::vector<survey::StationSkyline>& skylines_;
  const std::vector<survey::ObstacleRow>& rows_;
  horizon::PlotSurvey& out_;
  std::vector<Thing> things_;
};

// Common practice, where no rule of the place says more.
constexpr double kFromWater_m = 5, kFromService_m = 3, kFromBuilding_m = 3, kFromWay_m = 2,
                 kFromHazard_m = 10, kPitSpeaksFor_m = 10, kSteep_deg = 10, kWet_m = 0.5;

std::pair<std::string_view, double> keeps_off(survey::PathKind kind) {
  switch (kind) {
    case survey::PathKind::watercourse:
      return {"water", kFromWater_m};
    case survey::PathKind::service:
      return {"service", kFromService_m};
    case survey::PathKind::building:
      return {"building", kFromBuilding_m};
    case survey::PathKind::access:
      return {"access", kFromWay_m};
    default:
      return {"", 0};
  }
}

// The boundary, the setback, and what the building stays off.
Result<void> read_land(const survey::FieldBook& book, PlotInput& input) {
  const auto paths = book.all<survey::Path>();
  if (!paths) return tl::unexpected(paths.error());
  const auto flat = [&](const survey::Position& p) -> Eigen::Vector2d {
    return horizon::to_enu(input.origin, {p.latitude_deg, p.longitude_deg, input.origin.height_m})
        .head<2>();
  };
  for (const auto& path : *paths) {
    std::vector<Eigen::Vector2d> corners;
    for (const auto& point : path.points) corners.push_back(flat(point.position));
    const auto [why, off] = keeps_off(path.kind);
    if (path.kind == survey::PathKind::boundary) {
      if (path.closed && input.boundary.empty()) input.boundary = corners;
    } else if (off > 0 && !corners.empty()) {
      if (path.closed) corners.push_back(corners.front());
      input.limits.push_back({why, path.name, corners, off});
    }
  }
  const auto pits = book.all<survey::SoilPit>();
  if (!pits) return tl::unexpected(pits.error());
  for (const auto& pit : *pits) {
    if (!pit.position) continue;
    if (pit.slope_deg.value_or(0) > kSteep_deg)
      input.limits.push_back({"steep", pit.name, {flat(*pit.position)}, kPitSpeaksFor_m});
    if (pit.water_m && *pit.water_m < kWet_m)
      input.limits.push_back({"wet", pit.name, {flat(*pit.position)}, kPitSpeaksFor_m});
  }
  const auto hazards = book.all<survey::Hazard>();
  if (!hazards) return tl::unexpected(hazards.error());
  for (const auto& hazard : *hazards)
    if (hazard.position && hazard.severity >= 3)
      input.limits.push_back({"hazard", hazard.text, {flat(*hazard.position)}, kFromHazard_m});
  const auto notes = book.all<survey::SiteNote>();
  if (!notes) return tl::unexpected(notes.error());
  for (const auto& note : *notes) {
    if (note.topic == survey::Topic::water && note.position)
      input.limits.push_back({"water", note.text, {flat(*note.position)}, kFromWater_m});
    if (note.topic == survey::Topic::services && note.position)
      input.limits.push_back({"service", note.text, {flat(*note.position)}, kFromService_m});
    // Asked for with the permission; older files have it with the building.
    const auto text = answer_to(note, "setback_m");
    const auto value = text ? survey::number_of(*text) : std::nullopt;
    if (value) input.setback_m = std::max(input.setback_m, *value);
  }
  return {};
}

}  // namespace

std::vector<horizon::KeepOff> PlotInput::keep_off() const {
  std::vector<horizon::KeepOff> out;
  for (const auto& limit : limits) out.push_back({limit.line, limit.distance_m});
  return out;
}

Result<PlotInput> plot_input(const survey::FieldBook& book, const GroundFindings& ground,
                             const survey::Assessment* site) {
  PlotInput input;
  input.ground = ground;
  input.weights = weights_of(book);
  std::optional<survey::Assessment> own;
  if (!site) {
    auto made = survey::assess(book);
    if (!made) return tl::unexpected(made.error());
    site = &own.emplace(std::move(*made));
  }
  const survey::SiteSettings& settings = site->settings;
  const auto rows = book.all<survey::ObstacleRow>();
  if (!rows) return tl::unexpected(rows.error());
  std::vector<survey::StationSkyline> skylines;
  for (const auto& one : site->stations) {
    if (one.skyline().points.empty() || one.station.position == survey::Position{}) continue;
    auto station = survey::station_input(settings, one);
    station.draws = 0;
    if (!horizon::check_station(station)) continue;
    input.stations.push_back(std::move(station));
    input.station_ids.push_back(one.station.id);
    skylines.push_back(one);
  }
  if (skylines.empty()) return input;
  const auto& main = skylines.front();
  input.origin = main.eye;
  input.origin.height_m -= main.station.eye_height_m;
  for (const auto& one : skylines) {
    horizon::PlotStation station;
    station.name = one.station.name;
    station.eye = horizon::to_enu(input.origin, one.eye);
    station.eye_height_m = one.station.eye_height_m;
    station.horizontal_sigma_m = std::max(0.1, one.station.horizontal_sigma_m.value_or(3));
    station.up_sigma_m = std::max(0.05, one.station.height_sigma_m.value_or(4));
    station.heading_sigma_deg = std::max(0.05, one.skyline().heading_sigma_deg);
    input.survey.stations.push_back(station);
  }
  input.survey.max_gap_deg = main.skyline().max_gap_deg;
  Survey(skylines, *rows, input.survey).run();
  const auto& choices = settings.choices;
  const bool southern = input.origin.latitude_deg < 0;
  input.footprint.length_m = choices.length_m.value_or(10);
  input.footprint.depth_m = choices.depth_m.value_or(5);
  input.footprint.facing =
      horizon::TrueAzimuth::degrees(choices.facing_true_deg.value_or(southern ? 0 : 180));
  if (auto done = read_land(book, input); !done) return tl::unexpected(done.error());
  return input;
}

horizon::Weights weights_of(const survey::FieldBook& book) {
  horizon::Weights weights = horizon::kDefaultWeights;
  const auto notes = book.all<survey::SiteNote>();
  if (!notes) return weights;
  for (const auto& note : *notes)
    if (note.topic == survey::Topic::building)
      for (std::size_t i = 0; i < weights.size(); ++i) {
        const auto kept =
            answer_to(note, "weight_" + std::string(name_of(static_cast<horizon::Criterion>(i))));
        const auto value = kept ? survey::number_of(*kept) : std::nullopt;
        if (value && *value >= 0 && *value <= 10) weights[i] = *value;
      }
  return weights;
}

Result<void> keep_weights(survey::FieldBook& book, const horizon::Weights& weights,
                          survey::Moment when) {
  auto notes = book.all<survey::SiteNote>();
  if (!notes) return tl::unexpected(notes.error());
  survey::SiteNote note;
  for (auto& each : *notes)
    if (each.topic == survey::Topic::building) note = each;
  note.topic = survey::Topic::building;
  note.time = when;
  for (std::size_t i = 0; i < weights.size(); ++i)
    set_answer(note, "weight_" + std::string(name_of(static_cast<horizon::Criterion>(i))),
               kept_number(weights[i]));
  if (auto put = book.put(note); !put) return tl::unexpected(put.error());
  return {};
}

}  // namespace app
