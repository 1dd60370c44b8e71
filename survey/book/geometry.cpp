#include "survey/book/geometry.h"

#include <bit>
#include <cmath>
#include <cstdint>
#include <cstring>
#include <limits>

namespace survey {

namespace {

using horizon::Code;
using horizon::fail;

constexpr std::uint32_t kPoint = 1, kLine = 2, kHasZ = 1000, kHasM = 2000;
constexpr std::int32_t kSrs = 4326;

class Writer {
 public:
  template <class T>
  void put(T value) {
    if constexpr (std::endian::native == std::endian::big) value = swapped(value);
    bytes_.append(reinterpret_cast<const char*>(&value), sizeof value);
  }
  std::string take() { return std::move(bytes_); }
  template <class T>
  static T swapped(T value) {
    char bytes[sizeof(T)];
    std::memcpy(bytes, &value, sizeof value);
    for (std::size_t i = 0; i < sizeof(T) / 2; ++i) std::swap(bytes[i], bytes[sizeof(T) - 1 - i]);
    std::memcpy(&value, bytes, sizeof value);
    return value;
  }

 private:
  std::string bytes_;
};

class Reader {
 public:
  explicit Reader(std::string_view bytes) : bytes_(bytes) {}
  template <class T>
  T get() {
    T value{};
    if (bytes_.size() < sizeof value) {
      short_ = true;
      bytes_ = {};
      return value;
    }
    std::memcpy(&value, bytes_.data(), sizeof value);
    bytes_.remove_prefix(sizeof value);
    return little_ == (std::endian::native == std::endian::little) ? value : Writer::swapped(value);
  }
  void skip(std::size_t count) {
    short_ = short_ || count > bytes_.size();
    bytes_.remove_prefix(std::min(count, bytes_.size()));
  }
  void little(bool is) { little_ = is; }
  bool ran_out() const { return short_; }
  std::size_t left() const { return bytes_.size(); }

 private:
  std::string_view bytes_;
  bool little_ = true, short_ = false;
};

// Header without envelope for a point; with one for a line, which an index can use.
void put_header(Writer& out, bool envelope) {
  out.put('G');
  out.put('P');
  out.put(std::uint8_t{0});
  out.put(static_cast<std::uint8_t>(1 | (envelope ? 2 : 0)));  // little-endian
  out.put(kSrs);
}

void put_coordinates(Writer& out, const PathPoint& point, bool z, bool m) {
  out.put(point.position.longitude_deg);
  out.put(point.position.latitude_deg);
  if (z) out.put(*point.position.height_m);
  if (m) out.put(*point.utc_s);
}

struct Shape {
  std::uint32_t kind = 0;
  bool z = false, m = false;
};

horizon::Result<Shape> read_header(Reader& in) {
  const bool magic = in.get<char>() == 'G' && in.get<char>() == 'P';
  const auto version = in.get<std::uint8_t>();
  const auto flags = in.get<std::uint8_t>();
  if (in.ran_out() || !magic || version != 0 || (flags & 0x20))
    return fail(Code::bad_input, "error.no_geometry");
  in.little(flags & 1);
  const auto srs = in.get<std::int32_t>();
  if (srs != kSrs && srs != 0) return fail(Code::bad_input, "error.geometry_not_wgs84");
  constexpr std::size_t kEnvelope[8] = {0, 32, 48, 48, 64, 0, 0, 0};
  in.skip(kEnvelope[(flags >> 1) & 7]);
  in.little(in.get<std::uint8_t>() == 1);
  const auto type = in.get<std::uint32_t>();
  if (in.ran_out() || type / 1000 > 3) return fail(Code::bad_input, "error.geometry_cut_short");
  return Shape{type % 1000, type / 1000 % 2 == 1, type / 1000 >= 2};
}

PathPoint read_coordinates(Reader& in, const Shape& shape) {
  PathPoint point;
  point.position.longitude_deg = in.get<double>();
  point.position.latitude_deg = in.get<double>();
  if (shape.z) {
    const auto z = in.get<double>();
    if (!std::isnan(z)) point.position.height_m = z;
  }
  if (shape.m) {
    const auto m = in.get<double>();
    if (!std::isnan(m)) point.utc_s = m;
  }
  return point;
}

bool sound(const PathPoint& point) {
  const Position& p = point.position;
  return std::abs(p.latitude_deg) <= 90 && std::abs(p.longitude_deg) <= 180 &&
         std::abs(p.height_m.value_or(0)) <= 20000 && std::abs(point.utc_s.value_or(0)) < 1e12;
}

}  // namespace

std::string geometry_of(const Position& position) {
  Writer out;
  put_header(out, false);
  out.put(std::uint8_t{1});
  out.put(kPoint + (position.height_m ? kHasZ : 0));
  put_coordinates(out, {position, {}}, position.height_m.has_value(), false);
  return out.take();
}

std::string geometry_of(const std::vector<PathPoint>& line) {
  bool z = true, m = true;
  double west = 180, east = -180, south = 90, north = -90;
  for (const PathPoint& point : line) {
    z = z && point.position.height_m;
    m = m && point.utc_s;
    west = std::min(west, point.position.longitude_deg);
    east = std::max(east, point.position.longitude_deg);
    south = std::min(south, point.position.latitude_deg);
    north = std::max(north, point.position.latitude_deg);
  }
  Writer out;
  put_header(out, true);
  for (const double side : {west, east, south, north}) out.put(side);
  out.put(std::uint8_t{1});
  out.put(kLine + (z ? kHasZ : 0) + (m ? kHasM : 0));
  out.put(static_cast<std::uint32_t>(line.size()));
  for (const PathPoint& point : line) put_coordinates(out, point, z, m);
  return out.take();
}

horizon::Result<Position> point_of(std::string_view blob) {
  Reader in(blob);
  const auto shape = read_header(in);
  if (!shape) return tl::unexpected(shape.error());
  if (shape->kind != kPoint) return fail(Code::bad_input, "error.geometry_no_point");
  const PathPoint point = read_coordinates(in, *shape);
  if (in.ran_out() || !sound(point)) return fail(Code::bad_input, "error.point_nowhere");
  return point.position;
}

horizon::Result<std::vector<PathPoint>> line_of(std::string_view blob) {
  Reader in(blob);
  const auto shape = read_header(in);
  if (!shape) return tl::unexpected(shape.error());
  if (shape->kind != kLine) return fail(Code::bad_input, "error.geometry_no_line");
  const auto count = in.get<std::uint32_t>();
  if (in.ran_out() || count > in.left() / 16) return fail(Code::bad_input, "error.line_cut_short");
  std::vector<PathPoint> line(count);
  for (PathPoint& point : line) {
    point = read_coordinates(in, *shape);
    if (in.ran_out() || !sound(point)) return fail(Code::bad_input, "error.line_point_nowhere");
  }
  return line;
}

}  // namespace survey
