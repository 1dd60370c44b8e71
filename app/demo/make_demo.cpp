// Writes the invented Larkholm school garden as a site file: the example of README, tests and
// talks. Everything in it is made up; the magnetic declination alone is the model's for that spot.
#include <cmath>
#include <cstdio>
#include <map>
#include <tuple>

#include "app/drawing/cairo_canvas.h"
#include "app/words/sentence.h"
#include "horizon/bearing/declination.h"
#include "horizon/geodesy.h"
#include "horizon/photo/camera.h"
#include "horizon/skyline/mask.h"
#include "horizon/time.h"
#include "survey/assess/station_skyline.h"
#include "survey/book/store.h"
#include "survey/book/text.h"
#include "survey/exchange/marks_csv.h"

namespace {

using horizon::Result;
using survey::FieldBook;
using survey::Id;
using survey::Moment;

constexpr const char* kCompass = "hand compass 2";
constexpr double kCompassReadsLow_deg = 1.6;
constexpr double kOffset_h = 1;
const horizon::Place kMiddle{46.6213, 10.3478, 1482};

template <class T>
T value(Result<T> result) {
  if (!result)
    throw std::runtime_error(result.error().where + ": " + app::words_of(result.error()));
  if constexpr (!std::is_void_v<T>) return std::move(*result);
}

Moment at(const char* utc) { return {value(horizon::parse_utc_s(utc)), kOffset_h}; }

survey::Position offset(double east_m, double north_m, double height_m) {
  const auto azimuth =
      horizon::TrueAzimuth::degrees(std::atan2(east_m, north_m) / horizon::kDegree);
  const horizon::Place p = horizon::destination(kMiddle, azimuth, std::hypot(east_m, north_m));
  return {p.latitude_deg, p.longitude_deg, height_m};
}

struct Spot {
  const char* name;
  double east_m, north_m, height_m;
  const char* note;
};
constexpr Spot kSpots[] = {
    {"A", 0, 28, 1486.0, "north terrace, above the wall"},
    {"B", 0, 0, 1482.0, "south terrace, flat for 14 m"},
    {"C", 42, -6, 1480.5, "orchard corner by the lane"},
};

std::map<std::string, Id> put_stations(FieldBook& book, const Id& visit) {
  std::map<std::string, Id> ids;
  for (const Spot& spot : kSpots) {
    survey::Station station;
    station.visit_id = visit;
    station.name = spot.name;
    station.position = offset(spot.east_m, spot.north_m, spot.height_m);
    station.position_source = survey::PositionSource::fixes;
    station.horizontal_sigma_m = 2.1;
    station.height_sigma_m = spot.name[0] == 'B' ? 4 : 0.15;  // levelled from B
    station.time = at("2026-11-14T09:05:00Z");
    station.main = spot.name[0] == 'B';
    station.note = spot.note;
    const Id id = ids[spot.name] = value(book.put(station));
    for (int i = 0; i < 4; ++i) {
      survey::Fix fix;
      fix.station_id = id;
      fix.time = {station.time.utc_s + 20 * i, kOffset_h};
      fix.position =
          offset(spot.east_m + 1.2 * std::sin(2.4 * i), spot.north_m + 1.1 * std::cos(1.7 * i),
                 spot.height_m + 1.5 * std::sin(1.1 * i));
      fix.horizontal_sigma_m = 3;
      fix.height_sigma_m = 5;
      fix.satellites = 11 + i % 3;
      value(book.put(fix));
    }
  }
  return ids;
}

void put_checks(FieldBook& book, const std::map<std::string, Id>& stations,
                double declination_deg) {
  survey::Landmark spire;
  spire.name = "Larkholm chapel spire";
  spire.what = "church";
  spire.position = offset(455, -1120, 1431);
  spire.sigma_m = 4;
  spire.height_sigma_m = 3;
  spire.source = "cadastral map, 1:1000";
  spire.id = value(book.put(spire));

  const auto read = [&](double true_deg) {
    const double magnetic = true_deg - declination_deg - kCompassReadsLow_deg;
    return horizon::wrap_360(std::round(magnetic * 2) / 2);
  };
  double minute = 0;
  for (const Spot& spot : kSpots) {
    const survey::Position from = offset(spot.east_m, spot.north_m, spot.height_m);
    const horizon::Geodesic to_spire =
        horizon::geodesic({from.latitude_deg, from.longitude_deg, spot.height_m},
                          {spire.position.latitude_deg, spire.position.longitude_deg, 1431});
    survey::HeadingCheckRow check;
    check.station_id = stations.at(spot.name);
    check.instrument = kCompass;
    check.time = {at("2026-11-14T09:20:00Z").utc_s + 1500 * minute++, kOffset_h};
    check.kind = horizon::CheckKind::landmark;
    check.landmark_id = spire.id;
    check.label = spire.name;
    check.known_true_deg = to_spire.azimuth.degrees();
    check.known_sigma_deg = 0.2;
    check.bearing_deg = read(check.known_true_deg);
    value(book.put(check));
    if (spot.name[0] == 'C') continue;
    survey::HeadingCheckRow shadow = check;
    shadow.landmark_id.clear();
    shadow.kind = horizon::CheckKind::sun_shadow;
    shadow.label = "plumb line's shadow";
    shadow.known_true_deg = spot.name[0] == 'B' ? 167.3 : 158.9;
    shadow.known_sigma_deg = 0.3;
    shadow.bearing_deg = read(shadow.known_true_deg);
    value(book.put(shadow));
  }
}

void put_sightings(FieldBook& book, const std::map<std::string, Id>& stations,
                   const std::string& csv) {
  const auto table = survey::marks_of_csv(value(survey::read_file(csv)));
  for (const horizon::Error& e : table.errors) throw std::runtime_error(app::in_words(e));
  double second = 0;
  for (const survey::MarkRow& mark : table.marks) {
    survey::Sighting sighting;
    sighting.station_id = stations.at(mark.station);
    sighting.time = {at("2026-11-14T09:30:00Z").utc_s + 25 * second++, kOffset_h};
    sighting.bearing_deg = mark.bearing_deg;
    sighting.reference = survey::Reference::magnetic;
    sighting.elevation_deg = mark.elevation_deg;
    sighting.bearing_sigma_deg = 0.5;
    sighting.elevation_sigma_deg = 0.3;
    sighting.instrument = kCompass;
    sighting.kind = mark.kind;
    sighting.label = mark.label;
    sighting.layer = mark.layer;
    sighting.edge = mark.edge;
    sighting.distance_m = mark.distance_m;
    value(book.put(sighting));
  }
  survey::ObstacleRow ash;
  ash.kind = horizon::Kind::leafy;
  ash.label = "Old ash";
  ash.height_m = 12;
  ash.light_through_bare = 0.65;
  ash.note = "the owner would not fell it";
  value(book.put(ash));
  survey::ObstacleRow spruces;
  spruces.kind = horizon::Kind::evergreen;
  spruces.label = "Spruces";
  spruces.height_m = 22;
  spruces.note = "six trees of the commune; felling can be asked for";
  value(book.put(spruces));
}

struct Layer {
  double top_m, bottom_m;
  const char* texture;
  double sand, silt, clay, coarse;
  const char *colour, *structure, *moisture, *roots, *mottles;
  const char* firm = "";
  double ph = 0;          // 0: not taken
  const char* feel = "";  // by hand; else the parts are the laboratory's
};

void put_pit(FieldBook& book, const Id& visit, const char* name, survey::Position where,
             double depth_m, std::optional<double> water_m, std::initializer_list<Layer> layers,
             bool percolation) {
  survey::SoilPit pit;
  pit.visit_id = visit;
  pit.time = at("2026-11-14T12:40:00Z");
  pit.name = name;
  pit.position = where;
  pit.method = "pit";
  pit.depth_m = depth_m;
  pit.water_m = water_m;
  pit.slope_deg = 4;
  pit.slope_faces_true_deg = 165;
  pit.id = value(book.put(pit));
  for (const Layer& l : layers) {
    survey::SoilLayer layer;
    layer.pit_id = pit.id;
    layer.top_m = l.top_m;
    layer.bottom_m = l.bottom_m;
    layer.texture = l.texture;
    layer.feel = l.feel;
    if (layer.feel.empty()) {
      layer.sand_percent = l.sand;
      layer.silt_percent = l.silt;
      layer.clay_percent = l.clay;
    }
    layer.coarse_percent = l.coarse;
    layer.colour = l.colour;
    layer.structure = l.structure;
    layer.moisture = l.moisture;
    layer.roots = l.roots;
    layer.mottles = l.mottles;
    layer.consistence = l.firm;
    if (l.ph > 0) layer.ph = l.ph;
    value(book.put(layer));
  }
  if (!percolation) return;
  survey::PercolationTest test;
  test.pit_id = pit.id;
  test.name = "P1";
  test.time = at("2026-11-14T13:00:00Z");
  test.position = where;
  test.hole_depth_m = 0.45;
  test.hole_width_m = 0.2;
  test.soaked_h = 4;
  test.since_boot_s = 21350;
  test.boot = "tablet, started on the morning of the walk";
  test.id = value(book.put(test));
  const double depths_mm[] = {300, 276, 255, 236, 218, 201, 184};
  for (int i = 0; i < 7; ++i) {
    survey::PercolationReading reading;
    reading.test_id = test.id;
    reading.time = {test.time.utc_s + 600.0 * i, kOffset_h};
    reading.water_depth_mm = depths_mm[i];
    reading.since_boot_s = *test.since_boot_s + 600.0 * i;
    reading.boot = test.boot;
    value(book.put(reading));
  }
}

void put_notes(FieldBook& book, const Id& visit) {
  struct Note {
    survey::Topic topic;
    const char* text;
    std::vector<survey::Field> fields;
  };
  const Note notes[] = {
      {survey::Topic::water,
       "Spring box 60 m uphill, ran all last winter under a lid.",
       {{"source", "spring"},
        {"distance_m", "60"},
        {"water_rise_m", "9"},
        {"water_flow_l_min", "6.5"},
        {"runs_in_winter", "yes"},
        {"water_line_depth_m", "1.4"}}},
      {survey::Topic::wind,
       "Valley wind from the south-west after noon; storms from the north-west.",
       {{"prevailing_from", "SW"},
        {"storm_from", "NW"},
        {"summer_from", "SW"},
        {"strongest_ms", "31"},
        {"drifts", "behind the terrace wall, 1 m deep"},
        {"loose_roofs", "stones on the barn's roof"}}},
      {survey::Topic::access,
       "Lane 2.6 m wide, cleared of snow by the school.",
       {{"way", "track"},
        {"access_distance_m", "45"},
        {"lane_width_m", "2.6"},
        {"access_slope_percent", "9"},
        {"cleared_in_winter", "yes"},
        {"turning_place", "no"}}},
      {survey::Topic::services,
       "Power at the barn. A telephone cable is said to run along the lane: have it located before "
       "any digging.",
       {{"power_distance_m", "35"},
        {"power_kw", "11"},
        {"drain_distance_m", "70"},
        {"lines_located", "no"},
        {"lines_known", "telephone cable along the lane"}}},
      {survey::Topic::neighbour,
       "Owner of the barn agrees, wants no snow slid on to the lane.",
       {{"neighbour_distance_m", "30"},
        {"boundary_distance_m", "12"},
        {"neighbour_agrees", "yes"},
        {"neighbour_wishes", "no snow on the lane"}}},
      {survey::Topic::permission,
       "Outside the avalanche map's red zone; building notice needed.",
       {{"permit_needed", "notice"},
        {"permit_asked", "yes"},
        {"setback_m", "5"},
        {"zone", "farm land; outside the red avalanche zone"}}},
      {survey::Topic::cold_air,
       "Rime lies longest in the orchard; the neighbour's beans froze there first.",
       {{"hollow", "no"},
        {"dam_below", "yes"},
        {"catchment", "yes"},
        {"fog_first", "yes"},
        {"frost_damage", "no"},
        {"neighbours_say", "no"},
        {"gap_below", "yes"},
        {"mid_slope", "no"}}},
      {survey::Topic::snow,
       "Neighbours speak of 1.5 m in most winters.",
       {{"ground_snow_kn_m2", "6.2"},
        {"snow_code", "building office, snow map of the invented valley"},
        {"usual_snow_m", "1.5"},
        {"glazing_foot_m", "0.9"},
        {"snow_held", "no"}}},
      {survey::Topic::frost,
       "Design winter told by the building office.",
       {{"freezing_index_cd", "1150"},
        {"frost_duration_d", "151"},
        {"mean_annual_c", "2.7"},
        {"design_low_c", "-35"},
        {"frost_figures_from", "building office, design winter of the invented valley"},
        {"surface", "turf"},
        {"snow_m", "0"}}},
  };
  for (const Note& n : notes) {
    survey::SiteNote note;
    note.visit_id = visit;
    note.topic = n.topic;
    note.time = at("2026-11-14T13:30:00Z");
    note.text = n.text;
    if (n.topic == survey::Topic::water) note.position = offset(-12, 62, 1491);
    note.fields = n.fields;
    value(book.put(note));
  }
  // What the school may build on, paced out from the corner posts.
  survey::Path boundary;
  boundary.kind = survey::PathKind::boundary;
  boundary.name = "school land";
  boundary.closed = true;
  boundary.time = at("2026-11-14T13:40:00Z");
  for (const auto& [east_m, north_m] :
       {std::pair(-22.0, -18.0), {52.0, -22.0}, {56.0, 12.0}, {26.0, 40.0}, {-20.0, 38.0}})
    boundary.points.push_back({offset(east_m, north_m, 1482), {}});
  for (auto& point : boundary.points) point.position.height_m.reset();
  value(book.put(boundary));
  // Levelled from station B, so that the plan has contours.
  int corner = 0;
  for (const auto& [east_m, north_m, height_m] : {std::tuple(-22.0, -18.0, 1480.1),
                                                  {52.0, -22.0, 1478.9},
                                                  {56.0, 12.0, 1482.0},
                                                  {26.0, 40.0, 1486.9},
                                                  {-20.0, 38.0, 1487.0},
                                                  {22.0, 8.0, 1482.6}}) {
    survey::Landmark level;
    level.name = "level " + std::to_string(++corner);
    level.what = "levelled point";
    level.position = offset(east_m, north_m, height_m);
    level.sigma_m = 0.5;
    level.height_sigma_m = 0.1;
    level.source = "levelled from station B";
    value(book.put(level));
  }
  survey::Path lane;
  lane.kind = survey::PathKind::access;
  lane.name = "school lane, 2.6 m";
  lane.time = at("2026-11-14T13:45:00Z");
  for (const auto& [east_m, north_m] :
       {std::pair(44.0, -40.0), {60.0, -18.0}, {64.0, 20.0}, {58.0, 46.0}})
    lane.points.push_back({offset(east_m, north_m, 0), {}});
  survey::Path telephone;
  telephone.kind = survey::PathKind::service;
  telephone.name = "telephone cable, said to run here";
  telephone.time = lane.time;
  for (const auto& [east_m, north_m] :
       {std::pair(41.0, -40.0), {57.0, -17.0}, {61.0, 20.0}, {55.0, 46.0}})
    telephone.points.push_back({offset(east_m, north_m, 0), {}});
  for (survey::Path* path : {&lane, &telephone}) {
    for (auto& point : path->points) point.position.height_m.reset();
    value(book.put(*path));
  }
  using survey::Role;
  for (const auto& [role, name, telephone_number, consent] :
       {std::tuple(Role::client, "Larkholm school, office", "+00 0000 101",
                   "wants 50 m2 for greens"),
        {Role::owner, "commune of Larkholm", "+00 0000 102", "lends the garden for 20 years"},
        {Role::neighbour, "owner of the barn", "", "agrees, 14 November; no snow on the lane"},
        {Role::authority, "building office", "+00 0000 104", "notice asked for"},
        {Role::surveyor, "KL", "+00 0000 105", ""}}) {
    survey::Person person;
    person.role = role;
    person.name = name;
    person.telephone = telephone_number;
    person.consent = consent;
    value(book.put(person));
  }
  survey::Hazard ice;
  ice.visit_id = visit;
  ice.kind = survey::HazardKind::ice;
  ice.severity = 2;
  ice.time = at("2026-11-14T08:55:00Z");
  ice.text = "steps to the north terrace were iced";
  value(book.put(ice));
  survey::Hazard cable;
  cable.visit_id = visit;
  cable.kind = survey::HazardKind::buried_service;
  cable.severity = 3;
  cable.time = at("2026-11-14T13:10:00Z");
  cable.text = "telephone cable along the lane, place not known";
  value(book.put(cable));
}

survey::MonthValues months(std::initializer_list<double> values) {
  survey::MonthValues list;
  int month = 0;
  for (const double v : values) list[month++] = v;
  return list;
}

void put_climate(FieldBook& book) {
  survey::ClimateNormals climate;
  climate.name = "Upper Larkholm, 1490 m";
  climate.source = "invented for this example";
  climate.position = offset(800, 300, 1490);
  climate.mean_c = months({-9.4, -7.6, -2.4, 2.6, 7.9, 11.6, 13.8, 13.1, 9.2, 4.1, -2.8, -8.1});
  climate.min_c = months({-15.8, -14.6, -8.8, -2.9, 1.8, 5.0, 6.9, 6.6, 3.4, -1.2, -7.7, -13.7});
  climate.max_c = months({-2.6, -0.2, 4.1, 8.3, 13.9, 18.0, 20.6, 19.8, 15.6, 9.8, 2.4, -2.3});
  climate.coldest_c =
      months({-35.2, -34.0, -27.5, -17.1, -8.9, -3.8, -1.2, -1.6, -6.3, -14.8, -24.9, -32.6});
  climate.sunshine_fraction = months({.50, .53, .54, .50, .47, .49, .56, .55, .54, .55, .47, .46});
  climate.snow_cover_fraction = months({1, 1, .95, .45, .05, 0, 0, 0, 0, .10, .55, .97});
  climate.albedo = months({.65, .65, .58, .34, .21, .20, .20, .20, .20, .22, .38, .62});
  climate.wind_ms = months({1.6, 1.8, 2.1, 2.4, 2.4, 2.3, 2.2, 2.1, 2.0, 1.8, 1.6, 1.5});
  climate.precipitation_mm = months({38, 34, 42, 55, 82, 95, 104, 108, 74, 66, 60, 44});
  value(book.put(climate));

  survey::DesignChoices choices;
  choices.glazing = "twin_wall_polycarbonate";
  choices.length_m = 10;
  choices.depth_m = 5;
  choices.height_m = 3.4;
  choices.year = 2027;
  value(book.put(choices));
}

// What the camera would see: graded sky, the skyline by kind, snow before it.
std::string picture_of(const horizon::Camera& camera, const horizon::Skyline& skyline) {
  const horizon::Mask mask(skyline);
  const auto w = static_cast<float>(camera.width_px), h = static_cast<float>(camera.height_px);
  constexpr app::Color kColours[] = {
      {92, 108, 128}, {46, 92, 70}, {158, 124, 62}, {140, 126, 116}, {50, 48, 50}};
  return value(app::png_of(w, h, 1, [&](app::Canvas& canvas) {
    for (int band = 0; band < 60; ++band) {
      const float y = h * static_cast<float>(band) / 60;
      const auto up = static_cast<float>(band) / 60;
      canvas.fill(
          {{{0, y}, {w, y}, {w, h}, {0, h}}, true},
          {{static_cast<std::uint8_t>(120 + 90 * up), static_cast<std::uint8_t>(165 + 60 * up),
            static_cast<std::uint8_t>(205 + 35 * up)}});
    }
    // A narrow upright of the skyline for each fifth of a degree, over the picture's field.
    const double half = camera.horizontal_view_deg() / 2 + 3;
    for (double turn = -half; turn < half; turn += 0.2) {
      const auto left = camera.bearing.turned_by(turn),
                 right = camera.bearing.turned_by(turn + 0.25);
      const auto corner = [&](horizon::TrueAzimuth az, double el) {
        const auto p = horizon::pixel_of(camera, {az, horizon::Elevation::degrees(el)});
        return p ? app::Point{static_cast<float>(p->x), static_cast<float>(p->y)}
                 : app::Point{-1, -1};
      };
      const int obstacle = mask.piece_at(left.turned_by(0.1).degrees()).obstacle;
      const int kind = obstacle < 0 ? 0 : static_cast<int>(skyline.obstacles[obstacle].kind);
      canvas.fill({{corner(left, mask.elevation_deg(left.degrees())),
                    corner(right, mask.elevation_deg(right.degrees())), corner(right, -20),
                    corner(left, -20)},
                   true},
                  {kColours[kind]});
    }
    const float snow = static_cast<float>(
        horizon::pixel_of(camera, {camera.bearing, horizon::Elevation::degrees(-3)})->y);
    canvas.fill({{{0, snow}, {w, snow - 12}, {w, h}, {0, h}}, true}, {{236, 240, 244}});
  }));
}

void put_photos(FieldBook& book, const std::map<std::string, Id>& stations) {
  struct Shot {
    const char *station, *utc, *name, *note;
    double bearing_deg;
  };
  const Shot shots[] = {
      {"B", "2026-11-14T10:02:00Z", "b-east.png", "old ash and the barn roof before the east ridge",
       125},
      {"B", "2026-11-14T10:03:00Z", "b-south.png", "down the valley, lamp post at the right", 172},
      {"B", "2026-11-14T10:04:00Z", "b-west.png", "spruces before the west ridge", 222},
      {"A", "2026-11-14T11:10:00Z", "a-south.png", "from the north terrace", 180},
  };
  for (const Shot& shot : shots) {
    horizon::Camera camera;
    camera.width_px = 1200;
    camera.height_px = 900;
    camera.focal_px = horizon::focal_px_of_view(1200, 62);
    camera.bearing = horizon::TrueAzimuth::degrees(shot.bearing_deg);
    camera.tilt = horizon::Elevation::degrees(10);
    survey::Photo photo;
    photo.station_id = stations.at(shot.station);
    photo.time = at(shot.utc);
    photo.file_name = shot.name;
    photo.bearing_deg = shot.bearing_deg;
    photo.reference = survey::Reference::true_north;
    photo.elevation_deg = 10;
    photo.roll_deg = 0;
    photo.view_width_deg = 62;
    photo.note = shot.note;
    const auto skyline = value(survey::station_skyline(book, photo.station_id));
    value(book.add_photo(photo, picture_of(camera, skyline.skyline())));
  }
}

void make(const std::string& csv, const std::string& out) {
  survey::Site site;
  site.name = "Larkholm school garden";
  site.position = {kMiddle.latitude_deg, kMiddle.longitude_deg, kMiddle.height_m};
  site.created = at("2026-11-14T08:50:00Z");
  site.for_whom = "Larkholm school, 46 pupils; winter greens for the kitchen";
  site.grid = "EPSG:32632";
  FieldBook book = value(FieldBook::create(out, site));
  value(book.change("make the example", [&]() -> Result<void> {
    survey::Visit visit;
    visit.begun = at("2026-11-14T08:50:00Z");
    visit.ended = at("2026-11-14T15:10:00Z");
    visit.people = "KL, MT";
    visit.weather = "clear, -4 C, light wind from the south-west";
    visit.ground_cover = "grass, rime in the shade";
    visit.id = value(book.put(visit));
    const auto stations = put_stations(book, visit.id);
    const double declination_deg =
        value(horizon::magnetic_field(kMiddle, horizon::decimal_year_of(visit.begun.utc_s)))
            .now.declination_deg;
    put_checks(book, stations, declination_deg);
    put_sightings(book, stations, csv);
    put_pit(book, visit.id, "Pit 1", offset(4, 2, 1482), 1.3, 1.25,
            {{0, 0.28, "sandy loam", 62, 28, 10, 8, "10YR 3/2", "crumb", "moist", "many fine", "",
              "friable", 6.4},
             {0.28, 0.75, "loam", 44, 38, 18, 15, "10YR 4/4", "blocky", "moist", "few", "", "firm",
              6.6},
             {0.75, 1.3, "gravelly sandy loam", 66, 24, 10, 40, "2.5Y 5/3", "single grain", "wet",
              "", "faint grey from 1.1 m", "loose", 6.9}},
            true);
    put_pit(book, visit.id, "Pit 2", offset(41, -4, 1480.5), 0.9, 0.7,
            {{0, 0.22, "silt loam", 0, 0, 0, 3, "10YR 3/1", "crumb", "wet", "many fine", "",
              "friable", 6.1, "3 1 1"},
             {0.22, 0.9, "silty clay loam", 0, 0, 0, 2, "2.5Y 5/2", "massive", "wet", "few",
              "many orange and grey", "very firm", 5.9, "3 2 1"}},
            false);
    put_notes(book, visit.id);
    put_climate(book);
    put_photos(book, stations);
    return {};
  }));
  const auto main = value(survey::main_station(book));
  value(
      book.set_sketch(survey::sketch_of(value(survey::station_skyline(book, main.id)).skyline())));
  value(book.close());
}

}  // namespace

int main(int argc, char** argv) {
  if (argc != 3) {
    std::fprintf(stderr, "usage: adret-demo larkholm_marks.csv OUT.gpkg\n");
    return 2;
  }
  try {
    make(argv[1], argv[2]);
    return 0;
  } catch (const std::exception& error) {
    std::fprintf(stderr, "adret-demo: %s\n", error.what());
    return 1;
  }
}
