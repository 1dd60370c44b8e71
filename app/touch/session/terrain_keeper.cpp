#include "app/touch/session/terrain_keeper.h"

#include <algorithm>
#include <filesystem>
#include <fstream>
#include <vector>

#include "app/touch/session/session.h"
#include "app/words/sentence.h"
#include "app/words/words.h"
#include "survey/exchange/exchange.h"
#include "survey/exchange/terrain_file.h"

namespace app {
namespace {

namespace fs = std::filesystem;
constexpr int kTerrainLane = 5;
constexpr double kLandStep_deg = 0.5;
constexpr int kLandDraws = 48;  // as while aiming

std::string ending(const std::string& name) {
  std::string end = fs::path(name).extension().string();
  std::transform(end.begin(), end.end(), end.begin(),
                 [](unsigned char c) { return char(c >= 'A' && c <= 'Z' ? c + 32 : c); });
  return end;
}

fs::path folder_of(platform::Files& files) { return fs::path(files.sites_folder()) / "terrain"; }

}  // namespace

bool is_height_grid(const std::string& file_name) {
  const std::string end = ending(file_name);
  for (const char* known : {".hgt", ".tif", ".tiff", ".asc", ".agr", ".prj"})
    if (end == known) return true;
  return false;
}

std::vector<std::string> height_grids(platform::Files& files) {
  std::vector<std::string> paths;
  std::error_code error;
  for (const auto& entry : fs::directory_iterator(folder_of(files), error))
    if (entry.path().filename().string()[0] != '.' && is_height_grid(entry.path().string()) &&
        ending(entry.path().string()) != ".prj")
      paths.push_back(entry.path().string());
  std::sort(paths.begin(), paths.end());
  return paths;
}

horizon::Result<void> TerrainKeeper::bring(platform::Files& files,
                                           const platform::PickedFile& file) {
  if (!is_height_grid(file.name))
    return horizon::fail(horizon::Code::bad_input, "error.no_height_grid", file.name);
  std::error_code error;
  const fs::path folder = folder_of(files);
  fs::create_directories(folder, error);
  const fs::path path = folder / survey::safe_file_name(fs::path(file.name).filename().string());
  const std::string_view bytes(reinterpret_cast<const char*>(file.bytes.data()), file.bytes.size());
  if (auto written = survey::write_file(path.string(), bytes); !written) return written;
  if (ending(file.name) != ".prj" && !fs::exists(path.string() + ".prj")) {
    // Refused at once, with the reason, rather than kept to fail each time.
    if (auto grid = survey::read_terrain(path.string()); !grid) {
      fs::remove(path, error);
      return horizon::fail(grid.error().code, grid.error().sentence(), file.name);
    }
  }
  key_.clear();
  return {};
}

void TerrainKeeper::want(platform::Worker& worker, platform::Files& files,
                         const survey::StationSkyline& at, const horizon::StationInput& input) {
  const std::vector<std::string> paths = height_grids(files);
  std::string key = at.station.id + std::to_string(at.eye.latitude_deg) + "," +
                    std::to_string(at.eye.longitude_deg) + "," +
                    std::to_string(at.station.eye_height_m) + "," + std::to_string(input.year);
  for (const auto& path : paths) key += path;
  if (key == key_) return;
  key_ = key;
  shared_->far.reset();
  shared_->problem.clear();
  if (paths.empty()) return;
  shared_->working = true;
  worker.post(kTerrainLane,
              [shared = shared_, paths, eye = at.eye, station = at.station,
               input]() -> platform::Worker::Done {
                std::vector<horizon::TerrainGrid> tiles;
                std::string names, problem;
                for (const auto& path : paths) {
                  auto grid = survey::read_terrain(path);
                  if (grid) {
                    tiles.push_back(std::move(*grid));
                    add_listed(names, fs::path(path).filename().string());
                  } else if (problem.empty()) {
                    problem = in_words(grid.error());
                  }
                }
                std::optional<FarSkyline> far;
                if (!tiles.empty()) {
                  auto skyline = horizon::terrain_skyline(tiles, eye, station.eye_height_m);
                  if (skyline)
                    far = FarSkyline{std::move(*skyline), names, station.id, {}};
                  else
                    problem = in_words(skyline.error());
                }
                if (far && horizon::check_station(input))
                  far->light = horizon::LiveStation(input).update(
                      horizon::filled_from_terrain({}, far->skyline, kLandStep_deg), kLandDraws);
                return [shared, far = std::move(far), problem] {
                  shared->working = false;
                  shared->far = far;
                  shared->problem = problem;
                };
              });
}

}  // namespace app
