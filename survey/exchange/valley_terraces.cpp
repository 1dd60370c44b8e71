// survey/exchange/valley_terraces.cpp: candidate terraces out of a valley's layers, and their file.
#include <gdal_alg.h>
#include <gdal_priv.h>
#include <ogrsf_frmts.h>

#include <algorithm>
#include <cmath>

#include "survey/exchange/gdal_files.h"
#include "survey/exchange/valley_files.h"

namespace survey {
namespace {

using horizon::Code;
using horizon::fail;
using horizon::Result;

struct Found {
  Terrace terrace;
  std::vector<size_t> cells;
};

std::vector<size_t> grown_from(size_t first, int columns, int rows, const std::vector<bool>& fit,
                               std::vector<bool>& seen) {
  std::vector<size_t> cells{first};
  seen[first] = true;
  for (size_t next = 0; next < cells.size(); ++next) {
    const int c = static_cast<int>(cells[next] % static_cast<size_t>(columns));
    const int r = static_cast<int>(cells[next] / static_cast<size_t>(columns));
    for (int dr = -1; dr <= 1; ++dr)
      for (int dc = -1; dc <= 1; ++dc) {
        if (c + dc < 0 || c + dc >= columns || r + dr < 0 || r + dr >= rows) continue;
        const size_t i = static_cast<size_t>(r + dr) * static_cast<size_t>(columns) +
                         static_cast<size_t>(c + dc);
        if (!fit[i] || seen[i]) continue;
        seen[i] = true;
        cells.push_back(i);
      }
  }
  return cells;
}

}  // namespace

Terraces terraces_of(const ValleyGrid& valley, const horizon::ValleySun& sun,
                     const TerraceRule& rule,
                     const std::function<std::optional<double>(double, double)>& access_m) {
  const size_t count = sun.winter_h.size();
  std::vector<bool> fit(count), seen(count);
  // A cell beside the edge or a hole has no exact skyline.
  const auto known = [&](size_t i) { return !std::isnan(sun.winter_h[i]); };
  const size_t across = static_cast<size_t>(sun.columns);
  for (int r = 1; r + 1 < sun.rows; ++r)
    for (int c = 1; c + 1 < sun.columns; ++c) {
      const size_t i = static_cast<size_t>(r) * across + static_cast<size_t>(c);
      fit[i] = sun.winter_h[i] >= rule.least_winter_h && sun.slope_deg[i] <= rule.most_slope_deg &&
               known(i - 1) && known(i + 1) && known(i - across) && known(i + across);
    }
  std::vector<Found> all;
  const double cell_area = valley.cell_m() * valley.cell_m();
  for (size_t i = 0; i < count; ++i) {
    if (!fit[i] || seen[i]) continue;
    Found found;
    found.cells = grown_from(i, sun.columns, sun.rows, fit, seen);
    Terrace& t = found.terrace;
    t.area_m2 = static_cast<double>(found.cells.size()) * cell_area;
    if (t.area_m2 < rule.least_area_m2) continue;
    const size_t best =
        *std::max_element(found.cells.begin(), found.cells.end(),
                          [&](size_t a, size_t b) { return sun.winter_h[a] < sun.winter_h[b]; });
    t.column = static_cast<int>(best % static_cast<size_t>(sun.columns));
    t.row = static_cast<int>(best / static_cast<size_t>(sun.columns));
    t.place = valley.spot(t.column, t.row).place;
    t.winter_h = sun.winter_h[best];
    t.shortest_day_h = sun.shortest_day_h[best];
    t.gain_kwh_m2 = sun.gain_kwh_m2[best];
    t.slope_deg = sun.slope_deg[best];
    t.days_without = sun.days_without[best];
    t.best_facing_deg = sun.best_facing_deg[best];
    const bool southern = t.place.latitude_deg < 0;
    t.grid_ends_m = valley.cell_m() * std::min({t.column, sun.columns - 1 - t.column,
                                                southern ? t.row : sun.rows - 1 - t.row});
    if (access_m) t.access_m = access_m(t.column, t.row);
    t.score = rule.per_hour * t.winter_h + rule.per_kwh * t.gain_kwh_m2 +
              rule.per_slope_deg * t.slope_deg + rule.per_access_km * t.access_m.value_or(0) / 1000;
    all.push_back(std::move(found));
  }
  std::stable_sort(all.begin(), all.end(), [](const Found& a, const Found& b) {
    return a.terrace.score > b.terrace.score;
  });
  if (all.size() > static_cast<size_t>(rule.most)) all.resize(static_cast<size_t>(rule.most));
  Terraces out;
  out.of_cell.assign(count, 0);
  for (Found& found : all) {
    found.terrace.id = static_cast<int>(out.best_first.size()) + 1;
    for (const size_t cell : found.cells) out.of_cell[cell] = found.terrace.id;
    out.best_first.push_back(found.terrace);
  }
  return out;
}

Result<std::function<std::optional<double>(double, double)>> access_lines(const ValleyGrid& valley,
                                                                          const std::string& path) {
  GdalFile file = gdal_open(path, GDAL_OF_VECTOR);
  if (!file) return fail(Code::bad_input, "error.no_file_of_lines", path);
  const auto system = gdal_system(valley.system());
  auto lines = std::make_shared<OGRMultiLineString>();
  for (OGRLayer* layer : file->GetLayers()) {
    const GdalTransform to = gdal_transform(layer->GetSpatialRef(), system.get());
    if (!to) continue;
    for (const auto& feature : *layer) {
      OGRGeometry* shape = feature->GetGeometryRef();
      if (!shape || wkbFlatten(shape->getGeometryType()) == wkbPoint) continue;
      if (shape->transform(to.get()) != OGRERR_NONE) continue;
      const auto type = wkbFlatten(shape->getGeometryType());
      if (type == wkbLineString)
        lines->addGeometry(shape);
      else if (type == wkbMultiLineString)
        for (const auto* part : *shape->toMultiLineString()) lines->addGeometry(part);
    }
  }
  if (lines->IsEmpty()) return fail(Code::bad_input, "error.holds_no_line", path);
  return [&valley, lines](double column, double row) -> std::optional<double> {
    const OGRPoint at(valley.west_m() + (column + 0.5) * valley.cell_m(),
                      valley.north_m() - (row + 0.5) * valley.cell_m());
    const double metres = lines->Distance(&at);
    if (metres < 0) return std::nullopt;
    return metres;
  };
}

namespace {

void add_fields(OGRLayer& layer) {
  const auto field = [&](const char* name, OGRFieldType type) {
    OGRFieldDefn one(name, type);
    layer.CreateField(&one);
  };
  field("rank", OFTInteger);
  for (const char* name :
       {"latitude_deg", "longitude_deg", "area_m2", "winter_sun_h_per_day", "shortest_day_sun_h",
        "clear_sky_gain_kwh_m2_per_day", "best_facing_true_deg", "slope_deg", "days_without_sun",
        "access_m", "grid_ends_m", "score"})
    field(name, OFTReal);
  field("rule", OFTString);
}

std::string rule_in_words(const TerraceRule& rule) {
  char text[240];
  std::snprintf(
      text, sizeof text,
      "slope <= %g deg, winter sun >= %g h, area >= %g m2; score = %g per hour + %g per kWh/m2 %+g per "
      "degree of slope %+g per km to access",
      rule.most_slope_deg, rule.least_winter_h, rule.least_area_m2, rule.per_hour, rule.per_kwh,
      rule.per_slope_deg, rule.per_access_km);
  return text;
}

void fill(OGRFeature& feature, const Terrace& t, const std::string& rule) {
  feature.SetField("rank", t.id);
  feature.SetField("latitude_deg", t.place.latitude_deg);
  feature.SetField("longitude_deg", t.place.longitude_deg);
  feature.SetField("area_m2", t.area_m2);
  feature.SetField("winter_sun_h_per_day", t.winter_h);
  feature.SetField("shortest_day_sun_h", t.shortest_day_h);
  feature.SetField("clear_sky_gain_kwh_m2_per_day", t.gain_kwh_m2);
  feature.SetField("best_facing_true_deg", t.best_facing_deg);
  feature.SetField("slope_deg", t.slope_deg);
  feature.SetField("days_without_sun", t.days_without);
  if (t.access_m) feature.SetField("access_m", *t.access_m);
  feature.SetField("grid_ends_m", t.grid_ends_m);
  feature.SetField("score", t.score);
  feature.SetField("rule", rule.c_str());
}

}  // namespace

Result<void> write_terraces(const ValleyGrid& valley, const Terraces& terraces,
                            const TerraceRule& rule, const std::string& path) {
  auto* drivers = GetGDALDriverManager();
  GdalFile ids(drivers->GetDriverByName("MEM")->Create("", valley.columns(), valley.rows(), 1,
                                                       GDT_Int32, nullptr));
  double geo[6] = {valley.west_m(), valley.cell_m(), 0, valley.north_m(), 0, -valley.cell_m()};
  ids->SetGeoTransform(geo);
  const auto plane = gdal_system(valley.system()), world = gdal_system("EPSG:4326");
  ids->SetSpatialRef(plane.get());
  std::vector<int> values = terraces.of_cell;
  if (ids->GetRasterBand(1)->RasterIO(GF_Write, 0, 0, valley.columns(), valley.rows(),
                                      values.data(), valley.columns(), valley.rows(), GDT_Int32, 0,
                                      0) != CE_None)
    return fail(Code::failed, CPLGetLastErrorMsg(), path);
  GdalFile shapes(drivers->GetDriverByName("Memory")->Create("", 0, 0, 0, GDT_Unknown, nullptr));
  OGRLayer* outlines = shapes->CreateLayer("outlines", plane.get(), wkbPolygon, nullptr);
  OGRFieldDefn id("id", OFTInteger);
  outlines->CreateField(&id);
  char connected[] = "8CONNECTED=8";
  char* options[] = {connected, nullptr};
  if (GDALPolygonize(ids->GetRasterBand(1), ids->GetRasterBand(1), outlines, 0, options, nullptr,
                     nullptr) != CE_None)
    return fail(Code::failed, CPLGetLastErrorMsg(), path);
  const GdalTransform to = gdal_transform(plane.get(), world.get());
  const std::string rule_words = rule_in_words(rule);
  return gdal_write_whole(path, [&](const std::string& part) {
    GdalFile file(
        drivers->GetDriverByName("GPKG")->Create(part.c_str(), 0, 0, 0, GDT_Unknown, nullptr));
    if (!file) return false;
    OGRLayer* layer = file->CreateLayer("candidate_terrace", world.get(), wkbMultiPolygon, nullptr);
    if (!layer) return false;
    add_fields(*layer);
    std::vector<OGRMultiPolygon> outline(terraces.best_first.size());
    for (const auto& feature : *outlines) {
      OGRGeometry* shape = feature->GetGeometryRef();
      const int of = feature->GetFieldAsInteger("id");
      if (of < 1 || shape->transform(to.get()) != OGRERR_NONE) continue;
      outline[static_cast<size_t>(of - 1)].addGeometry(shape);
    }
    for (const Terrace& t : terraces.best_first) {
      OGRFeature feature(layer->GetLayerDefn());
      fill(feature, t, rule_words);
      feature.SetGeometry(&outline[static_cast<size_t>(t.id - 1)]);
      if (layer->CreateFeature(&feature) != OGRERR_NONE) return false;
    }
    return true;
  });
}

}  // namespace survey
