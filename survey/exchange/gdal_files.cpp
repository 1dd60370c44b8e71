#include "survey/exchange/gdal_files.h"

#include <cpl_conv.h>
#include <cpl_string.h>
#include <fcntl.h>
#include <gdal_utils.h>
#include <unistd.h>

#include <filesystem>
#include <mutex>

#include "survey/exchange/exchange.h"

namespace survey {
namespace {

void prepare() {
  static std::once_flag once;
  std::call_once(once, [] {
    GDALAllRegister();
    CPLSetErrorHandler(CPLQuietErrorHandler);
  });
}

bool flushed(const std::string& path) {
  const int file = ::open(path.c_str(), O_RDONLY | O_CLOEXEC);
  if (file < 0) return false;
  const bool done = ::fsync(file) == 0;
  ::close(file);
  return done;
}

}  // namespace

GdalFile gdal_open(const std::string& path, unsigned flags) {
  prepare();
  return GdalFile(static_cast<GDALDataset*>(
      GDALOpenEx(path.c_str(), flags | GDAL_OF_READONLY, nullptr, nullptr, nullptr)));
}

GdalSystem gdal_system(const std::string& name) {
  prepare();
  GdalSystem system(new OGRSpatialReference);
  if (system->SetFromUserInput(name.c_str()) != OGRERR_NONE) return nullptr;
  system->SetAxisMappingStrategy(OAMS_TRADITIONAL_GIS_ORDER);
  return system;
}

GdalTransform gdal_transform(const OGRSpatialReference* from, const OGRSpatialReference* to) {
  if (!from || !to) return nullptr;
  OGRSpatialReference a(*from), b(*to);
  a.SetAxisMappingStrategy(OAMS_TRADITIONAL_GIS_ORDER);
  b.SetAxisMappingStrategy(OAMS_TRADITIONAL_GIS_ORDER);
  return GdalTransform(OGRCreateCoordinateTransformation(&a, &b));
}

GdalFile gdal_warped(GDALDataset* file, const std::vector<std::string>& options) {
  CPLStringList list;
  for (const std::string& option : options) list.AddString(option.c_str());
  GDALWarpAppOptions* made = GDALWarpAppOptionsNew(list.List(), nullptr);
  if (!made) return nullptr;
  GDALDatasetH from = file;
  int wrong = 0;
  GdalFile warped(static_cast<GDALDataset*>(GDALWarp("", nullptr, 1, &from, made, &wrong)));
  GDALWarpAppOptionsFree(made);
  return warped;
}

horizon::Result<void> gdal_write_whole(const std::string& path,
                                       const std::function<bool(const std::string& part)>& write) {
  prepare();
  const std::filesystem::path whole(path);
  const std::string part =
      (whole.parent_path() / ("." + whole.stem().string() + "." + std::to_string(::getpid()) +
                              ".part" + whole.extension().string()))
          .string();
  std::error_code error;
  CPLErrorReset();
  if (!write(part) || !flushed(part)) {
    std::filesystem::remove(part, error);
    return horizon::fail(horizon::Code::failed, {"error.cannot_be_written", {CPLGetLastErrorMsg()}},
                         path);
  }
  std::filesystem::rename(part, whole, error);
  if (error) return tl::unexpected(disk_error(path, error.value()));
  return {};
}

}  // namespace survey
