#include "app/touch/session/relief_job.h"

#include "app/touch/session/terrain_keeper.h"
#include "survey/exchange/terrain_file.h"

namespace app {
namespace {

constexpr int kReliefLane = 8;

}  // namespace

std::shared_ptr<const Image> ReliefJob::of(platform::Worker& worker, platform::Files& files,
                                           const GeoWindow& window, int width, int height) {
  const auto paths = height_grids(files);
  std::string key = std::to_string(window.south_deg) + " " + std::to_string(window.west_deg) + " " +
                    std::to_string(window.north_deg) + " " + std::to_string(window.east_deg) + " " +
                    std::to_string(width) + " " + std::to_string(height);
  for (const auto& path : paths) key += path;
  if (key == key_) return shared_->image;
  key_ = key;
  shared_ = std::make_shared<Shared>();
  if (paths.empty()) return nullptr;
  worker.post(
      kReliefLane, [shared = shared_, paths, window, width, height]() -> platform::Worker::Done {
        std::vector<horizon::TerrainGrid> tiles;
        for (const auto& path : paths)
          if (auto grid = survey::read_terrain(path)) tiles.push_back(std::move(*grid));
        auto image = std::make_shared<const Image>(shaded_ground(tiles, window, width, height));
        return [shared, image] {
          if (image->width > 0) shared->image = image;
        };
      });
  return nullptr;
}

}  // namespace app
