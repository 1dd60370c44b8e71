#include "survey/assess/station_skyline.h"

#include <algorithm>
#include <atomic>
#include <cmath>
#include <cstdio>
#include <limits>
#include <unordered_map>

#include "horizon/bearing/declination.h"
#include "horizon/geodesy.h"
#include "horizon/photo/turn.h"
#include "horizon/skyline/contact_turn.h"
#include "horizon/skyline/mask.h"
#include "horizon/skyline/thinned.h"
#include "horizon/terrain/terrain.h"
#include "survey/assess/last_few.h"
#include "survey/assess/site_clock.h"
#include "survey/exchange/grid.h"
#include "survey/exchange/marks_csv.h"

namespace survey {

using horizon::Code;
using horizon::Result;

namespace {

#define ADRET_TRY(name, expression)                                 \
  auto name##_result = (expression);                                \
  if (!name##_result) return tl::unexpected(name##_result.error()); \
  auto& name = *name##_result

// What all stations of a site share, read once.
struct Shared {
  Site site;
  std::vector<horizon::Obstacle> known;
};

Result<Shared> shared_of(const FieldBook& book) {
  ADRET_TRY(site, book.site());
  ADRET_TRY(obstacles, book.all<ObstacleRow>());
  Shared shared{site, {}};
  for (const ObstacleRow& row : obstacles) {
    horizon::Obstacle obstacle;
    obstacle.kind = row.kind;
    obstacle.label = row.label;
    obstacle.foliage = {static_cast<std::uint16_t>(row.leaf_months), row.light_through_in_leaf,
                        row.light_through_bare};
    obstacle.width_deg = row.width_deg;
    shared.known.push_back(obstacle);
  }
  return shared;
}

void set_declination(const Site& site, double utc_s, StationSkyline& out,
                     horizon::Corrections& corrections) {
  if (site.declination_deg) {
    out.declination_deg = site.declination_deg;
    // Common practice: a declination printed on a map is good to half a degree.
    out.declination_sigma_deg = site.declination_sigma_deg.value_or(0.5);
    out.declination_source = site.declination_source.empty() ? "entered" : site.declination_source;
  } else {
    const double year = horizon::decimal_year_of(utc_s);
    const auto field = horizon::magnetic_field(out.eye, year);
    if (field) {
      out.declination_deg = field->now.declination_deg;
      out.declination_sigma_deg = field->sigma.declination_deg;
      char words[40];
      std::snprintf(words, sizeof words, "WMM2025 for %.2f", year);
      out.declination_source = words;
      if (field->zone != horizon::CompassZone::normal)
        out.notes.push_back({Code::out_of_range, "error.near_magnetic_pole", out.station.name});
    } else {
      out.notes.push_back({field.error().code,
                           {"error.enter_declination_by_hand", {field.error().sentence()}},
                           "site.declination_deg"});
    }
  }
  corrections.declination_deg = out.declination_deg;
  corrections.declination_sigma_deg = out.declination_sigma_deg;
}

void set_convergence(const Site& site, StationSkyline& out, horizon::Corrections& corrections) {
  out.convergence_deg = site.convergence_deg;
  if (!out.convergence_deg && !site.grid.empty()) {
    auto grid = Grid::open(site.grid);
    const auto point = grid ? grid->at(out.eye) : tl::unexpected(grid.error());
    if (point)
      out.convergence_deg = point->convergence_deg;
    else
      out.notes.push_back({point.error().code, point.error().sentence(), "site.grid"});
  }
  corrections.convergence_deg = out.convergence_deg;
}

// The checks of each instrument, beside out.instruments.
struct InstrumentChecks {
  std::vector<horizon::HeadingCheck> checks;
  bool north_unknown = false;
  std::optional<horizon::ContactTurn> unsure;  // more than one turn fits the contacts
};
using SortedChecks = std::vector<InstrumentChecks>;

SortedChecks sorted_checks(const std::vector<HeadingCheckRow>& checks, StationSkyline& out,
                           const horizon::Corrections& corrections) {
  SortedChecks sorted;
  for (const HeadingCheckRow& row : checks) {
    if (row.voided) continue;
    const auto measured = horizon::check_azimuth(row.bearing_deg, row.reference, corrections);
    if (!measured) {
      out.notes.push_back({measured.error().code, measured.error().sentence(),
                           "heading check " + (row.label.empty() ? row.id : row.label)});
      continue;
    }
    auto found = std::ranges::find(out.instruments, row.instrument, &InstrumentHeading::instrument);
    if (found == out.instruments.end()) {
      out.instruments.push_back({row.instrument, {}, {}, false});
      sorted.push_back({{}, row.reference == horizon::Reference::device, {}});
      found = out.instruments.end() - 1;
    }
    const auto index = found - out.instruments.begin();
    found->magnetic = row.reference == horizon::Reference::magnetic;
    found->checks.push_back(row.id);
    sorted[index].checks.push_back({row.kind, *measured,
                                    horizon::TrueAzimuth::degrees(row.known_true_deg),
                                    row.bearing_sigma_deg, row.known_sigma_deg, row.label,
                                    static_cast<int>(found->checks.size()) - 1});
  }
  return sorted;
}

// Two turns fit the contacts alike. Where no other check speaks for one of them, or the one that does
// fits neither, the instrument's north is in doubt as far as they reach.
void set_doubt(const horizon::ContactTurn& turns, horizon::HeadingCorrection& heading) {
  constexpr double kLeast_deg = 0.5, kShare = 0.05;
  const double reach = 3 * std::max(kLeast_deg, heading.sigma_deg);
  if (heading.used > 0 && turns.share_within(heading.offset_deg, reach) > kShare) return;
  heading.disputed = true;
  heading.sigma_deg = std::max(heading.sigma_deg, turns.spread_about_deg(heading.offset_deg));
}

// One correction for each instrument, by its name.
void set_instruments(const SortedChecks& sorted, StationSkyline& out,
                     horizon::Corrections& corrections) {
  for (std::size_t i = 0; i < sorted.size(); ++i) {
    InstrumentHeading& heading = out.instruments[i];
    horizon::HeadingRules rules;
    if (heading.instrument == "hand compass") rules.most_off_deg = 10;
    if (sorted[i].north_unknown) rules.most_off_deg.reset();
    heading.correction = horizon::heading_correction(sorted[i].checks, rules);
    const std::string name = heading.instrument.empty() ? out.station.name : heading.instrument;
    for (const auto& rejected : heading.correction.rejected)
      out.notes.push_back(
          {Code::bad_input,
           rejected.beyond ? "error.heading_check_beyond" : "error.heading_check_left_out",
           sorted[i].checks[rejected.index].label.empty()
               ? name
               : name + ", " + sorted[i].checks[rejected.index].label});
    if (heading.correction.disputed)
      out.notes.push_back({Code::bad_input, "error.heading_checks_disagree", name});
    if (sorted[i].unsure) set_doubt(*sorted[i].unsure, heading.correction);
    corrections.instruments.push_back(heading.correction);
  }
}

double level_sigma_of(const Sighting& row) {
  return row.instrument.starts_with(kTurnInstrument) ? horizon::kTurnLevel_deg : 0;
}

// The zero of a clinometer or a phone, which all its aims share.
double zero_sigma_of(const Sighting& row) {
  if (row.instrument.starts_with(kTurnInstrument)) return horizon::kTurnLevel_deg;
  if (row.instrument == kTerrainInstrument || !row.photo_id.empty()) return 0;
  return zero_sigma_deg(row.elevation_sigma_deg);
}

// Of the error of a row from a height grid, what is its own; the rest all such rows share.
double own_sigma_of(const Sighting& row) {
  return row.instrument == kTerrainInstrument
             ? std::min(row.elevation_sigma_deg, horizon::kLandOwnSigma_deg)
             : row.elevation_sigma_deg;
}

double land_sigma_of(const Sighting& row) {
  const double own = own_sigma_of(row), all = row.elevation_sigma_deg;
  return all > own ? std::sqrt(all * all - own * own) : 0;
}

std::vector<horizon::RawSighting> raw_sightings(const std::vector<Sighting>& sightings,
                                                StationSkyline& out) {
  const auto index_of = [&](const std::string& instrument) {
    const auto found =
        std::ranges::find(out.instruments, instrument, &InstrumentHeading::instrument);
    return found == out.instruments.end() ? -1 : static_cast<int>(found - out.instruments.begin());
  };
  std::vector<horizon::RawSighting> raw;
  for (const Sighting& row : sightings) {
    if (row.voided) continue;
    raw.push_back({row.bearing_deg, row.reference, row.back_bearing, row.elevation_deg,
                   row.bearing_sigma_deg, own_sigma_of(row), row.kind, row.label, row.layer,
                   row.edge, row.distance_m, row.width_deg, row.group, index_of(row.instrument),
                   static_cast<int>(out.sightings.size()), zero_sigma_of(row)});
    out.sightings.push_back(row.id);
  }
  return raw;
}

// Takes some hundredths of a second.
Result<horizon::ContactTurn> turned(const horizon::Skyline& aims, const StationContacts& contacts) {
  std::string key;
  const auto add = [&](std::initializer_list<double> values) {
    for (const double v : values) key.append(reinterpret_cast<const char*>(&v), sizeof v);
  };
  for (const auto& p : aims.points)
    add({p.azimuth.degrees(), p.elevation.degrees(), p.azimuth_sigma_deg, p.elevation_sigma_deg,
         p.level_sigma_deg, static_cast<double>(p.layer),
         static_cast<double>(aims.obstacles[p.obstacle].kind), static_cast<double>(p.obstacle)});
  for (std::size_t i = 0; i < contacts.evidence.size(); ++i) {
    const auto& r = contacts.evidence[i].reading;
    add({r.utc_s, r.place.latitude_deg, r.place.longitude_deg, r.place.height_m,
         static_cast<double>(r.came), static_cast<double>(r.body), static_cast<double>(r.touch)});
    const auto& c = contacts.fit.contacts[i];
    if (c.used()) add({c.contact->elevation.degrees(), c.contact->line_sigma_deg});
  }
  for (const auto& d : contacts.fit.dark) add({d.day.noon_utc_s, static_cast<double>(d.fault)});
  thread_local LastFew<Result<horizon::ContactTurn>> kept;
  return kept.of(key, [&] { return horizon::contact_turn(aims, contacts.evidence, contacts.fit); });
}

// The light of sun and moon as one more heading check of each instrument whose north is in doubt.
void add_contact_checks(const std::vector<Sighting>& sightings,
                        const horizon::Corrections& corrections, StationSkyline& out,
                        SortedChecks& sorted) {
  std::vector<std::string> names;
  for (const Sighting& row : sightings)
    if (!row.voided && row.instrument != kTerrainInstrument &&
        (row.reference == Reference::magnetic || row.reference == Reference::device) &&
        std::ranges::find(names, row.instrument) == names.end())
      names.push_back(row.instrument);
  for (const std::string& name : names) {
    std::vector<horizon::RawSighting> raw;
    for (const Sighting& row : sightings) {
      if (row.voided || row.instrument != name) continue;
      // As the instrument's own zero has it: the turn is what the checks measure.
      const auto azimuth = horizon::check_azimuth(row.bearing_deg, row.reference, corrections);
      if (!azimuth) continue;
      raw.push_back({azimuth->degrees(), Reference::true_north, row.back_bearing, row.elevation_deg,
                     row.bearing_sigma_deg, row.elevation_sigma_deg, row.kind, row.label, row.layer,
                     row.edge, row.distance_m, row.width_deg, row.group, -1, 0,
                     level_sigma_of(row)});
    }
    if (raw.size() < 3) continue;
    const horizon::CorrectedSkyline aims = horizon::corrected_skyline(raw, {}, {});
    const auto turn = turned(aims.skyline, out.contacts);
    const horizon::Error* why = !turn ? &turn.error() : turn->decided ? nullptr : &turn->why;
    if (why)
      out.notes.push_back({why->code, why->sentence(), name.empty() ? out.station.name : name});
    if (!turn || (!turn->decided && !turn->other_deg)) continue;
    auto found = std::ranges::find(out.instruments, name, &InstrumentHeading::instrument);
    if (found == out.instruments.end()) {
      out.instruments.push_back({name, {}, {}, false});
      // A needle's error is bounded; a device's own zero can be anywhere.
      const bool device = std::ranges::any_of(sightings, [&](const Sighting& row) {
        return row.instrument == name && row.reference == Reference::device;
      });
      sorted.push_back({{}, device, {}});
      found = out.instruments.end() - 1;
    }
    if (!turn->decided) {
      sorted[found - out.instruments.begin()].unsure = *turn;
      continue;
    }
    found->checks.emplace_back();
    sorted[found - out.instruments.begin()].checks.push_back(horizon::contact_check(*turn));
    for (std::size_t k = 0; k < turn->left_out.size(); ++k) {
      horizon::FittedContact& contact = out.contacts.fit.contacts[turn->left_out[k]];
      if (!contact.used()) continue;
      contact.fault = horizon::ContactFault::contradicts;
      contact.off_deg = turn->off_deg[k];
      contact.why = {Code::bad_input,
                     {"error.contact_off_line", {horizon::Arg::figure(turn->off_deg[k], 1)}}};
      --out.contacts.fit.used;
    }
  }
}

// Contacts and aims in one line; what disagrees is said with its size.
void join_contacts(StationSkyline& out) {
  horizon::Skyline& skyline = out.result.skyline;
  const horizon::Skyline aims = skyline;
  skyline = horizon::with_contacts(aims, out.contacts.fit, &out.contacts.disagreements);
  // What a contact's own row names becomes its obstacle where nothing was aimed at.
  for (auto& point : skyline.points) {
    if (point.contact < 0) continue;
    const std::string& label = out.contacts.origins[point.contact].label;
    if (label.empty() || !skyline.obstacles[point.obstacle].label.empty()) continue;
    const auto known = std::ranges::find(skyline.obstacles, label, &horizon::Obstacle::label);
    if (known != skyline.obstacles.end()) {
      point.obstacle = static_cast<int>(known - skyline.obstacles.begin());
      continue;
    }
    point.obstacle = static_cast<int>(skyline.obstacles.size());
    skyline.obstacles.push_back({horizon::Kind::ridge, label});
  }
  for (const auto& [point, contact, off, sigma] : out.contacts.disagreements)
    out.notes.push_back({Code::bad_input,
                         {"error.aims_off_contact", {horizon::Arg::figure(off, 1)}},
                         out.contacts.origins[contact].name});
  for (std::size_t i = 0; i < out.contacts.fit.contacts.size(); ++i) {
    const horizon::FittedContact& contact = out.contacts.fit.contacts[i];
    if (!contact.used())
      out.notes.push_back({contact.why.code, contact.why.sentence(), out.contacts.origins[i].name});
  }
  for (std::size_t i = 0; i < out.contacts.fit.dark.size(); ++i) {
    const horizon::FittedDay& day = out.contacts.fit.dark[i];
    if (day.fault != horizon::ContactFault::none)
      out.notes.push_back({day.why.code, day.why.sentence(), out.contacts.dark_origins[i].name});
  }
  out.notes.insert(out.notes.end(), out.contacts.notes.begin(), out.contacts.notes.end());
}

void thin(StationSkyline& out) {
  horizon::Thinned few = horizon::thinned(out.skyline());
  if (!few.any) return;
  const auto figure = [](std::size_t n) { return horizon::Arg::figure(static_cast<double>(n), 0); };
  out.notes.push_back({Code::bad_input,
                       {"error.marks_thinned",
                        {figure(few.points), figure(few.things), figure(few.skyline.points.size()),
                         figure(few.skyline.obstacles.size())}},
                       "station " + out.station.name});
  out.result.skyline = std::move(few.skyline);
}

std::atomic<long> derived = 0;

Result<StationSkyline> derive(const FieldBook& book, const Shared& shared, const Station& station) {
  ++derived;
  StationSkyline out;
  out.station = station;
  out.eye = {station.position.latitude_deg, station.position.longitude_deg,
             station.position.height_m.value_or(shared.site.position.height_m.value_or(0)) +
                 station.eye_height_m};
  if (!station.position.height_m)
    out.notes.push_back(
        {Code::bad_input, "error.station_height_missing", "station " + station.name});
  const double clock_h = shared.site.created.utc_offset_h;
  if (std::abs(clock_from_sun_h(clock_h, out.eye.longitude_deg)) > kClockFromSun_h &&
      station.main && station.position != Position{})
    out.notes.push_back({Code::bad_input, site_clock_off(clock_h, out.eye.longitude_deg), "site"});
  ADRET_TRY(sightings, book.where<Sighting>("station_id", station.id));
  ADRET_TRY(checks, book.where<HeadingCheckRow>("station_id", station.id));
  ADRET_TRY(contacts, station_contacts(book, station, out.eye));
  out.contacts = std::move(contacts);

  double when = 0;
  int timed = 0;
  for (const Sighting& row : sightings)
    if (!row.voided && row.time.utc_s != 0) when += row.time.utc_s, ++timed;
  if (timed > 0) when /= timed;
  if (timed == 0) when = station.time.utc_s != 0 ? station.time.utc_s : shared.site.created.utc_s;

  horizon::Corrections corrections;
  set_declination(shared.site, when, out, corrections);
  set_convergence(shared.site, out, corrections);
  SortedChecks sorted = sorted_checks(checks, out, corrections);
  if (out.contacts.fit.used >= 2) add_contact_checks(sightings, corrections, out, sorted);
  set_instruments(sorted, out, corrections);

  out.result = horizon::corrected_skyline(raw_sightings(sightings, out), corrections, shared.known);
  std::unordered_map<Id, double> computed;
  for (const Sighting& row : sightings)
    if (row.instrument == kTerrainInstrument) computed[row.id] = land_sigma_of(row);
  for (auto& point : out.result.skyline.points) {
    if (point.source < 0) continue;
    const auto land = computed.find(out.sightings[static_cast<std::size_t>(point.source)]);
    point.computed = land != computed.end();
    if (point.computed) point.level_sigma_deg = land->second;
  }
  if (shared.site.max_gap_deg) out.result.skyline.max_gap_deg = *shared.site.max_gap_deg;
  if (out.contacts.any() || !out.contacts.notes.empty()) join_contacts(out);
  thin(out);
  return out;
}

}  // namespace

Result<Station> main_station(const FieldBook& book) {
  ADRET_TRY(stations, book.all<Station>());
  if (stations.empty()) return horizon::fail(Code::not_found, "error.no_station_yet", book.path());
  const auto main = std::ranges::find(stations, true, &Station::main);
  return main == stations.end() ? stations.front() : *main;
}

long skylines_derived() { return derived; }

Result<StationSkyline> station_skyline(const FieldBook& book, const Id& station_id) {
  ADRET_TRY(shared, shared_of(book));
  ADRET_TRY(station, book.get<Station>(station_id));
  return derive(book, shared, station);
}

Result<std::vector<StationSkyline>> station_skylines(const FieldBook& book) {
  constexpr std::size_t kAll = std::numeric_limits<std::size_t>::max();
  return station_skylines(book, kAll, kAll, {}, nullptr);
}

Result<std::vector<StationSkyline>> station_skylines(const FieldBook& book, std::size_t most,
                                                     std::size_t then, std::string_view named,
                                                     std::size_t* beyond) {
  ADRET_TRY(shared, shared_of(book));
  ADRET_TRY(stations, book.all<Station>());
  std::ranges::stable_sort(stations, std::ranges::greater{}, &Station::main);
  const bool too_many = stations.size() > most;
  if (too_many && !named.empty())
    std::ranges::stable_partition(stations.begin() + 1, stations.end(),
                                  [&](const Station& s) { return s.name == named; });
  std::vector<StationSkyline> all;
  std::size_t sighted = 0;
  for (const Station& station : stations) {
    if (too_many && (sighted >= then || all.size() >= 10 * then)) break;
    ADRET_TRY(one, derive(book, shared, station));
    sighted += !one.skyline().points.empty();
    all.push_back(std::move(one));
  }
  if (beyond) *beyond = stations.size() - all.size();
  return all;
}

Result<MeanPosition> mean_position(std::span<const Fix> fixes) {
  // Common practice for a phone's receiver where it reports none.
  constexpr double kUsualSigma_m = 10, kUsualHeightSigma_m = 20;
  std::vector<const Fix*> used;
  for (const Fix& fix : fixes)
    if (!fix.left_out) used.push_back(&fix);
  if (used.empty()) return horizon::fail(Code::not_found, "error.no_fix_left");
  // Metres about the first fix: the mean must not feel the date line.
  const Position origin = used.front()->position;
  const horizon::Place from{origin.latitude_deg, origin.longitude_deg, 0};
  struct Offset {
    double east, north, sigma;
  };
  std::vector<Offset> offsets;
  for (const Fix* fix : used) {
    const auto line =
        horizon::geodesic(from, {fix->position.latitude_deg, fix->position.longitude_deg, 0});
    offsets.push_back({line.distance_m * std::sin(line.azimuth.radians()),
                       line.distance_m * std::cos(line.azimuth.radians()),
                       std::max(0.01, fix->horizontal_sigma_m.value_or(kUsualSigma_m))});
  }
  MeanPosition mean;
  if (used.size() >= 3) {
    auto median = [&](auto part) {
      std::vector<double> values;
      for (const Offset& o : offsets) values.push_back(part(o));
      std::ranges::nth_element(values, values.begin() + values.size() / 2);
      return values[values.size() / 2];
    };
    const double east = median([](const Offset& o) { return o.east; });
    const double north = median([](const Offset& o) { return o.north; });
    const double spread =
        median([&](const Offset& o) { return std::hypot(o.east - east, o.north - north); });
    for (std::size_t i = used.size(); i-- > 0;) {
      const double off = std::hypot(offsets[i].east - east, offsets[i].north - north);
      if (off <= 3.5 * std::max(1.4826 * spread, offsets[i].sigma)) continue;
      mean.outliers.insert(mean.outliers.begin(), used[i]->id);
      used.erase(used.begin() + i);
      offsets.erase(offsets.begin() + i);
    }
  }
  double weight = 0, east = 0, north = 0, best = 1e9;
  double height_weight = 0, height = 0, best_height = 1e9;
  for (std::size_t i = 0; i < used.size(); ++i) {
    const double w = 1 / (offsets[i].sigma * offsets[i].sigma);
    weight += w;
    east += w * offsets[i].east;
    north += w * offsets[i].north;
    best = std::min(best, offsets[i].sigma);
    if (!used[i]->position.height_m) continue;
    const double sigma = std::max(0.01, used[i]->height_sigma_m.value_or(kUsualHeightSigma_m));
    height_weight += 1 / (sigma * sigma);
    height += *used[i]->position.height_m / (sigma * sigma);
    best_height = std::min(best_height, sigma);
  }
  east /= weight;
  north /= weight;
  const horizon::Place place = horizon::destination(
      from, horizon::TrueAzimuth::degrees(std::atan2(east, north) / horizon::kDegree),
      std::hypot(east, north));
  mean.position = {place.latitude_deg, horizon::wrap_180(place.longitude_deg), {}};
  mean.horizontal_sigma_m = std::max(1 / std::sqrt(weight), best / std::sqrt(2.0));
  if (height_weight > 0) {
    mean.position.height_m = height / height_weight;
    mean.height_sigma_m = std::max(1 / std::sqrt(height_weight), best_height / std::sqrt(2.0));
  }
  mean.used = static_cast<int>(used.size());
  return mean;
}

SkylineSketch sketch_of(const horizon::Skyline& skyline, int count) {
  const horizon::Mask mask(skyline);
  SkylineSketch sketch;
  for (int i = 0; i < count; ++i) {
    const horizon::MaskPiece& piece = mask.piece_at(360.0 * i / count);
    sketch.elevation_deg.push_back(static_cast<float>(piece.elevation_deg(360.0 * i / count)));
    const bool sighted = piece.obstacle >= 0 && !piece.open;
    sketch.kind.push_back(
        sighted ? static_cast<std::uint8_t>(skyline.obstacles[piece.obstacle].kind) : 255);
  }
  return sketch;
}

}  // namespace survey
