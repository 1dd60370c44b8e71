#include "survey/assess/ground_findings.h"

#include <algorithm>
#include <cmath>

#include "horizon/ground/ground_year.h"
#include "survey/assess/climate_rows.h"
#include "survey/assess/weather_findings.h"
#include "survey/book/forms.h"
#include "survey/book/text.h"

namespace survey {
namespace {

using horizon::Result;

struct Work {
  const FieldBook& book;
  const GroundOptions& options;
  GroundFindings out;
  void missing(horizon::Sentence what) { out.missing.push_back(std::move(what)); }
};

// "gravelly sandy loam" is a sandy loam with stones.
std::optional<horizon::Texture> texture_in(std::string_view words) {
  while (true) {
    if (const auto texture = horizon::texture_named(words)) return texture;
    const auto space = words.find(' ');
    if (space == std::string_view::npos) return std::nullopt;
    words.remove_prefix(space + 1);
  }
}

void frost_of(Work& work, const std::optional<ClimateNormals>& climate) {
  FrostFinding frost;
  bool known = false;
  if (climate) {
    horizon::MonthlyMeans means{};
    int months = 0;
    for (std::size_t m = 0; m < 12; ++m) {
      if (!climate->mean_c[m]) continue;
      means[m] = *climate->mean_c[m];
      ++months;
    }
    if (months == 12) {
      frost.air = {horizon::freezing_index(means), {"ground.from.normals", {climate->name}}};
      frost.average_winter = known = true;
    } else if (months > 0) {
      work.missing({"ground.missing.months", {12 - months}});
    }
  }
  if (const auto* note = work.out.form(Topic::frost)) {
    const auto value = [&](std::string_view key) -> std::optional<double> {
      const auto text = answer_to(*note, key);
      if (!text) return std::nullopt;
      const auto* field = field_of(Topic::frost, key);
      const auto read = kept_value(*field, *text);
      if (read) return *read;
      work.missing({"error.at_place",
                    {horizon::Sentence("field." + read.error().where), read.error().sentence()}});
      return std::nullopt;
    };
    const auto from = source_in(*note, "frost_figures_from", "ground.from.form");
    const auto index = value("freezing_index_cd"), duration = value("frost_duration_d"),
               mean = value("mean_annual_c");
    if (index && duration && mean) {
      frost.air = {{*index, *duration, *mean}, from};
      frost.average_winter = false;
      known = true;
    } else if (index || duration) {
      work.missing("ground.missing.design_winter");
    }
    frost.snow_m = value("snow_m").value_or(0);
    if (const auto low = value("design_low_c")) work.out.cold.design_low_c = {{*low, from}};
    frost.n_factor = horizon::freezing_n_factor(horizon::Surface::bare_soil);
    frost.surface = name_of(horizon::Surface::bare_soil);
    if (const auto surface = answer_to(*note, "surface"))
      for (int s = 0; s < horizon::kSurfaceCount; ++s)
        if (name_of(static_cast<horizon::Surface>(s)) == surface->text()) {
          frost.n_factor = horizon::freezing_n_factor(static_cast<horizon::Surface>(s));
          frost.surface = surface->text();
        }
  } else {
    frost.n_factor = horizon::freezing_n_factor(horizon::Surface::bare_soil);
    frost.surface = name_of(horizon::Surface::bare_soil);
  }
  if (!known) return work.missing("ground.missing.frost");
  work.out.frost = frost;
  if (frost.average_winter) work.missing("ground.missing.average_winter");
}

// The designer's building, or a plain one: one shape for the edge here and for the house.
horizon::FloorShape floor_of(const DesignChoices& choices) {
  const double length = choices.length_m.value_or(10), depth = choices.depth_m.value_or(5);
  horizon::FloorShape floor;
  floor.area_m2 = length * depth;
  floor.perimeter_m = 2 * (length + depth);
  return floor;
}

void edge_of(const Work& work, std::span<const horizon::FrostSoilLayer> profile,
             PitFinding& finding) {
  const auto layers = horizon::thermal_layers(profile, true);
  std::vector<double> depths;
  for (double depth = 0; depth <= 3; depth += 0.1) depths.push_back(depth);
  const auto year = horizon::ground_year(
      {horizon::air_of(work.out.frost->air.value), {}, work.out.frost->n_factor, 0}, layers,
      depths);
  const auto choices = work.book.design();
  if (!year || !choices) return;
  finding.edge_table =
      horizon::edge_table(year->at, layers.back().conductivity_w_mk, floor_of(*choices));
}

PitFinding pit_finding(Work& work, const SoilPit& pit, std::vector<SoilLayer> rows) {
  PitFinding finding;
  finding.name = pit.name;
  finding.position = pit.position;
  finding.water_m = pit.water_m;
  std::sort(rows.begin(), rows.end(),
            [](const auto& a, const auto& b) { return a.top_m < b.top_m; });
  std::vector<horizon::WaterLayer> water;
  std::vector<horizon::FrostSoilLayer> profile;
  std::optional<double> tight_m = pit.rock_m;
  bool laboratory = !rows.empty();
  for (std::size_t i = 0; i < rows.size(); ++i) {
    const auto layer = layer_finding(rows[i]);
    if (!layer) {
      work.missing({"ground.missing.layer", {pit.name, i + 1, layer.error().sentence()}});
      continue;
    }
    finding.layers.push_back(*layer);
    laboratory = laboratory && layer->from_laboratory;
    water.push_back({layer->top_m, layer->bottom_m, layer->water, layer->coarse_percent});
    profile.push_back(
        {layer->top_m, layer->bottom_m, layer->soil, layer->water, layer->coarse_percent});
    // Under 0.9 micrometres a second a layer counts as tight (handbook 630, chapter 7).
    if (layer->water.conductivity_mm_h < 0.9 * 3.6)
      tight_m = std::min(tight_m.value_or(layer->top_m), layer->top_m);
  }
  finding.from = {laboratory ? "ground.from.pit_laboratory" : "ground.from.pit", {pit.name}};
  if (finding.layers.empty()) {
    work.missing({"ground.missing.layers", {pit.name}});
    return finding;
  }
  finding.described_m = finding.layers.back().bottom_m;
  finding.available_water_mm = horizon::available_water_mm(water, 1.0);
  if (const auto group = horizon::hydrologic_group({tight_m, pit.water_m, water}))
    finding.hydrologic_group = *group;
  const LayerFinding& base = finding.layers.back();
  finding.frost_group = horizon::frost_range(base.soil, base.coarse_percent);
  finding.bearing = horizon::bearing_class(base.soil, base.coarse_percent, base.organic_percent);
  if (!finding.bearing) work.missing({"ground.missing.organic", {pit.name}});
  if (!work.out.frost) return finding;
  const FrostFinding& frost = *work.out.frost;
  const auto depth = horizon::frost_range(frost.air.value, frost.n_factor, profile, frost.snow_m);
  if (!depth) {
    work.missing({"ground.missing.depth", {pit.name, depth.error().sentence()}});
    return finding;
  }
  finding.frost_depth = *depth;
  if (frost.snow_m > 0)
    if (const auto bare = horizon::frost_range(frost.air.value, frost.n_factor, profile))
      finding.frost_cleared = *bare;
  edge_of(work, profile, finding);
  if (const auto& low = work.out.cold.design_low_c)
    finding.edge_insulation =
        horizon::edge_insulation(finding.frost_cleared.value_or(*depth), low->value);
  return finding;
}

PercolationFinding percolation_finding(Work& work, const PercolationTest& test,
                                       std::vector<PercolationReading> rows) {
  PercolationFinding finding;
  finding.name = test.name;
  finding.position = test.position;
  finding.from = {"ground.from.test", {test.name, rows.size()}};
  const auto times = percolation_times(std::move(rows));
  const auto result =
      times ? horizon::percolation({test.hole_width_m * 1000, test.square_hole, test.soaked_h},
                                   times->readings)
            : tl::unexpected(times.error());
  if (times) finding.clock_jump_s = times->clock_jump_s;
  if (result)
    finding.result = *result;
  else
    work.missing({"ground.missing.test", {test.name, result.error().sentence()}});
  return finding;
}

Result<void> soil(Work& work) {
  const auto pits = work.book.all<SoilPit>();
  if (!pits) return tl::unexpected(pits.error());
  for (const SoilPit& pit : *pits) {
    auto layers = work.book.where<SoilLayer>("pit_id", pit.id);
    if (!layers) return tl::unexpected(layers.error());
    work.out.pits.push_back(pit_finding(work, pit, std::move(*layers)));
  }
  if (pits->empty()) work.missing("ground.missing.pit");
  const auto tests = work.book.all<PercolationTest>();
  if (!tests) return tl::unexpected(tests.error());
  for (const PercolationTest& test : *tests) {
    auto readings = work.book.where<PercolationReading>("test_id", test.id);
    if (!readings) return tl::unexpected(readings.error());
    work.out.percolation.push_back(percolation_finding(work, test, std::move(*readings)));
  }
  if (tests->empty()) work.missing("ground.missing.percolation");
  return {};
}

}  // namespace

Result<LayerFinding> layer_finding(const SoilLayer& row) {
  LayerFinding layer{.top_m = row.top_m,
                     .bottom_m = row.bottom_m,
                     .coarse_percent = row.coarse_percent.value_or(0),
                     .organic_percent = row.organic_percent.value_or(0)};
  const int parts =
      row.sand_percent.has_value() + row.silt_percent.has_value() + row.clay_percent.has_value();
  if (parts >= 2) {
    const auto soil = horizon::fine_earth(row.sand_percent, row.silt_percent, row.clay_percent);
    if (!soil) return tl::unexpected(soil.error());
    layer.soil = *soil;
    layer.texture = horizon::texture_of(*soil);
    layer.from_laboratory = true;
    const auto water = horizon::soil_water(*soil, row.organic_percent.value_or(2.5));
    layer.water = water ? *water : horizon::typical_soil_water(layer.texture);
    return layer;
  }
  const auto texture = texture_in(row.texture);
  if (!texture) return horizon::fail(horizon::Code::not_found, "ground.missing.texture");
  layer.texture = *texture;
  layer.soil = horizon::typical_of(*texture);
  layer.water = horizon::typical_soil_water(*texture);
  return layer;
}

Result<PercolationTimes> percolation_times(std::vector<PercolationReading> rows) {
  PercolationTimes times;
  const bool all_by_boot =
      !rows.empty() && std::all_of(rows.begin(), rows.end(), [&](const auto& r) {
        return r.since_boot_s && !r.boot.empty() && r.boot == rows.front().boot;
      });
  std::stable_sort(rows.begin(), rows.end(), [&](const auto& a, const auto& b) {
    return all_by_boot ? *a.since_boot_s < *b.since_boot_s : a.time.utc_s < b.time.utc_s;
  });
  if (rows.empty()) return times;
  const auto& first = rows.front();
  horizon::ClockMark before{first.time.utc_s, first.since_boot_s, first.boot};
  double utc_s = first.time.utc_s;
  for (const auto& row : rows) {
    const horizon::ClockMark mark{row.time.utc_s, row.since_boot_s, row.boot};
    const auto passed = horizon::elapsed(before, mark);
    if (!passed) return tl::unexpected(passed.error());
    utc_s += passed->seconds;
    times.checked = times.checked && passed->checked;
    if (std::abs(passed->clock_jump_s) > std::abs(times.clock_jump_s))
      times.clock_jump_s = passed->clock_jump_s;
    times.readings.push_back(
        {utc_s, row.water_depth_mm, row.refilled ? row.refilled_to_mm : std::optional<double>()});
    before = mark;
  }
  return times;
}

const SiteNote* GroundFindings::form(Topic topic) const {
  for (const auto& note : forms)
    if (note.topic == topic) return &note;
  return nullptr;
}

Result<GroundFindings> ground_findings(const FieldBook& book, const GroundOptions& options) {
  Work work{book, options, {}};
  auto notes = book.all<SiteNote>();
  if (!notes) return tl::unexpected(notes.error());
  std::stable_sort(notes->begin(), notes->end(),
                   [](const auto& a, const auto& b) { return a.time.utc_s > b.time.utc_s; });
  for (auto& note : *notes)
    if (!work.out.form(note.topic) && !note.fields.empty()) work.out.forms.push_back(note);
  const auto climates = book.all<ClimateNormals>();
  if (!climates) return tl::unexpected(climates.error());
  std::optional<ClimateNormals> climate;
  if (!climates->empty())
    climate = climates->front();
  else if (options.weather)
    climate = climate_of(*options.weather);
  frost_of(work, climate);
  if (auto done = soil(work); !done) return tl::unexpected(done.error());
  if (auto done = weather_findings(book, options, climate, work.out); !done)
    return tl::unexpected(done.error());
  return std::move(work.out);
}

}  // namespace survey
