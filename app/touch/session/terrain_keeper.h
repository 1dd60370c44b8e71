// app/touch/session/terrain_keeper.h: the far skyline from height grids that the user has brought.
// Units:   degrees, metres
// Files:   kept in the folder "terrain" beside the sites, under their own names; all are used
// Threads: the frame's; files are read and the skyline worked out by the worker, which then lets
//          the grid go (a tile of one arc second takes 50 MB)
#pragma once

#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "horizon/light/findings.h"
#include "horizon/terrain/terrain.h"
#include "platform/devices.h"
#include "survey/assess/station_skyline.h"

namespace app {

struct FarSkyline {
  horizon::TerrainSkyline skyline;
  std::string source;  // names of the files
  survey::Id station;
  // What the bare ground leaves, and where an aim would tell most; nothing without a sound place.
  std::optional<horizon::LiveStation::Live> light;
};

bool is_height_grid(const std::string& file_name);
// Of the folder "terrain", in order.
std::vector<std::string> height_grids(platform::Files& files);

class TerrainKeeper {
 public:
  horizon::Result<void> bring(platform::Files& files, const platform::PickedFile& file);
  // Works it out again if the station, its place or the files are others than before.
  // input: its place, year and errors, for the light that the land leaves.
  void want(platform::Worker& worker, platform::Files& files, const survey::StationSkyline& at,
            const horizon::StationInput& input);
  void forget() { key_.clear(); }  // the files are others now
  // Of no place: nothing is drawn, and what is still worked out for another comes to nothing.
  void leave() {
    key_.clear();
    shared_ = std::make_shared<Shared>();
  }
  bool working() const { return shared_->working; }
  const FarSkyline* far() const { return shared_->far ? &*shared_->far : nullptr; }
  const std::string& problem() const { return shared_->problem; }

 private:
  struct Shared {
    bool working = false;
    std::optional<FarSkyline> far;
    std::string problem;
  };
  std::shared_ptr<Shared> shared_ = std::make_shared<Shared>();
  std::string key_;
};

}  // namespace app
