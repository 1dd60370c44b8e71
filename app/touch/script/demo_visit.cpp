#include "app/touch/script/demo_visit.h"

#include <cmath>
#include <filesystem>
#include <sstream>

#include "app/touch/script/script.h"
#include "horizon/photo/camera.h"
#include "horizon/sun/sun.h"
#include "platform/recorded.h"

namespace app {
namespace {

struct DemoMark {
  double azimuth_deg, elevation_deg;  // true
  const char* kind;
};
// An invented valley that opens to the south-east, with spruces in the south-west and a barn.
constexpr DemoMark kMarks[] = {
    {60, 12.9, "Ridge"},      {70, 13.0, "Ridge"},      {81, 14.0, "Ridge"},
    {94, 15.9, "Ridge"},      {103, 17.4, "Ridge"},     {112, 16.4, "Ridge"},
    {120, 14.6, "Ridge"},     {128, 11.8, "Ridge"},     {136, 9.1, "Ridge"},
    {144, 8.2, "Ridge"},      {152, 10.9, "Building"},  {156, 12.3, "Building"},
    {160, 11.1, "Building"},  {168, 8.8, "Ridge"},      {176, 10.2, "Ridge"},
    {184, 9.4, "Ridge"},      {192, 10.7, "Ridge"},     {200, 12.9, "Ridge"},
    {207, 16.2, "Evergreen"}, {211, 21.4, "Evergreen"}, {215, 19.0, "Evergreen"},
    {219, 23.8, "Evergreen"}, {224, 22.1, "Evergreen"}, {229, 17.7, "Evergreen"},
    {236, 16.8, "Ridge"},     {244, 18.6, "Ridge"},     {252, 20.7, "Ridge"},
    {261, 22.4, "Ridge"},     {270, 21.1, "Ridge"},     {280, 20.2, "Ridge"},
    {292, 21.9, "Ridge"},     {304, 23.4, "Ridge"},     {316, 24.0, "Ridge"},
    {329, 24.3, "Ridge"},     {342, 23.6, "Ridge"},     {356, 22.8, "Ridge"},
    {10, 21.2, "Ridge"},      {24, 18.6, "Ridge"},      {37, 16.1, "Ridge"},
    {49, 14.2, "Ridge"},
};
constexpr double kDemoView_deg = 63;      // of the recorded camera
constexpr double kDeclination_deg = 4.0;  // about, there and then; the checks take up the rest

// Straight between the marks beside it, of the kind of the nearer one.
std::pair<double, std::string_view> demo_skyline(double azimuth_deg, std::string_view only = {}) {
  const DemoMark *before = nullptr, *after = nullptr;
  double back = 361, on = 361;
  for (const DemoMark& mark : kMarks) {
    if (!only.empty() && mark.kind != only) continue;
    const double b = horizon::wrap_360(azimuth_deg - mark.azimuth_deg), a = 360 - b;
    if (b < back) back = b, before = &mark;
    if (a < on) on = a, after = &mark;
  }
  return {
      before->elevation_deg + (after->elevation_deg - before->elevation_deg) * back / (back + on),
      back < on ? before->kind : after->kind};
}

}  // namespace

std::vector<std::string> demo_names() { return {"Larkholm", "Site of"}; }

namespace {

bool write_demo_photo(const std::string& path, double azimuth_deg, double elevation_deg) {
  constexpr int kWidth = 1200, kHeight = 900;
  horizon::Camera camera;
  camera.width_px = kWidth;
  camera.height_px = kHeight;
  camera.focal_px = horizon::focal_px_of_view(kWidth, kDemoView_deg);
  camera.bearing = horizon::TrueAzimuth::degrees(azimuth_deg);
  camera.tilt = horizon::Elevation::degrees(elevation_deg);
  Bitmap picture;
  picture.resize(kWidth, kHeight);
  std::uint32_t noise = 1;
  for (int y = 0; y < kHeight; ++y)
    for (int x = 0; x < kWidth; ++x) {
      const auto seen = horizon::direction_of(camera, {x + 0.5, y + 0.5});
      const auto [ground, kind] = demo_skyline(seen.azimuth.degrees());
      const double over = seen.elevation.degrees() - ground;
      noise = noise * 1664525u + 1013904223u;
      const int grain = int(noise >> 28) - 8;
      Color color{std::uint8_t(176 + y / 20), std::uint8_t(202 + y / 30), 236};
      if (over < 0) {
        const Color base = kind == "Evergreen"  ? Color{44, 66, 48}
                           : kind == "Building" ? Color{96, 78, 62}
                                                : Color{98, 108, 104};
        const int shade = grain + int(std::max(-24.0, over * 2));
        color = {std::uint8_t(base.r + shade), std::uint8_t(base.g + shade),
                 std::uint8_t(base.b + shade)};
      }
      picture.pixels[std::size_t(y) * kWidth + std::size_t(x)] =
          0xff000000u | std::uint32_t(color.r) << 16 | std::uint32_t(color.g) << 8 | color.b;
    }
  return write_png(path, picture);
}

}  // namespace

std::string demo_heights() {
  constexpr double kRidge_m = 3000, kStep_deg = 0.001, kLatitude = 46.6213, kLongitude = 10.3478;
  constexpr double kMetres = 111200;  // a degree of latitude
  constexpr int kHalf = 45;
  std::ostringstream s;
  s.imbue(std::locale::classic());
  s << "ncols " << 2 * kHalf + 1 << "\nnrows " << 2 * kHalf + 1 << "\nxllcenter "
    << kLongitude - kHalf * kStep_deg * 1.45 << "\nyllcenter " << kLatitude - kHalf * kStep_deg
    << "\ndx " << kStep_deg * 1.45 << "\ndy " << kStep_deg << '\n';
  for (int row = kHalf; row >= -kHalf; --row) {
    for (int column = -kHalf; column <= kHalf; ++column) {
      const double north = row * kStep_deg * kMetres;
      const double east =
          column * kStep_deg * 1.45 * kMetres * std::cos(kLatitude * horizon::kDegree);
      const double r = std::hypot(north, east);
      const double top =
          kRidge_m *
          std::tan(demo_skyline(std::atan2(east, north) / horizon::kDegree, "Ridge").first *
                   horizon::kDegree);
      const double part = std::min(1.0, r / kRidge_m);
      s << std::lround(1480 + top * part * part * part) << ' ';
    }
    s << '\n';
  }
  return s.str();
}

bool write_demo_photos(const std::string& folder) {
  return write_demo_photo(folder + "/south.png", 176 + kDeclination_deg, 6) &&
         write_demo_photo(folder + "/south_west.png", 216 + kDeclination_deg, 12);
}

std::string whole_visit(const std::string& folder) {
  std::ostringstream s;
  s.imbue(std::locale::classic());
  s << "wait 0.2\ntouch \"New site\"\nwait 0.5\n";
  for (int i = 0; i < 8; ++i)
    s << "device \"fix " << 46.6213 + 0.00001 * ((i * 7) % 5 - 2) << ' '
      << 10.3478 + 0.00001 * ((i * 3) % 5 - 2) << " 1482." << i << " 4\"\nwait 1\n";
  s.precision(6);
  s << "expect \"46.621\"\ntouch \"Skyline\"\nsettle\n";
  std::string kind = "Ridge";
  for (const DemoMark& mark : kMarks) {
    if (kind != mark.kind) s << "touch \"" << mark.kind << "\"\n";
    kind = mark.kind;
    s << "aim " << std::fmod(mark.azimuth_deg - kDeclination_deg + 360, 360) << ' '
      << mark.elevation_deg << "\nwait 0.6\n";
    if (&mark == &kMarks[0]) s << "touch \"Mark when still\"\nwait 0.2\n";
  }
  s << "touch \"Mark when still\"\nsettle\nexpect \"21 December here\"\n";
  // Two heading checks. The shadow points away from the sun, about three minutes into the visit.
  s << "touch \"Arrive\"\ntouch \"Check the compass\"\ntouch \"Landmark\"\n"
       "touch \"Name\"\ntype \"Chapel\"\ntouch \"Its position, and height if known\"\n"
       "type \"46.6013 N 10.3478 E 1940\"\naim 176.3 11.5\ntouch \"Take the check\"\n";
  const auto sun = horizon::sun_position(1766311200 + 130, {46.6213, 10.3478, 1482});
  s << "touch \"Check the compass\"\naim "
    << std::fmod(sun.azimuth.degrees() + 180 - kDeclination_deg + 360, 360)
    << " -20\ntouch \"Take the check\"\n";
  s << "touch \"People (initials)\"\ntype \"AB, CD\"\ntouch \"Weather\"\n"
       "type \"clear, calm, -6 C\"\n"
       "touch \"Ice or snow underfoot\"\n";
  s << "touch \"Photos\"\ndevice \"photo " << folder
    << "/south.png\"\naim 176 6\ntouch \"Take a photo\"\nwait 0.5\ndevice \"photo " << folder
    << "/south_west.png\"\naim 216 12\ntouch \"Take a photo\"\n"
       "wait 0.5\nexpect \"220\"\n";
  s << "touch \"Ground\"\ntouch \"New pit\"\n";
  const char* layers[3][2] = {
      {"25", "Texture: loam"}, {"55", "Texture: sandy loam"}, {"90", "Texture: silt loam"}};
  for (const auto& layer : layers)
    s << "touch \"Down to, cm\"\ntype \"" << layer[0] << "\"\ntouch \"" << layer[1]
      << "\"\ntouch \"Add the layer\"\n";
  s << "touch \"Ground\"\ntouch \"Percolation test\"\ntouch \"Start the test\"\n";
  for (const char* level : {"240", "215", "192"})
    s << "touch \"Water in the hole now, above the bottom, mm\"\ntype \"" << level
      << "\"\ntouch \"Read now\"\nwait 600\n";
  s << "touch \"Light\"\nsettle\nexpect \"facing within 2 % of the best\"\n"
       "touch \"Hand over\"\ntouch \"Make the files\"\nsettle\nexpect \"Done. The files are here\"\n";
  return s.str();
}

// The invented valley's normals, as a surveyor brings them along.
survey::ClimateNormals demo_climate() {
  survey::ClimateNormals climate;
  climate.name = "Upper Larkholm, 1490 m";
  climate.source = "invented for this example";
  const double mean_c[] = {-9.4, -7.6, -2.4, 2.6, 7.9, 11.6, 13.8, 13.1, 9.2, 4.1, -2.8, -8.1};
  const double sunshine[] = {.50, .53, .54, .50, .47, .49, .56, .55, .54, .55, .47, .46};
  for (std::size_t m = 0; m < 12; ++m) {
    climate.mean_c[m] = mean_c[m];
    climate.sunshine_fraction[m] = sunshine[m];
  }
  return climate;
}

horizon::Result<void> make_demo_folder(const std::string& folder) {
  std::error_code ignored;
  std::filesystem::create_directories(folder, ignored);
  if (!write_demo_photos(folder))
    return horizon::fail(horizon::Code::failed, "error.cannot_write_there", folder);
  platform::Recording recording;
  TouchApp touch_app(recording.devices(folder + "/demo"));
  touch_app.session().settings.warnings_read = true;
  WindowOptions options;
  options.width = 412;
  options.height = 915;
  options.scale = 1;
  options.inspect = true;
  Window window(touch_app, options);
  if (!window.problem().empty())
    return horizon::fail(horizon::Code::failed, {"error.script", {window.problem()}});
  Script script(window, touch_app, recording);
  if (auto done = script.run(whole_visit(folder)); !done) return done;
  const std::string heights = demo_heights();
  if (auto brought = touch_app.session().terrain.bring(
          *touch_app.session().devices().files, {"larkholm.asc", {heights.begin(), heights.end()}});
      !brought)
    return brought;
  touch_app.session().rename_site("Larkholm school garden");
  if (auto kept = touch_app.session().book().put(demo_climate()); !kept)
    return tl::unexpected(kept.error());
  touch_app.session().close_site();
  return {};
}

}  // namespace app
