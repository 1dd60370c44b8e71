#include "survey/assess/station_input.h"

#include <cstdlib>

#include "horizon/ground/wind.h"
#include "survey/book/text.h"

namespace survey {
namespace {

using horizon::Result;

// All twelve, or nothing.
std::optional<horizon::Monthly> whole_year(const MonthValues& values) {
  horizon::Monthly out{};
  for (std::size_t m = 0; m < 12; ++m) {
    if (!values[m]) return std::nullopt;
    out[m] = *values[m];
  }
  return out;
}

void set_sky(horizon::StationInput& input, const ClimateNormals& climate) {
  using What = horizon::MonthlyNormals::What;
  if (auto turbidity = whole_year(climate.linke_turbidity)) {
    horizon::MonthlyTurbidity given{};
    for (std::size_t m = 0; m < 12; ++m) given[m] = (*turbidity)[m];
    input.sky.turbidity = given;
  }
  const std::string source = climate.name.empty()     ? climate.source
                             : climate.source.empty() ? climate.name
                                                      : climate.name + ", " + climate.source;
  if (auto sunshine = whole_year(climate.sunshine_fraction)) {
    input.sky.normals =
        horizon::MonthlyNormals{What::sunshine_fraction, *sunshine, .25, .5, source};
  } else if (auto global = whole_year(climate.global_kwh_m2_day)) {
    input.sky.normals = horizon::MonthlyNormals{What::global_kwh_m2_day, *global, .25, .5, source};
  }
  if (input.sky.normals) input.sky.source = horizon::SkySource::normals;
  if (auto albedo = whole_year(climate.albedo)) {
    input.albedo = *albedo;
  } else if (auto snow = whole_year(climate.snow_cover_fraction)) {
    const auto white = horizon::snow_albedo(0xFFF), bare = horizon::snow_albedo(0);
    for (std::size_t m = 0; m < 12; ++m) {
      input.albedo[m] = bare[m] + (white[m] - bare[m]) * (*snow)[m];
    }
  }
}

}  // namespace

std::optional<horizon::Glazing> glazing_of(std::string_view name) {
  std::string plain(name);
  for (char& c : plain) {
    if (c == '_') c = '-';
  }
  constexpr std::string_view kEnding = "-polycarbonate";
  if (plain.size() > kEnding.size() && plain.ends_with(kEnding)) {
    plain.resize(plain.size() - kEnding.size());
  }
  return horizon::glazing_named(plain);
}

Result<SiteSettings> site_settings(const FieldBook& book) {
  SiteSettings out;
  auto site = book.site();
  if (!site) return tl::unexpected(site.error());
  out.site = std::move(*site);
  auto choices = book.design();
  if (!choices) return tl::unexpected(choices.error());
  out.choices = std::move(*choices);
  auto climate = book.all<ClimateNormals>();
  if (!climate) return tl::unexpected(climate.error());
  if (!climate->empty()) out.climate = std::move(climate->front());
  auto pits = book.all<SoilPit>();
  if (!pits) return tl::unexpected(pits.error());
  for (const auto& pit : *pits) {
    if (!out.slope && pit.slope_deg && pit.slope_faces_true_deg) {
      out.slope = horizon::GroundSlope{*pit.slope_deg,
                                       horizon::TrueAzimuth::degrees(*pit.slope_faces_true_deg)};
    }
  }
  auto notes = book.all<SiteNote>();
  if (!notes) return tl::unexpected(notes.error());
  std::optional<horizon::TrueAzimuth> usual;
  for (const auto& note : *notes)
    for (const auto& field : note.fields) {
      if (field.key == "design_low_c")
        if (const auto low = number_of(field.value)) out.design_low_c = *low;
      if (field.key == "summer_from" || field.key == "prevailing_from")
        for (int s = 0; s < horizon::kWindSectors; ++s)
          if (horizon::sector_name(s) == field.value)
            (field.key == "summer_from" ? out.summer_wind_from : usual) =
                horizon::TrueAzimuth::degrees(s * 360.0 / horizon::kWindSectors);
    }
  if (!out.summer_wind_from) out.summer_wind_from = usual;
  return out;
}

int sun_year_of(const SiteSettings& settings) {
  if (settings.choices.year) return *settings.choices.year;
  const auto& created = settings.site.created;
  return static_cast<int>(horizon::date_of(created.utc_s, created.utc_offset_h).year());
}

horizon::StationInput station_input(const SiteSettings& settings, const StationSkyline& station) {
  horizon::StationInput input;
  input.place = station.eye;
  input.height_known = station.station.position.height_m || settings.site.position.height_m;
  input.utc_offset_h = settings.site.created.utc_offset_h;
  input.year = sun_year_of(settings);
  input.skyline = station.skyline();
  input.eye_height_sigma_m = station.station.eye_height_sigma_m;
  input.declination_deg = station.declination_deg;
  // The compass with most checks that agree is the one to set out with.
  int used = 0;
  for (const InstrumentHeading& each : station.instruments)
    if (each.magnetic && each.correction.used > used) {
      used = each.correction.used;
      input.compass_offset_deg = each.correction.offset_deg;
    }
  input.convergence_deg = station.convergence_deg;
  if (settings.slope) input.slope = *settings.slope;
  if (settings.climate) set_sky(input, *settings.climate);
  const auto& choices = settings.choices;
  if (auto glazing = glazing_of(choices.glazing)) input.glazing = *glazing;
  input.frames_and_dirt = choices.frames_and_dirt;
  if (choices.facing_true_deg && choices.tilt_deg) {
    input.chosen =
        horizon::Plane{horizon::TrueAzimuth::degrees(*choices.facing_true_deg), *choices.tilt_deg};
  }
  input.winter_months = static_cast<unsigned>(choices.winter_months);
  std::vector<horizon::CropNeed> needs;
  for (const auto& field : choices.crop_needs) {
    if (auto value = number_of(field.value)) needs.push_back({field.key, *value, ""});
  }
  if (!needs.empty()) input.needs = std::move(needs);
  return input;
}

}  // namespace survey
