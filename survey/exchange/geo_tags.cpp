#include "survey/exchange/geo_tags.h"

#include <algorithm>
#include <cmath>
#include <cstdio>
#include <cstring>
#include <map>
#include <optional>
#include <span>

#include "survey/book/text.h"
#include "survey/exchange/proj_objects.h"

namespace survey {
namespace {

using horizon::Code;
using horizon::fail;
using horizon::Result;

enum Tag : std::uint32_t {
  kPixelScale = 33550,
  kTiePoints = 33922,
  kTransformation = 34264,
  kKeyDirectory = 34735,
  kKeyDoubles = 34736,
};
enum Key : std::uint16_t {
  kModelType = 1024,
  kRasterType = 1025,
  kGeographicSystem = 2048,
  kPrimeMeridian = 2051,
  kAngularUnit = 2054,
  kEllipsoid = 2056,
  kSemiMajor = 2057,
  kInverseFlattening = 2059,
  kPrimeMeridianLongitude = 2061,
  kProjectedSystem = 3072,
  kProjection = 3074,
  kMethod = 3075,
  kLinearUnit = 3076,
  kLinearUnitSize = 3077,
  kParallel1 = 3078,
  kParallel2 = 3079,
  kOriginLongitude = 3080,
  kOriginLatitude = 3081,
  kFalseEasting = 3082,
  kFalseNorthing = 3083,
  kFalseOriginLongitude = 3084,
  kFalseOriginLatitude = 3085,
  kFalseOriginEasting = 3086,
  kFalseOriginNorthing = 3087,
  kCenterLongitude = 3088,
  kCenterLatitude = 3089,
  kScale = 3092,
  kVerticalUnit = 4099,
};
constexpr int kUserDefined = 32767, kProjected = 1, kGeographic = 2;

// Whoever shares the process may have told libtiff about these tags in another form.
template <class T>
std::span<const T> values_of(TIFF* tiff, std::uint32_t tag, TIFFDataType type) {
  const TIFFField* field = TIFFFindField(tiff, tag, TIFF_ANY);
  if (!field || TIFFFieldDataType(field) != type) return {};
  const T* values = nullptr;
  std::size_t count = 0;
  if (!TIFFFieldPassCount(field)) {
    if (type != TIFF_ASCII || !TIFFGetField(tiff, tag, &values)) return {};
    count = values ? std::strlen(reinterpret_cast<const char*>(values)) : 0;
  } else if (TIFFFieldReadCount(field) == TIFF_VARIABLE2) {
    std::uint32_t many = 0;
    if (TIFFGetField(tiff, tag, &many, &values)) count = many;
  } else {
    std::uint16_t many = 0;
    if (TIFFGetField(tiff, tag, &many, &values)) count = many;
  }
  return values ? std::span<const T>(values, count) : std::span<const T>();
}

class Keys {
 public:
  explicit Keys(TIFF* tiff) {
    const auto directory = values_of<std::uint16_t>(tiff, kKeyDirectory, TIFF_SHORT);
    const auto doubles = values_of<double>(tiff, kKeyDoubles, TIFF_DOUBLE);
    for (std::size_t at = 4; at + 3 < directory.size(); at += 4) {
      const std::uint16_t where = directory[at + 1], value = directory[at + 3];
      if (where == 0) values_[directory[at]] = value;
      if (where == kKeyDoubles && value < doubles.size()) values_[directory[at]] = doubles[value];
    }
  }
  std::optional<double> operator()(Key key) const {
    const auto found = values_.find(key);
    if (found == values_.end()) return {};
    return found->second;
  }
  int code(Key key) const { return static_cast<int>((*this)(key).value_or(0)); }
  // Of the keys of which writers take one or the other.
  double one_of(std::initializer_list<Key> keys) const {
    for (const Key key : keys)
      if (const auto value = (*this)(key)) return *value;
    return 0;
  }

 private:
  std::map<std::uint16_t, double> values_;
};

double unit_m(int code, double otherwise) {
  if (code == 9002) return 0.3048;
  if (code == 9003) return 1200.0 / 3937;
  return code == kUserDefined ? otherwise : 1;
}

std::string plus(const char* name, double value) {
  char text[40];
  std::snprintf(text, sizeof text, " +%s=%.15g", name, value);
  return text;
}

// What the register says of the file's geographic system, under what the file says itself.
struct Geodesy {
  double a_m = 0, inverse_flattening = 0;
  bool plain = true;  // degrees, from Greenwich

  // " +a=... +rf=..."; empty where neither says any.
  std::string ellipsoid() const {
    if (!(a_m > 6.3e6 && a_m < 6.4e6)) return {};
    return plus("a", a_m) +
           (inverse_flattening > 0 ? plus("rf", inverse_flattening) : plus("b", a_m));
  }
};

Geodesy geodesy_of(const Keys& keys) {
  constexpr int kGreenwich = 8901, kDegree = 9102, kDegreeToo = 9122;
  Geodesy out{keys.one_of({kSemiMajor}), keys.one_of({kInverseFlattening})};
  const int meridian = keys.code(kPrimeMeridian), unit = keys.code(kAngularUnit);
  out.plain = (meridian == 0 || meridian == kGreenwich) &&
              keys.one_of({kPrimeMeridianLongitude}) == 0 &&
              (unit == 0 || unit == kDegree || unit == kDegreeToo);
  const ProjContext context = quiet_proj();
  const auto named = [&](int code, PJ_CATEGORY category) {
    if (code <= 0 || code == kUserDefined) return ProjObject();
    return ProjObject(proj_create_from_database(context.get(), "EPSG", std::to_string(code).c_str(),
                                                category, 0, nullptr));
  };
  const auto take = [&](const ProjObject& ellipsoid) {
    if (ellipsoid)
      proj_ellipsoid_get_parameters(context.get(), ellipsoid.get(), &out.a_m, nullptr, nullptr,
                                    &out.inverse_flattening);
  };
  take(named(keys.code(kEllipsoid), PJ_CATEGORY_ELLIPSOID));
  const ProjObject system = named(keys.code(kGeographicSystem), PJ_CATEGORY_CRS);
  if (!system) return out;
  take(ProjObject(proj_get_ellipsoid(context.get(), system.get())));
  double longitude = 0;
  if (const ProjObject from{proj_get_prime_meridian(context.get(), system.get())})
    proj_prime_meridian_get_parameters(context.get(), from.get(), &longitude, nullptr, nullptr);
  out.plain = out.plain && longitude == 0;
  return out;
}

// A projection written out with its parameters; empty where it is none of these.
std::string written_out(const Keys& keys, const std::string& ellipsoid) {
  const double metre = unit_m(keys.code(kLinearUnit), keys.one_of({kLinearUnitSize}));
  const double lon = keys.one_of({kOriginLongitude, kFalseOriginLongitude, kCenterLongitude}),
               lat = keys.one_of({kOriginLatitude, kFalseOriginLatitude, kCenterLatitude});
  const double scale = keys(kScale).value_or(1);
  const double parallel = keys.one_of({kParallel1});
  const std::string origin = plus("lat_0", lat) + plus("lon_0", lon);
  const std::string parallels = plus("lat_1", parallel) + plus("lat_2", keys.one_of({kParallel2}));
  std::string text;
  switch (keys.code(kMethod)) {
    case 1:
      text = "+proj=tmerc" + origin + plus("k_0", scale);
      break;
    case 7:
      text = "+proj=merc" + plus("lon_0", lon) +
             (keys(kParallel1) ? plus("lat_ts", parallel) : plus("k_0", scale));
      break;
    case 8:
      text = "+proj=lcc" + parallels + origin;
      break;
    case 9:
      text = "+proj=lcc" + plus("lat_1", lat) + origin + plus("k_0", scale);
      break;
    case 10:
      text = "+proj=laea" + origin;
      break;
    case 11:
      text = "+proj=aea" + parallels + origin;
      break;
    default:
      return {};
  }
  if (!(metre > 0)) return {};
  return text + plus("x_0", metre * keys.one_of({kFalseEasting, kFalseOriginEasting})) +
         plus("y_0", metre * keys.one_of({kFalseNorthing, kFalseOriginNorthing})) + ellipsoid +
         plus("to_meter", metre) + " +type=crs";
}

Result<std::string> system_of(const Keys& keys, const std::string& path) {
  if (!keys(kModelType) && !keys(kProjectedSystem) && !keys(kGeographicSystem))
    return fail(Code::bad_input, "error.tiff_system_missing", path);
  const int model = keys(kModelType)         ? keys.code(kModelType)
                    : keys(kProjectedSystem) ? kProjected
                                             : kGeographic;
  if (model != kProjected && model != kGeographic)
    return fail(Code::bad_input, "error.tiff_system_neither", path);
  const int system = keys.code(kProjectedSystem);
  if (model == kProjected && system > 0 && system != kUserDefined)
    return "EPSG:" + std::to_string(system);
  const Geodesy geodesy = geodesy_of(keys);
  const std::string ellipsoid = geodesy.ellipsoid();
  std::string text;
  if (geodesy.plain && model == kGeographic) return text;
  if (geodesy.plain && !ellipsoid.empty()) {
    const int projection = keys.code(kProjection), zone = projection % 100;
    const bool south = projection / 100 == 161;
    if ((projection / 100 == 160 || south) && zone >= 1 && zone <= 60)
      text = "+proj=utm +zone=" + std::to_string(zone) + (south ? " +south" : "") + ellipsoid +
             " +type=crs";
    else
      text = written_out(keys, ellipsoid);
  }
  if (text.empty()) return fail(Code::bad_input, "error.tiff_projection", path);
  return text;
}

}  // namespace

Result<GeoTags> geo_tags_of(TIFF* tiff, const std::string& path) {
  const Keys keys(tiff);
  GeoTags out;
  const auto whole = values_of<double>(tiff, kTransformation, TIFF_DOUBLE),
             tie = values_of<double>(tiff, kTiePoints, TIFF_DOUBLE),
             scale = values_of<double>(tiff, kPixelScale, TIFF_DOUBLE);
  if (whole.size() >= 16) {
    out.x_column = whole[0], out.x_row = whole[1], out.x0 = whole[3];
    out.y_column = whole[4], out.y_row = whole[5], out.y0 = whole[7];
  } else if (tie.size() >= 6 && scale.size() >= 2) {
    out.x_column = scale[0], out.y_row = -scale[1];
    out.x0 = tie[3] - tie[0] * out.x_column;
    out.y0 = tie[4] - tie[1] * out.y_row;
  }
  const double cell = out.x_column * out.y_row - out.x_row * out.y_column;
  if (cell == 0 || !std::isfinite(cell) || !std::isfinite(out.x0) || !std::isfinite(out.y0))
    return fail(Code::bad_input, "error.tiff_no_place", path);
  out.at_point = keys.code(kRasterType) == 2;
  out.height_unit_m = unit_m(keys.code(kVerticalUnit), 1);
  out.system = system_of(keys, path);
  return out;
}

std::optional<double> unit_of_heights(std::string_view name) {
  const std::string unit = lower_ascii(trimmed(name));
  for (const char* metre : {"", "m", "metre", "meter", "metres", "meters"})
    if (unit == metre) return 1;
  for (const char* foot : {"ft", "foot", "feet", "international foot"})
    if (unit == foot) return 0.3048;
  for (const char* foot : {"us-ft", "us survey foot", "us survey feet", "ftus", "sfoot"})
    if (unit == foot) return 1200.0 / 3937;
  return std::nullopt;
}

std::string text_tag(TIFF* tiff, std::uint32_t tag) {
  const auto text = values_of<char>(tiff, tag, TIFF_ASCII);
  return {text.begin(), std::ranges::find(text, '\0')};
}

}  // namespace survey
