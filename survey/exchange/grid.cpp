#include "survey/exchange/grid.h"

#include <algorithm>
#include <cmath>
#include <cstdio>
#include <mutex>

#include "horizon/angle.h"
#include "horizon/geodesy.h"
#include "survey/exchange/proj_objects.h"

namespace survey {
namespace {

using horizon::Code;
using horizon::fail;
using horizon::kDegree;
using horizon::Place;
using horizon::Result;

Result<void> check_zone(int zone) {
  if (zone < 1 || zone > 60) return fail(Code::bad_input, "error.utm_zone_range");
  return {};
}

ProjObject utm_projection(PJ_CONTEXT* context, int zone, bool north) {
  const std::string text =
      "+proj=utm +ellps=WGS84 +zone=" + std::to_string(zone) + (north ? "" : " +south");
  return ProjObject(proj_create(context, text.c_str()));
}

}  // namespace

int utm_zone_of(const Place& place, bool regular_zones) {
  const double lon = horizon::wrap_180(place.longitude_deg), lat = place.latitude_deg;
  const int zone = std::clamp(static_cast<int>(std::floor((lon + 180) / 6)) + 1, 1, 60);
  if (regular_zones) return zone;
  if (lat >= 56 && lat < 64 && lon >= 3 && lon < 12) return 32;
  if (lat >= 72 && lat <= 84 && lon >= 0 && lon < 42)
    return lon < 9 ? 31 : lon < 21 ? 33 : lon < 33 ? 35 : 37;
  return zone;
}

Result<Utm> utm_of(const Place& place, std::optional<int> zone) {
  if (!is_place(place)) return fail(Code::bad_input, "error.latitude_longitude_needed");
  if (place.latitude_deg > 84 || place.latitude_deg < -80)
    return fail(Code::out_of_range, "error.utm_ends");
  Utm utm{.zone = zone.value_or(utm_zone_of(place)), .north = place.latitude_deg >= 0};
  if (auto good = check_zone(utm.zone); !good) return tl::unexpected(good.error());
  if (std::abs(horizon::wrap_180(place.longitude_deg - (6 * utm.zone - 183))) > 30)
    return fail(Code::out_of_range, {"error.far_from_utm_zone", {utm.zone}});
  const ProjContext context = quiet_proj();
  const ProjObject projection = utm_projection(context.get(), utm.zone, utm.north);
  const PJ_COORD at = proj_coord(place.longitude_deg * kDegree, place.latitude_deg * kDegree, 0, 0);
  const PJ_COORD grid = proj_trans(projection.get(), PJ_FWD, at);
  const PJ_FACTORS factors = proj_factors(projection.get(), at);
  if (!std::isfinite(grid.enu.e)) return fail(Code::failed, "error.projection_failed");
  utm.easting_m = grid.enu.e;
  utm.northing_m = grid.enu.n;
  utm.convergence_deg = factors.meridian_convergence / kDegree;
  utm.scale = factors.meridional_scale;
  return utm;
}

Result<Place> place_of(const Utm& utm) {
  if (auto good = check_zone(utm.zone); !good) return tl::unexpected(good.error());
  if (!(utm.easting_m > -3e6 && utm.easting_m < 4e6))
    return fail(Code::bad_input, "error.utm_easting_range");
  if (!(utm.northing_m >= -1e5 && utm.northing_m <= 10.1e6))
    return fail(Code::bad_input, "error.utm_northing_range");
  const ProjContext context = quiet_proj();
  const ProjObject projection = utm_projection(context.get(), utm.zone, utm.north);
  const PJ_COORD at =
      proj_trans(projection.get(), PJ_INV, proj_coord(utm.easting_m, utm.northing_m, 0, 0));
  if (!std::isfinite(at.lp.phi)) return fail(Code::bad_input, "error.no_place_there");
  return Place{at.lp.phi / kDegree, horizon::wrap_180(at.lp.lam / kDegree), 0};
}

std::string format_utm(const Utm& utm) {
  char text[64];
  std::snprintf(text, sizeof text, "%d%c %.0f %.0f", utm.zone, utm.north ? 'N' : 'S', utm.easting_m,
                utm.northing_m);
  return text;
}

struct Grid::Transformation {
  ProjContext context;
  ProjObject to_grid;  // WGS 84 longitude, latitude in degrees -> easting, northing
  double unit_m = 1;
  // A PROJ object must not be used by two threads at once.
  mutable std::mutex one_at_a_time;

  PJ_COORD run(PJ_DIRECTION direction, double a, double b) const {
    const std::lock_guard lock(one_at_a_time);
    proj_errno_reset(to_grid.get());
    return proj_trans(to_grid.get(), direction, proj_coord(a, b, 0, 0));
  }
};

Result<Grid> Grid::open(const std::string& code) {
  auto t = std::make_shared<Transformation>();
  t->context = quiet_proj();
  PJ_CONTEXT* context = t->context.get();
  const ProjObject system(proj_create(context, code.c_str()));
  if (!system) return fail(Code::not_found, "error.grid_unknown", code);
  PJ_TYPE type = proj_get_type(system.get());
  if (type == PJ_TYPE_COMPOUND_CRS) {
    const ProjObject horizontal(proj_crs_get_sub_crs(context, system.get(), 0));
    type = horizontal ? proj_get_type(horizontal.get()) : type;
  }
  if (type != PJ_TYPE_PROJECTED_CRS) return fail(Code::bad_input, "error.no_map_grid", code);
  const ProjObject axes(proj_crs_get_coordinate_system(context, system.get()));
  for (int i = 0; axes && i < 2; ++i) {
    const char* direction = nullptr;
    proj_cs_get_axis_info(context, axes.get(), i, nullptr, nullptr, &direction, &t->unit_m, nullptr,
                          nullptr, nullptr);
    const std::string points = direction ? direction : "";
    if (points != "east" && points != "north")
      return fail(Code::bad_input, "error.grid_axes", code);
  }
  const ProjObject plain(proj_create_crs_to_crs(context, "EPSG:4326", code.c_str(), nullptr));
  if (!plain) return fail(Code::not_found, "error.no_way_to_grid", code);
  t->to_grid.reset(proj_normalize_for_visualization(context, plain.get()));
  if (!t->to_grid) return fail(Code::failed, "error.grid_axes_order", code);
  Grid grid;
  grid.name_ = proj_get_name(system.get());
  grid.transformation_ = std::move(t);
  return grid;
}

Result<Place> Grid::place_of(double easting, double northing) const {
  if (!std::isfinite(easting) || !std::isfinite(northing))
    return fail(Code::bad_input, "error.easting_northing_numbers", name_);
  const PJ_COORD at = transformation_->run(PJ_INV, easting, northing);
  if (!std::isfinite(at.xy.x) || !(std::abs(at.xy.y) <= 90))
    return fail(Code::bad_input, "error.no_place_there_check_order", name_);
  return Place{at.xy.y, horizon::wrap_180(at.xy.x), 0};
}

double Grid::unit_m() const { return transformation_->unit_m; }

Result<std::pair<double, double>> Grid::easting_northing(const Place& place) const {
  if (!is_place(place)) return fail(Code::bad_input, "error.latitude_longitude_needed");
  const PJ_COORD grid =
      transformation_->run(PJ_FWD, horizon::wrap_180(place.longitude_deg), place.latitude_deg);
  if (!std::isfinite(grid.xy.x) || !std::isfinite(grid.xy.y))
    return fail(Code::out_of_range, "error.place_outside_grid", name_);
  return std::pair(grid.xy.x, grid.xy.y);
}

Result<GridPoint> Grid::at(const Place& place) const {
  const auto grid = easting_northing(place);
  if (!grid) return tl::unexpected(grid.error());
  const auto [easting, northing] = *grid;
  // By definition: the direction in which only the northing grows. PROJ's own factors are not
  // right for every system of this kind.
  constexpr double kHalf = 50;
  const auto south = place_of(easting, northing - kHalf);
  const auto north = place_of(easting, northing + kHalf);
  if (!south || !north) return fail(Code::out_of_range, "error.place_outside_grid", name_);
  const horizon::Geodesic line = horizon::geodesic(*south, *north);
  return GridPoint{easting, northing,
                   horizon::wrap_180(line.azimuth.degrees() +
                                     horizon::clockwise_deg(line.azimuth, line.onward) / 2),
                   2 * kHalf * transformation_->unit_m / line.distance_m};
}

}  // namespace survey
