#include "app/script/demo_visit.h"

#include <cmath>
#include <filesystem>
#include <sstream>

#include "app/script/script.h"
#include "horizon/sun.h"
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
    {160, 11.1, "Building"},  {168, 8.8, "Ridge"},
    {176, 10.2, "Ridge"},     {184, 9.4, "Ridge"},      {192, 10.7, "Ridge"},
    {200, 12.9, "Ridge"},     {207, 16.2, "Evergreen"}, {211, 21.4, "Evergreen"},
    {215, 19.0, "Evergreen"}, {219, 23.8, "Evergreen"}, {224, 22.1, "Evergreen"},
    {229, 17.7, "Evergreen"}, {236, 16.8, "Ridge"},     {244, 18.6, "Ridge"},
    {252, 20.7, "Ridge"},     {261, 22.4, "Ridge"},     {270, 21.1, "Ridge"},
    {280, 20.2, "Ridge"},     {292, 21.9, "Ridge"},     {304, 23.4, "Ridge"},
    {316, 24.0, "Ridge"},     {329, 24.3, "Ridge"},     {342, 23.6, "Ridge"},
    {356, 22.8, "Ridge"},     {10, 21.2, "Ridge"},      {24, 18.6, "Ridge"},
    {37, 16.1, "Ridge"},      {49, 14.2, "Ridge"},
};
constexpr double kDeclination_deg = 4.0;  // about, there and then; the checks take up the rest

}  // namespace

std::vector<std::string> demo_names() { return {"Larkholm", "Site of"}; }

bool write_demo_photo(const std::string& path) {
  Bitmap picture;
  picture.resize(1200, 900);
  for (int y = 0; y < picture.height; ++y)
    for (int x = 0; x < picture.width; ++x) {
      const double ridge = 430 - 160 * std::exp(-std::pow((x - 620) / 260.0, 2)) +
                           30 * std::sin(x / 71.0) + 12 * std::sin(x / 19.0);
      const int shade = y < ridge ? 205 + y / 20 : 120 - (y - int(ridge)) / 12;
      const int blue = y < ridge ? 235 : shade + 12;
      picture.pixels[std::size_t(y) * 1200 + std::size_t(x)] =
          0xff000000u | std::uint32_t(shade) << 16 | std::uint32_t(shade + 6) << 8 |
          std::uint32_t(blue);
    }
  return write_png(path, picture);
}

std::string whole_visit(const std::string& photo) {
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
    s << "aim " << std::fmod(mark.azimuth_deg - kDeclination_deg + 360, 360) << ' '
      << mark.elevation_deg << '\n';
    if (kind != mark.kind) s << "touch \"" << mark.kind << "\"\n";
    kind = mark.kind;
    s << "touch \"Mark\"\n";
  }
  s << "settle\nexpect \"21 December here\"\n";
  // Two heading checks. The shadow points away from the sun, about three minutes into the visit.
  s << "touch \"Arrive\"\ntouch \"Check the compass\"\ntouch \"Landmark\"\n"
       "touch \"Name\"\ntype \"Chapel\"\ntouch \"Its position, and height if known\"\n"
       "type \"46.6013 N 10.3478 E 1940\"\naim 176.3 11.5\ntouch \"Take the check\"\n";
  const auto sun = horizon::sun_position(1766311200 + 110, {46.6213, 10.3478, 1482});
  s << "touch \"Check the compass\"\naim "
    << std::fmod(sun.azimuth.degrees() + 180 - kDeclination_deg + 360, 360)
    << " -20\ntouch \"Take the check\"\n";
  s << "touch \"People (initials)\"\ntype \"AB, CD\"\ntouch \"Weather\"\n"
       "type \"clear, calm, -6 C\"\n"
       "touch \"Ice or snow underfoot\"\n";
  s << "touch \"Photos\"\ndevice \"photo " << photo
    << "\"\naim 176 6\ntouch \"Take a photo\"\nwait 0.5\naim 216 12\ntouch \"Take a photo\"\n"
       "wait 0.5\nexpect \"220\"\n";
  s << "touch \"Ground\"\ntouch \"New pit\"\n";
  const char* layers[3][2] = {{"25", "Texture: loam"}, {"55", "Texture: sandy loam"}, {"90", "Texture: silt loam"}};
  for (const auto& layer : layers)
    s << "touch \"Down to, cm\"\ntype \"" << layer[0] << "\"\ntouch \"" << layer[1]
      << "\"\ntouch \"Add the layer\"\n";
  s << "touch \"Ground\"\ntouch \"Percolation test\"\ntouch \"Start the test\"\n";
  for (const char* level : {"240", "215", "192"})
    s << "touch \"Water in the hole now, above the bottom, mm\"\ntype \"" << level
      << "\"\ntouch \"Read now\"\nwait 600\n";
  s << "touch \"Light\"\nsettle\nexpect \"best facing\"\n"
       "touch \"Hand over\"\ntouch \"Make the files\"\nsettle\nexpect \"Done. The files are here\"\n";
  return s.str();
}

horizon::Result<void> make_demo_folder(const std::string& folder) {
  std::error_code ignored;
  std::filesystem::create_directories(folder, ignored);
  const std::string photo = folder + "/view.png";
  if (!write_demo_photo(photo))
    return horizon::fail(horizon::Code::failed, "cannot write there", photo);
  platform::Recording recording;
  TouchApp touch_app(recording.devices(folder + "/demo"));
  WindowOptions options;
  options.width = 412;
  options.height = 915;
  options.scale = 1;
  options.inspect = true;
  Window window(touch_app, options);
  if (!window.problem().empty()) return horizon::fail(horizon::Code::failed, window.problem());
  Script script(window, touch_app, recording);
  if (auto done = script.run(whole_visit(photo)); !done) return done;
  touch_app.session().rename_site("Larkholm school garden");
  touch_app.session().close_site();
  return {};
}

}  // namespace app
