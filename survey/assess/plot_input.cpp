#include "survey/assess/plot_input.h"

#include <algorithm>
#include <array>
#include <cmath>

#include "horizon/skyline/mask.h"
#include "horizon/skyline/thinned.h"
#include "survey/assess/station_input.h"
#include "survey/assess/station_skyline.h"
#include "survey/book/forms.h"
#include "survey/book/text.h"

namespace survey {
namespace {

using horizon::Result;

constexpr double kTaped = 0.1;  // a distance on site is good to a tenth
constexpr double kOnRidge_deg = 0.5;

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
  Survey(const std::vector<StationSkyline>& skylines, const std::vector<ObstacleRow>& rows,
         horizon::PlotSurvey& out)
      : skylines_(skylines), rows_(rows), out_(out) {}

  void run() {
    for (std::size_t s = 0; s < skylines_.size(); ++s) {
      gather(static_cast<int>(s));
      horizon::Skyline ridge = skylines_[s].skyline();
      std::erase_if(ridge.points, [&](const auto& point) {
        return ridge.obstacles[static_cast<std::size_t>(point.obstacle)].kind !=
               horizon::Kind::ridge;
      });
      ridges_.emplace_back(ridge);
    }
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
                         std::max(0.05, seen.point->elevation_sigma_deg),
                         seen.point->level_sigma_deg});
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

  static const Seen& highest(const std::vector<Seen>& seen) {
    return *std::max_element(seen.begin(), seen.end(), [](const Seen& a, const Seen& b) {
      return a.point->elevation.degrees() < b.point->elevation.degrees();
    });
  }

  // Where the line of a roof ends on the ridge behind, the roof may go on below it.
  bool ends_on_ridge(const Seen& one, const horizon::Mask& ridge) const {
    const double az = one.point->azimuth.degrees();
    if (ridge.piece_at(az).obstacle < 0) return false;
    const double off = std::abs(one.point->elevation.degrees() - ridge.elevation_deg(az));
    return off < std::max(kOnRidge_deg, 2 * one.point->elevation_sigma_deg);
  }

  // Everything that stands near: its outline from every station that saw it.
  void near(const Thing& thing) {
    const int obstacle = add(thing.what, {});
    const bool straight = thing.what.kind == horizon::Kind::building;
    for (const auto& seen : thing.by_station) {
      if (seen.empty()) continue;
      horizon::PlotOutline outline;
      outline.station = seen.front().station;
      outline.obstacle = obstacle;
      const Seen& top = highest(seen);
      for (const Seen& one : seen) {
        horizon::OutlineMark mark;
        mark.azimuth = one.point->azimuth;
        mark.elevation = one.point->elevation;
        mark.azimuth_sigma_deg = std::max(0.05, one.point->azimuth_sigma_deg);
        mark.elevation_sigma_deg = std::max(0.05, one.point->elevation_sigma_deg);
        mark.distance_m = &one == &top ? distance(thing, one) : one.point->distance_m;
        if (mark.distance_m) mark.distance_sigma_m = std::max(0.5, kTaped * *mark.distance_m);
        outline.marks.push_back(mark);
      }
      if (straight && seen.size() > 2) {
        const auto& ridge = ridges_[static_cast<std::size_t>(outline.station)];
        outline.first_is_side = !ends_on_ridge(seen.front(), ridge);
        outline.last_is_side = !ends_on_ridge(seen.back(), ridge);
      }
      out_.outlines.push_back(std::move(outline));
    }
  }

  const std::vector<StationSkyline>& skylines_;
  const std::vector<ObstacleRow>& rows_;
  horizon::PlotSurvey& out_;
  std::vector<Thing> things_;
  std::vector<horizon::Mask> ridges_;  // by station
};

// The marks are adjusted together: twice as many take eight times as long.
void thin(std::vector<StationSkyline>& skylines, PlotInput& input) {
  constexpr std::size_t kMostMarks = 600, kMostThings = 120, kMarksThen = 360, kThingsThen = 60;
  std::size_t marks = 0, things = 0, used = 0;
  for (const auto& one : skylines) {
    marks += one.skyline().points.size();
    things += one.skyline().obstacles.size();
  }
  if (marks <= kMostMarks && things <= kMostThings) return;
  for (auto& one : skylines) {
    const std::size_t each = std::max<std::size_t>(8, kMarksThen / skylines.size());
    one.result.skyline =
        horizon::thinned(one.skyline(),
                         {each, each, std::max<std::size_t>(3, kThingsThen / skylines.size())})
            .skyline;
    used += one.skyline().points.size();
  }
  const auto figure = [](std::size_t n) { return horizon::Arg::figure(static_cast<double>(n), 0); };
  input.said = horizon::Error{
      horizon::Code::bad_input, {"error.plot_thinned", {figure(used), figure(marks)}}, ""};
}

// How trees grow and what goes, from the note on building.
void read_time(const SiteNote& note, PlotInput& input) {
  const auto rate = [&](std::string_view key, double& out) {
    const auto kept = answer_to(note, key);
    const auto value = kept ? kept->number() : std::nullopt;
    if (value && *value >= 0 && *value <= 2) out = *value;
  };
  rate(kGrowthEvergreen, input.growth.evergreen_m_y);
  rate(kGrowthLeafy, input.growth.leafy_m_y);
  for (const auto& field : note.fields) {
    if (!field.key.starts_with(kGoneInYears)) continue;
    if (const auto years = Kept(field.value).number(); years && *years >= 0)
      input.gone_in_years[field.key.substr(kGoneInYears.size())] = static_cast<int>(*years);
  }
  if (input.survey.stations.empty()) return;
  for (const auto& field : note.fields) {
    if (!field.key.starts_with(kBuildFields[0].key)) continue;
    const std::string name = field.key.substr(kBuildFields[0].key.size());
    std::array<double, 6> numbers;
    numbers.fill(std::nan(""));
    for (std::size_t i = 0; i < numbers.size(); ++i)
      if (const auto kept = answer_to(note, std::string(kBuildFields[i].key) + name))
        numbers[i] = kept->number().value_or(std::nan(""));
    auto thing = to_build(name, numbers, input.survey.stations);
    if (thing)
      input.to_build.push_back(std::move(*thing));
    else
      input.said = thing.error();
  }
}

// Common practice, where no rule of the place says more.
constexpr double kFromWater_m = 5, kFromService_m = 3, kFromBuilding_m = 3, kFromWay_m = 2,
                 kFromHazard_m = 10, kPitSpeaksFor_m = 10, kSteep_deg = 10, kWet_m = 0.5;

std::pair<std::string_view, double> keeps_off(PathKind kind) {
  switch (kind) {
    case PathKind::watercourse:
      return {"water", kFromWater_m};
    case PathKind::service:
      return {"service", kFromService_m};
    case PathKind::building:
      return {"building", kFromBuilding_m};
    case PathKind::access:
      return {"access", kFromWay_m};
    default:
      return {"", 0};
  }
}

// The boundary, the setback, and what the building stays off.
Result<void> read_land(const FieldBook& book, PlotInput& input) {
  const auto paths = book.all<Path>();
  if (!paths) return tl::unexpected(paths.error());
  const auto flat = [&](const Position& p) -> Eigen::Vector2d {
    return horizon::to_enu(input.origin, {p.latitude_deg, p.longitude_deg, input.origin.height_m})
        .head<2>();
  };
  for (const auto& path : *paths) {
    std::vector<Eigen::Vector2d> corners;
    for (const auto& point : path.points) corners.push_back(flat(point.position));
    const auto [why, off] = keeps_off(path.kind);
    if (path.kind == PathKind::boundary) {
      if (path.closed && input.boundary.empty()) input.boundary = corners;
    } else if (off > 0 && !corners.empty()) {
      if (path.kind == PathKind::building) {
        Eigen::Vector2d middle = Eigen::Vector2d::Zero();
        for (const auto& corner : corners) middle += corner / static_cast<double>(corners.size());
        input.drawn_buildings.push_back(middle);
      }
      if (path.closed) corners.push_back(corners.front());
      input.limits.push_back({why, path.name, corners, off});
    }
  }
  const auto pits = book.all<SoilPit>();
  if (!pits) return tl::unexpected(pits.error());
  for (const auto& pit : *pits) {
    if (!pit.position) continue;
    if (pit.slope_deg.value_or(0) > kSteep_deg)
      input.limits.push_back({"steep", pit.name, {flat(*pit.position)}, kPitSpeaksFor_m});
    if (pit.water_m && *pit.water_m < kWet_m)
      input.limits.push_back({"wet", pit.name, {flat(*pit.position)}, kPitSpeaksFor_m});
  }
  const auto hazards = book.all<Hazard>();
  if (!hazards) return tl::unexpected(hazards.error());
  for (const auto& hazard : *hazards)
    if (hazard.position && hazard.severity >= 3)
      input.limits.push_back({"hazard", hazard.text, {flat(*hazard.position)}, kFromHazard_m});
  const auto notes = book.all<SiteNote>();
  if (!notes) return tl::unexpected(notes.error());
  for (const auto& note : *notes) {
    if (note.topic == Topic::water && note.position)
      input.limits.push_back({"water", note.text, {flat(*note.position)}, kFromWater_m});
    if (note.topic == Topic::services && note.position)
      input.limits.push_back({"service", note.text, {flat(*note.position)}, kFromService_m});
    // Asked for with the permission; older files have it with the building.
    if (note.topic == Topic::building) read_time(note, input);
    const auto text = answer_to(note, "setback_m");
    const auto value = text ? text->number() : std::nullopt;
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

Result<horizon::ToBuild> to_build(std::string name, std::span<const double, 6> numbers,
                                  std::span<const horizon::PlotStation> stations) {
  for (std::size_t i = 0; i < numbers.size(); ++i) {
    const auto& [key, low, high] = kBuildFields[i];
    if (!(numbers[i] >= low && numbers[i] <= high))
      return horizon::fail(horizon::Code::bad_input,
                           {"error.build_numbers",
                            {horizon::Arg::figure(low, low == 0.5), horizon::Arg::figure(high, 0)}},
                           std::string(key) + name);
  }
  horizon::ToBuild out;
  const double bearing = numbers[0] * horizon::kDegree;
  const horizon::Enu& from = stations.front().eye;
  out.name = std::move(name);
  out.east_m = from.x() + numbers[1] * std::sin(bearing);
  out.north_m = from.y() + numbers[1] * std::cos(bearing);
  out.long_side = horizon::TrueAzimuth::degrees(numbers[0] + 90);
  out.length_m = numbers[2];
  out.width_m = numbers[3];
  out.height_m = numbers[4];
  out.in_years = numbers[5];
  for (const auto& station : stations) {
    const double east = station.eye.x() - out.east_m, north = station.eye.y() - out.north_m;
    const double away = east * std::sin(bearing) + north * std::cos(bearing),
                 along = east * std::cos(bearing) - north * std::sin(bearing);
    if (std::abs(away) <= out.width_m / 2 && std::abs(along) <= out.length_m / 2)
      return horizon::fail(horizon::Code::bad_input, {"error.build_over_station", {station.name}},
                           out.name);
  }
  return out;
}

Result<PlotInput> plot_input(const FieldBook& book, const GroundFindings& ground,
                             const Assessment* site) {
  PlotInput input;
  input.ground = ground;
  input.weights = weights_of(book);
  std::optional<Assessment> own;
  if (!site) {
    auto made = assess(book);
    if (!made) return tl::unexpected(made.error());
    site = &own.emplace(std::move(*made));
  }
  const SiteSettings& settings = site->settings;
  const auto rows = book.all<ObstacleRow>();
  if (!rows) return tl::unexpected(rows.error());
  std::vector<StationSkyline> skylines;
  for (const auto& one : site->stations) {
    if (one.skyline().points.empty() || one.station.position == Position{}) continue;
    auto station = station_input(settings, one);
    station.draws = 0;
    if (!horizon::check_station(station)) continue;
    input.stations.push_back(std::move(station));
    input.station_ids.push_back(one.station.id);
    skylines.push_back(one);
  }
  if (skylines.empty()) return input;
  thin(skylines, input);
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

horizon::Weights weights_of(const FieldBook& book) {
  horizon::Weights weights = horizon::kDefaultWeights;
  const auto notes = book.all<SiteNote>();
  if (!notes) return weights;
  for (const auto& note : *notes)
    if (note.topic == Topic::building)
      for (std::size_t i = 0; i < weights.size(); ++i) {
        const auto kept =
            answer_to(note, "weight_" + std::string(name_of(static_cast<horizon::Criterion>(i))));
        const auto value = kept ? kept->number() : std::nullopt;
        if (value && *value >= 0 && *value <= 10) weights[i] = *value;
      }
  return weights;
}

Result<void> keep_weights(FieldBook& book, const horizon::Weights& weights, Moment when) {
  auto notes = book.all<SiteNote>();
  if (!notes) return tl::unexpected(notes.error());
  SiteNote note;
  for (auto& each : *notes)
    if (each.topic == Topic::building) note = each;
  note.topic = Topic::building;
  note.time = when;
  for (std::size_t i = 0; i < weights.size(); ++i)
    set_answer(note, "weight_" + std::string(name_of(static_cast<horizon::Criterion>(i))),
               kept_number(weights[i]));
  if (auto put = book.put(note); !put) return tl::unexpected(put.error());
  return {};
}

}  // namespace survey
