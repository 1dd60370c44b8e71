#include "survey/exchange/terrain_file.h"

#include <doctest/doctest.h>
#include <geotiff/geo_normalize.h>
#include <geotiff/geotiff.h>
#include <geotiff/geovalues.h>
#include <geotiff/xtiffio.h>

#include <cmath>
#include <cstdint>
#include <filesystem>
#include <fstream>
#include <functional>
#include <random>
#include <vector>

#include "survey/exchange/grid.h"
#include "survey/exchange/proj_objects.h"
#include "tests/near.h"
#include "tests/said.h"

using namespace survey;
using horizon::Place;
using horizon::TerrainGrid;

namespace {

// One folder a run, gone at its end.
struct Folder {
  std::filesystem::path path = std::filesystem::temp_directory_path() /
                               ("adret_terrain_" + std::to_string(std::random_device{}()));
  ~Folder() {
    std::error_code none;
    std::filesystem::remove_all(path, none);
  }
};
const Folder kMade;
const std::filesystem::path& kFolder = kMade.path;

std::string written(const std::string& name, const std::string& bytes) {
  std::filesystem::create_directories(kFolder);
  const std::string path = (kFolder / name).string();
  std::ofstream(path, std::ios::binary) << bytes;
  return path;
}

// The height that the grid gives at a place, bilinear between the four cells.
double height_at(const TerrainGrid& grid, const Place& place) {
  const auto [c, r] = grid.cell_of(place.latitude_deg, place.longitude_deg);
  const int c0 = static_cast<int>(std::floor(c)), r0 = static_cast<int>(std::floor(r));
  if (c0 < 0 || r0 < 0 || c0 + 1 >= grid.columns || r0 + 1 >= grid.rows) return NAN;
  const double u = c - c0, v = r - r0;
  return (1 - v) * ((1 - u) * grid.at(c0, r0) + u * grid.at(c0 + 1, r0)) +
         v * ((1 - u) * grid.at(c0, r0 + 1) + u * grid.at(c0 + 1, r0 + 1));
}

struct TiffKind {
  int bits = 16, format = SAMPLEFORMAT_INT, tile = 0, compression = COMPRESSION_NONE;
  int system = 32632;  // 4326: geographic
  bool point = false;
  int predictor = 0;
  std::function<void(GTIF*)> keys;  // in place of the system's code
  const char* unit = nullptr;       // of the band, as raster libraries write it (tag 42112)
};

// Cell (c, r) lies round x = x0 + c * step, y = y0 - r * step.
std::string tiff_of(const std::string& name, const TiffKind& kind, double x0, double y0,
                    double step, int columns, int rows,
                    const std::function<double(int, int)>& value) {
  std::filesystem::create_directories(kFolder);
  const std::string path = (kFolder / name).string();
  TIFF* tiff = XTIFFOpen(path.c_str(), "w");
  REQUIRE(tiff != nullptr);
  TIFFSetField(tiff, TIFFTAG_IMAGEWIDTH, columns);
  TIFFSetField(tiff, TIFFTAG_IMAGELENGTH, rows);
  TIFFSetField(tiff, TIFFTAG_BITSPERSAMPLE, kind.bits);
  TIFFSetField(tiff, TIFFTAG_SAMPLEFORMAT, kind.format);
  TIFFSetField(tiff, TIFFTAG_SAMPLESPERPIXEL, 1);
  TIFFSetField(tiff, TIFFTAG_PLANARCONFIG, PLANARCONFIG_CONTIG);
  TIFFSetField(tiff, TIFFTAG_PHOTOMETRIC, PHOTOMETRIC_MINISBLACK);
  TIFFSetField(tiff, TIFFTAG_COMPRESSION, kind.compression);
  if (kind.predictor) TIFFSetField(tiff, TIFFTAG_PREDICTOR, kind.predictor);
  if (kind.unit) {
    constexpr std::uint32_t kMetadata = 42112;
    static char field_name[] = "metadata";
    static const TIFFFieldInfo info[] = {
        {kMetadata, -1, -1, TIFF_ASCII, FIELD_CUSTOM, 1, 0, field_name}};
    TIFFMergeFieldInfo(tiff, info, 1);
    TIFFSetField(tiff, kMetadata,
                 (std::string("<GDALMetadata>\n  <Item name=\"UNITTYPE\" sample=\"0\" "
                              "role=\"unittype\">") +
                  kind.unit + "</Item>\n</GDALMetadata>\n")
                     .c_str());
  }
  const double shift = kind.point ? 0 : step / 2;
  const double tie[6] = {0, 0, 0, x0 - shift, y0 + shift, 0}, scale[3] = {step, step, 0};
  TIFFSetField(tiff, TIFFTAG_GEOTIEPOINTS, 6, tie);
  TIFFSetField(tiff, TIFFTAG_GEOPIXELSCALE, 3, scale);
  GTIF* geo = GTIFNew(tiff);
  const bool geographic = kind.system == 4326;
  GTIFKeySet(geo, GTModelTypeGeoKey, TYPE_SHORT, 1,
             geographic ? ModelTypeGeographic : ModelTypeProjected);
  GTIFKeySet(geo, GTRasterTypeGeoKey, TYPE_SHORT, 1,
             kind.point ? RasterPixelIsPoint : RasterPixelIsArea);
  if (kind.keys)
    kind.keys(geo);
  else if (geographic)
    GTIFKeySet(geo, GeographicTypeGeoKey, TYPE_SHORT, 1, 4326);
  else
    GTIFKeySet(geo, ProjectedCSTypeGeoKey, TYPE_SHORT, 1, kind.system);
  GTIFWriteKeys(geo);
  GTIFFree(geo);
  const auto put = [&](std::vector<std::uint8_t>& out, double v) {
    const auto bytes = [&](auto typed) {
      const auto* p = reinterpret_cast<const std::uint8_t*>(&typed);
      out.insert(out.end(), p, p + sizeof typed);
    };
    if (kind.format == SAMPLEFORMAT_IEEEFP)
      kind.bits == 64 ? bytes(v) : bytes(static_cast<float>(v));
    else if (kind.bits == 32)
      bytes(static_cast<std::int32_t>(v));
    else
      bytes(static_cast<std::int16_t>(v));
  };
  if (kind.tile) {
    TIFFSetField(tiff, TIFFTAG_TILEWIDTH, kind.tile);
    TIFFSetField(tiff, TIFFTAG_TILELENGTH, kind.tile);
    for (int y = 0; y < rows; y += kind.tile)
      for (int x = 0; x < columns; x += kind.tile) {
        std::vector<std::uint8_t> block;
        for (int r = y; r < y + kind.tile; ++r)
          for (int c = x; c < x + kind.tile; ++c)
            put(block, r < rows && c < columns ? value(c, r) : 0);
        TIFFWriteEncodedTile(tiff,
                             TIFFComputeTile(tiff, static_cast<std::uint32_t>(x),
                                             static_cast<std::uint32_t>(y), 0, 0),
                             block.data(), static_cast<tmsize_t>(block.size()));
      }
  } else {
    TIFFSetField(tiff, TIFFTAG_ROWSPERSTRIP, 7);
    for (int y = 0; y < rows; y += 7) {
      std::vector<std::uint8_t> block;
      for (int r = y; r < std::min(rows, y + 7); ++r)
        for (int c = 0; c < columns; ++c) put(block, value(c, r));
      TIFFWriteEncodedStrip(tiff, TIFFComputeStrip(tiff, static_cast<std::uint32_t>(y), 0),
                            block.data(), static_cast<tmsize_t>(block.size()));
    }
  }
  XTIFFClose(tiff);
  return path;
}

}  // namespace

// SRTM user guide: big-endian, rows from the north, the file's name is the south-west corner, the
// outer rows and columns lie on whole degrees.
TEST_CASE("[published] an .hgt tile lies where its name says") {
  std::string bytes(2 * 1201 * 1201, '\0');
  const auto put = [&](int column, int row, int height) {
    const size_t at = 2 * (static_cast<size_t>(row) * 1201 + static_cast<size_t>(column));
    bytes[at] = static_cast<char>(height >> 8);
    bytes[at + 1] = static_cast<char>(height & 0xFF);
  };
  put(0, 0, 1000);        // north-west corner
  put(1200, 1200, 3000);  // south-east corner
  put(600, 300, 2500);
  put(601, 300, -32768);
  const auto grid = read_terrain(written("N46E010.hgt", bytes));
  REQUIRE(grid.has_value());
  CHECK(grid->columns == 1201);
  const auto corner = grid->cell_of(47, 10);
  CHECK_NEAR(corner.first, 0, 1e-9);
  CHECK_NEAR(corner.second, 0, 1e-9);
  CHECK(grid->at(0, 0) == 1000);
  const auto other = grid->cell_of(46, 11);
  CHECK_NEAR(other.first, 1200, 1e-9);
  CHECK_NEAR(other.second, 1200, 1e-9);
  CHECK(grid->at(1200, 1200) == 3000);
  const auto middle = grid->cell_of(46.75, 10.5);
  CHECK_NEAR(middle.first, 600, 1e-9);
  CHECK_NEAR(middle.second, 300, 1e-9);
  CHECK(grid->at(600, 300) == 2500);
  CHECK(std::isnan(grid->at(601, 300)));
  CHECK_NEAR(grid->cell_m, 63.3, 1.5);
  const auto south = read_terrain(written("s17w069.hgt", bytes));
  REQUIRE(south.has_value());
  CHECK_NEAR(south->cell_of(-16, -69).first, 0, 1e-9);
  CHECK_NEAR(south->cell_of(-16, -69).second, 0, 1e-9);
  CHECK_FALSE(read_terrain(written("valley.hgt", bytes)).has_value());
  CHECK_FALSE(read_terrain(written("N46E010.hgt", bytes.substr(2))).has_value());
}

TEST_CASE("[published] an ESRI ASCII grid, by corner and by centre, in degrees and in metres") {
  const std::string rows = "1 2 3\n4 5 -9999\n7 8 9\n";
  const auto degrees = read_terrain(written(
      "a.asc",
      "ncols 3\nnrows 3\nxllcorner 10.0\nyllcorner 46.0\ncellsize 0.01\nNODATA_value -9999\n" +
          rows));
  REQUIRE(degrees.has_value());
  CHECK_NEAR(degrees->cell_of(46.025, 10.005).first, 0, 1e-9);
  CHECK_NEAR(degrees->cell_of(46.025, 10.005).second, 0, 1e-9);
  CHECK(degrees->at(0, 0) == 1);
  CHECK(degrees->at(2, 2) == 9);
  CHECK(std::isnan(degrees->at(2, 1)));
  const std::string metres =
      "NCOLS 3\r\nNROWS 3\r\nXLLCENTER 415595.187\r\nYLLCENTER 5150191.116\r\nCELLSIZE 30\r\n" +
      rows;
  const auto in_utm = read_terrain(written("b.asc", metres), "EPSG:32632");
  REQUIRE(in_utm.has_value());
  // GeographicLib 2.1.2 and PROJ 9.1.1: this is 46.5 N 7.9 E.
  CHECK_NEAR(in_utm->cell_of(46.5, 7.9).first, 0, 1e-4);
  CHECK_NEAR(in_utm->cell_of(46.5, 7.9).second, 2, 1e-4);
  CHECK(in_utm->cell_m == 30);
  const auto unnamed = read_terrain(written("b.asc", metres));
  REQUIRE_FALSE(unnamed.has_value());
  CHECK(said(unnamed.error()).find("error.asc_system_needed") != std::string::npos);
  written("b.prj",
          "PROJCS[\"WGS_1984_UTM_Zone_32N\",GEOGCS[\"GCS_WGS_1984\",DATUM[\"D_WGS_1984\",SPHEROID["
          "\"WGS_1984\",6378137.0,298.257223563]],PRIMEM[\"Greenwich\",0.0],UNIT[\"Degree\","
          "0.0174532925199433]],PROJECTION[\"Transverse_Mercator\"],PARAMETER[\"False_Easting\","
          "500000.0],PARAMETER[\"False_Northing\",0.0],PARAMETER[\"Central_Meridian\",9.0],"
          "PARAMETER[\"Scale_Factor\",0.9996],PARAMETER[\"Latitude_Of_Origin\",0.0],UNIT[\"Meter\","
          "1.0]]");
  const auto beside = read_terrain((kFolder / "b.asc").string());
  std::filesystem::remove(kFolder / "b.prj");
  REQUIRE(beside.has_value());
  CHECK_NEAR(beside->cell_of(46.5, 7.9).second, 2, 1e-4);
}

TEST_CASE("[published] GeoTIFF: area and point, strips and tiles, whole and real, packed or not") {
  const auto height = [](int c, int r) { return 500.0 + 3 * c + 5 * r; };
  int number = 0;
  for (TiffKind kind :
       {TiffKind{}, TiffKind{.point = true}, TiffKind{.tile = 16},
        TiffKind{.bits = 32, .format = SAMPLEFORMAT_IEEEFP, .compression = COMPRESSION_LZW},
        TiffKind{.bits = 32,
        .format = SAMPLEFORMAT_IEEEFP,
        .tile = 32,
        .compression = COMPRESSION_ADOBE_DEFLATE,
        .predictor = 3},
        TiffKind{.bits = 64, .format = SAMPLEFORMAT_IEEEFP},
        TiffKind{.bits = 32, .compression = COMPRESSION_ADOBE_DEFLATE, .predictor = 2}}) {
    CAPTURE(number);
    const auto utm = read_terrain(tiff_of("u" + std::to_string(number) + ".tif", kind, 415595.187,
                                          5150191.116, 30, 50, 41, height));
    INFO((utm ? std::string() : said(utm.error())));
    REQUIRE(utm.has_value());
    CHECK(utm->columns == 50);
    CHECK(utm->rows == 41);
    for (const auto& [c, r] : {std::pair{0, 0}, {49, 40}, {17, 3}, {33, 40}})
      CHECK(utm->at(c, r) == static_cast<float>(height(c, r)));
    CHECK_NEAR(utm->cell_of(46.5, 7.9).first, 0, 1e-4);
    CHECK_NEAR(utm->cell_of(46.5, 7.9).second, 0, 1e-4);
    kind.system = 4326;
    const auto degrees = read_terrain(
        tiff_of("d" + std::to_string(number) + ".tif", kind, 10, 47, 1 / 1200.0, 50, 41, height));
    REQUIRE(degrees.has_value());
    CHECK_NEAR(height_at(*degrees, {47 - 10.5 / 1200, 10 + 20.25 / 1200, 0}),
               500 + 3 * 20.25 + 5 * 10.5, 1e-3);
    ++number;
  }
}

// The outside judge is libgeotiff, which reads the same file's keys into a text for PROJ (OGC 19-008r4).
TEST_CASE("[published] a projection that a GeoTIFF writes out is the one that libgeotiff reads") {
  struct Case {
    const char* name;
    int method;
    std::vector<std::pair<geokey_t, double>> parameters;
    int unit = 9001, system = 4258;
    double step = 30;
  };
  const Case cases[] = {
      {"transverse Mercator",
       CT_TransverseMercator,
       {{ProjNatOriginLongGeoKey, 9},
        {ProjNatOriginLatGeoKey, 0},
        {ProjScaleAtNatOriginGeoKey, 1},
        {ProjFalseEastingGeoKey, 3500000},
        {ProjFalseNorthingGeoKey, 0}}},
      {"two parallels, in feet",
       CT_LambertConfConic_2SP,
       {{ProjStdParallel1GeoKey, 49},
        {ProjStdParallel2GeoKey, 44},
        {ProjFalseOriginLongGeoKey, 3},
        {ProjFalseOriginLatGeoKey, 46.5},
        {ProjFalseOriginEastingGeoKey, 700000},
        {ProjFalseOriginNorthingGeoKey, 6600000}},
       9003,
       4269,
       100},
      {"one parallel",
       CT_LambertConfConic_1SP,
       {{ProjNatOriginLongGeoKey, 2.337229166},
        {ProjNatOriginLatGeoKey, 46.8},
        {ProjScaleAtNatOriginGeoKey, 0.99987742},
        {ProjFalseEastingGeoKey, 600000},
        {ProjFalseNorthingGeoKey, 2200000}},
       9001,
       4277},
      {"azimuthal, equal areas",
       CT_LambertAzimEqualArea,
       {{ProjCenterLongGeoKey, 10},
        {ProjCenterLatGeoKey, 52},
        {ProjFalseEastingGeoKey, 4321000},
        {ProjFalseNorthingGeoKey, 3210000}}},
      {"conic, equal areas",
       CT_AlbersEqualArea,
       {{ProjStdParallel1GeoKey, 29.5},
        {ProjStdParallel2GeoKey, 45.5},
        {ProjNatOriginLongGeoKey, -96},
        {ProjNatOriginLatGeoKey, 23},
        {ProjFalseEastingGeoKey, 0},
        {ProjFalseNorthingGeoKey, 0}},
       9001,
       4267},
  };
  for (const Case& one : cases) {
    CAPTURE(one.name);
    const double x0 = 512345, y0 = 1234567;
    const std::string path =
        tiff_of("written.tif",
                {.bits = 32,
                 .format = SAMPLEFORMAT_IEEEFP,
                 .keys =
                     [&](GTIF* geo) {
                       GTIFKeySet(geo, GeographicTypeGeoKey, TYPE_SHORT, 1, one.system);
                       GTIFKeySet(geo, ProjectedCSTypeGeoKey, TYPE_SHORT, 1, KvUserDefined);
                       GTIFKeySet(geo, ProjectionGeoKey, TYPE_SHORT, 1, KvUserDefined);
                       GTIFKeySet(geo, ProjCoordTransGeoKey, TYPE_SHORT, 1, one.method);
                       GTIFKeySet(geo, ProjLinearUnitsGeoKey, TYPE_SHORT, 1, one.unit);
                       for (const auto& [key, value] : one.parameters)
                         GTIFKeySet(geo, key, TYPE_DOUBLE, 1, value);
                     }},
                x0, y0, one.step, 40, 30, [](int, int) { return 700.0; });
    std::string judged;
    {
      TIFF* tiff = XTIFFOpen(path.c_str(), "r");
      GTIF* geo = GTIFNew(tiff);
      GTIFDefn definition;
      REQUIRE(GTIFGetDefn(geo, &definition) == 1);
      char* text = GTIFGetProj4Defn(&definition);
      judged = std::string(text) + " +type=crs";
      GTIFFreeMemory(text);
      GTIFFree(geo);
      XTIFFClose(tiff);
    }
    CAPTURE(judged);
    const auto grid = read_terrain(path);
    INFO((grid ? std::string() : said(grid.error())));
    REQUIRE(grid.has_value());
    const ProjObject there(proj_create(PJ_DEFAULT_CTX, judged.c_str()));
    REQUIRE(there);
    const ProjObject round(proj_crs_get_geodetic_crs(PJ_DEFAULT_CTX, there.get()));
    const ProjObject plain(
        proj_create_crs_to_crs_from_pj(PJ_DEFAULT_CTX, there.get(), round.get(), nullptr, nullptr));
    const ProjObject way(proj_normalize_for_visualization(PJ_DEFAULT_CTX, plain.get()));
    const double column = 21, row = 13;
    const PJ_COORD at = proj_trans(way.get(), PJ_FWD,
                                   proj_coord(x0 + column * one.step, y0 - row * one.step, 0, 0));
    const auto [c, r] = grid->cell_of(at.lp.phi, at.lp.lam);
    CHECK_NEAR(c, column, 0.01);
    CHECK_NEAR(r, row, 0.01);
  }
  const auto refused = read_terrain(
      tiff_of("oblique.tif",
              {.keys =
                   [](GTIF* geo) {
                     GTIFKeySet(geo, ProjectedCSTypeGeoKey, TYPE_SHORT, 1, KvUserDefined);
                     GTIFKeySet(geo, ProjCoordTransGeoKey, TYPE_SHORT, 1, CT_ObliqueMercator);
                   }},
              5e5, 5e6, 30, 20, 20, [](int, int) { return 700.0; }));
  REQUIRE_FALSE(refused.has_value());
  CHECK(refused.error().key == "error.tiff_projection");
}

// EPSG 4807 counts gon from Paris: as degrees from Greenwich it would lie in another land.
TEST_CASE("[published] a GeoTIFF in gon, or not from Greenwich, is refused by name") {
  const std::vector<std::pair<geokey_t, int>> cases[] = {
      {{GTModelTypeGeoKey, ModelTypeGeographic}, {GeographicTypeGeoKey, 4807}},
      {{GTModelTypeGeoKey, ModelTypeGeographic}, {GeogAngularUnitsGeoKey, Angular_Grad}},
      {{ProjectedCSTypeGeoKey, KvUserDefined},
       {ProjCoordTransGeoKey, CT_TransverseMercator},
       {GeographicTypeGeoKey, 4258},
       {GeogPrimeMeridianGeoKey, PM_Paris}},
  };
  for (const auto& keys : cases) {
    const auto refused = read_terrain(tiff_of("paris.tif",
                                              {.keys =
                                                   [&](GTIF* geo) {
                                                     for (const auto& [key, value] : keys)
                                                       GTIFKeySet(geo, key, TYPE_SHORT, 1, value);
                                                   }},
                                              10, 47, 0.001, 20, 20, [](int, int) { return 7.0; }));
    REQUIRE_FALSE(refused.has_value());
    CHECK(refused.error().key == "error.tiff_projection");
  }
}

// 1000 ft are 304.8 m; a US survey foot is 1200/3937 m. Maps of hours or degrees are no heights.
TEST_CASE(
    "[published] a band's unit counts: feet are turned into metres, what is no length is refused") {
  const auto read = [](const char* unit) {
    TiffKind kind;
    kind.unit = unit;
    return read_terrain(
        tiff_of("unit.tif", kind, 600000, 5160000, 50, 4, 4, [](int, int) { return 1000.0; }));
  };
  for (const auto& [unit, height_m] : {std::pair<const char*, double>{nullptr, 1000},
                                       {"m", 1000},
                                       {"Metre", 1000},
                                       {"ft", 304.8},
                                       {"foot", 304.8},
                                       {"US survey foot", 304.8006}}) {
    CAPTURE(std::string(unit ? unit : "none"));
    const auto grid = read(unit);
    REQUIRE(grid);
    CHECK_NEAR(grid->at(1, 1), height_m, 1e-3);
  }
  for (const char* unit : {"h", "degree", "C", "kWh/m2"}) {
    CAPTURE(unit);
    const auto grid = read(unit);
    REQUIRE_FALSE(grid);
    CHECK(said(grid.error().sentence()) == std::string("error.grid_not_heights ") + unit);
  }
}

TEST_CASE("[published] a void of SRTM in a GeoTIFF is a void") {
  const auto grid = read_terrain(tiff_of("v.tif", {.system = 4326}, 10, 47, 0.001, 20, 20,
                                         [](int c, int) { return c == 3 ? -32768.0 : 700.0; }));
  REQUIRE(grid.has_value());
  CHECK(std::isnan(grid->at(3, 5)));
  CHECK(grid->at(4, 5) == 700);
}

// Facts about the grids that two Debian packages carry (see tests/data/SOURCES.md).
TEST_CASE("[published] open GeoTIFFs of other programs, where they are installed") {
  const std::string olinda = "/usr/lib/R/site-library/stars/tif/olinda_dem_utm25s.tif";
  const std::string luxembourg = "/usr/lib/R/site-library/terra/ex/elev.tif";
  if (!std::filesystem::exists(olinda) || !std::filesystem::exists(luxembourg))
    MESSAGE("skipped in part: install r-cran-stars and r-cran-terra for their grids");
  if (std::filesystem::exists(olinda)) {
    const auto grid = read_terrain(olinda);
    REQUIRE(grid.has_value());
    CHECK(grid->columns == 111);
    CHECK(grid->rows == 111);
    CHECK_NEAR(grid->cell_m, 89.994, 0.001);
  }
  if (std::filesystem::exists(luxembourg)) {
    const auto grid = read_terrain(luxembourg);
    REQUIRE(grid.has_value());
    CHECK(grid->columns == 95);
    CHECK(grid->rows == 90);
    CHECK_NEAR(grid->cell_of(50.19167 - 0.5 / 120, 5.74167 + 0.5 / 120).first, 0, 0.001);
    CHECK_NEAR(grid->cell_of(50.19167 - 0.5 / 120, 5.74167 + 0.5 / 120).second, 0, 0.001);
  }
}

TEST_CASE("[property] the terrain's skyline is the same from a grid in degrees and one in UTM") {
  const Place eye{46.6213, 10.3478, 0};
  const auto hills = [](double lat, double lon) {
    const double n = (lat - 46.6213) * 111200, e = (lon - 10.3478) * 76400;
    return 1482 + 1200 * std::exp(-std::pow((std::hypot(n, e) - 3000) / 900, 2)) *
                      (1.2 + std::sin(3 * std::atan2(e, n)));
  };
  const auto utm = utm_of(eye).value();
  const auto in_utm = read_terrain(
      tiff_of("hills_utm.tif", {.bits = 32, .format = SAMPLEFORMAT_IEEEFP}, utm.easting_m - 6000,
              utm.northing_m + 6000, 20, 601, 601, [&](int c, int r) {
                Utm at = utm;
                at.easting_m += -6000 + 20 * c;
                at.northing_m += 6000 - 20 * r;
                // One projection a cell would be slow: locally the grid is turned and scaled.
                const double turn = utm.convergence_deg * horizon::kDegree;
                const double e = (at.easting_m - utm.easting_m) / utm.scale;
                const double n = (at.northing_m - utm.northing_m) / utm.scale;
                const double east = e * std::cos(turn) + n * std::sin(turn);
                const double north = n * std::cos(turn) - e * std::sin(turn);
                return hills(46.6213 + north / 111170, 10.3478 + east / 76570);
              }));
  const double step = 1 / 5400.0;
  const auto degrees = read_terrain(tiff_of(
      "hills_deg.tif", {.bits = 32, .format = SAMPLEFORMAT_IEEEFP, .system = 4326},
      10.3478 - 420 * step, 46.6213 + 300 * step, step, 841, 601,
      [&](int c, int r) { return hills(46.6213 + (300 - r) * step, 10.3478 + (c - 420) * step); }));
  REQUIRE(in_utm.has_value());
  REQUIRE(degrees.has_value());
  horizon::TerrainOptions options;
  options.reach_m = 5500;
  options.azimuth_step_deg = 2;
  const auto a = horizon::terrain_skyline(*in_utm, eye, 1.6, options);
  const auto b = horizon::terrain_skyline(*degrees, eye, 1.6, options);
  REQUIRE(a.has_value());
  REQUIRE(b.has_value());
  for (size_t i = 0; i < a->points.size(); ++i)
    CHECK_NEAR(a->points[i].elevation.degrees(), b->points[i].elevation.degrees(), 0.1);
}

TEST_CASE(
    "[property] what is no grid gets a message that names file and cure, and nothing crashes") {
  const std::string good =
      "ncols 3\nnrows 3\nxllcorner 10\nyllcorner 46\ncellsize 0.01\n1 2 3 4 5 6 7 8 9\n";
  for (const std::string& text :
       {std::string("hello, this is no grid"), good.substr(0, 60), good.substr(0, good.size() - 5),
        std::string("ncols 3\nnrows x\n"), std::string("ncols 1e9\nnrows 1e9\ncellsize 1\n"),
        std::string("ncols 2\nnrows 2\nxllcorner 10\nyllcorner 46\ncellsize 0\n1 2 3 4\n"),
        std::string("ncols 2\nnrows 2\ncellsize 0.01\n1 2 3 4\n"),
        std::string("ncols 2\nnrows 2\nxllcorner 10\nyllcorner 46\ncellsize 0.01\n1 two 3 4\n"),
        std::string("ncols 2\nnrows 2\nxllcorner 10\nyllcorner 46\ncellsize 0.01\n-9999 -9999 "
                    "-9999 -9999\n"),
        std::string("ncols"), std::string("PK\3\4zip"), std::string("II*\0garbage garbage", 20),
        std::string("MM\0*\0\0\0\x08\xFF\xFF", 10)}) {
    CAPTURE(text);
    const auto grid = read_terrain(written("bad.asc", text));
    REQUIRE_FALSE(grid.has_value());
    CHECK(grid.error().where.find("bad.asc") != std::string::npos);
    CHECK(!grid.error().empty());
  }
  CHECK(read_terrain(written("good.asc", good)).has_value());
  CHECK_FALSE(read_terrain((kFolder / "absent.tif").string()).has_value());
  CHECK_FALSE(read_terrain(written("empty.asc", "")).has_value());
  // A GeoTIFF cut anywhere.
  const std::string path = tiff_of("whole.tif", {.tile = 16}, 415595, 5150191, 30, 40, 40,
                                   [](int c, int r) { return c + r; });
  std::ifstream in(path, std::ios::binary);
  const std::string bytes((std::istreambuf_iterator<char>(in)), {});
  for (size_t keep = 0; keep < bytes.size(); keep += 97) {
    const auto grid = read_terrain(written("cut.tif", bytes.substr(0, keep)));
    if (!grid) CHECK_FALSE(grid.error().empty());
  }
}
