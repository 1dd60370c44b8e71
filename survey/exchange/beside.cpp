#include "survey/exchange/beside.h"

#include <algorithm>
#include <cmath>
#include <filesystem>

#include "survey/book/sql.h"
#include "survey/book/text.h"
#include "survey/exchange/exchange.h"
#include "survey/exchange/terrain_file.h"

namespace survey {
namespace {

namespace fs = std::filesystem;
using horizon::Code;
using horizon::fail;
using horizon::Result;

fs::path folder_of(const FieldBook& book) { return fs::path(book.path()).parent_path(); }

// The id of a received file may hold anything; a path is made only of one that is an id.
fs::path weather_folder(const FieldBook& book) {
  const auto site = book.site();
  const std::string id = site ? site->id : "";
  return folder_of(book) / "weather" / (is_uuid(id) ? id : sha256_hex(id).substr(0, 32));
}

std::vector<fs::path> files_in(const fs::path& folder) {
  std::vector<fs::path> files;
  std::error_code error;
  for (const auto& entry : fs::directory_iterator(folder, error))
    if (entry.is_regular_file(error) && !entry.path().filename().string().starts_with('.'))
      files.push_back(entry.path());
  std::sort(files.begin(), files.end());
  return files;
}

bool holds(const fs::path& path, std::string_view bytes) {
  std::error_code error;
  if (fs::file_size(path, error) != bytes.size() || error) return false;
  const auto there = read_file(path.string());
  return there && *there == bytes;
}

Result<void> make_folder(const fs::path& folder) {
  std::error_code error;
  fs::create_directories(folder, error);
  if (error) return tl::unexpected(disk_error(folder.string(), error.value()));
  return {};
}

bool is_grid_name(const fs::path& path) {
  const std::string end = lower_ascii(path.extension().string());
  return end == ".hgt" || end == ".tif" || end == ".tiff" || end == ".asc" || end == ".agr" ||
         end == ".txt";
}

std::optional<double> ground_at(const horizon::TerrainGrid& grid, const Position& position) {
  const auto [column, row] = grid.cell_of(position.latitude_deg, position.longitude_deg);
  if (!(column >= -0.5 && row >= -0.5 && column <= grid.columns - 0.5 && row <= grid.rows - 0.5))
    return std::nullopt;
  const float height = grid.at(std::clamp(int(std::lround(column)), 0, grid.columns - 1),
                               std::clamp(int(std::lround(row)), 0, grid.rows - 1));
  return std::isnan(height) ? std::nullopt : std::optional<double>(height);
}

bool placed(const Position& p) { return p.latitude_deg != 0 || p.longitude_deg != 0; }

}  // namespace

std::string weather_beside(const FieldBook& book) {
  const auto files = files_in(weather_folder(book));
  return files.empty() ? std::string() : files.front().string();
}

Result<KeptWeather> keep_weather(const FieldBook& book, std::string_view name,
                                 std::string_view bytes, const std::optional<horizon::Place>& at) {
  auto read = weather_of(bytes);
  if (!read) return tl::unexpected(read.error());
  const auto site = book.site();
  if (!site) return tl::unexpected(site.error());
  KeptWeather kept;
  kept.file = std::move(*read);
  const Position& p = site->position;
  if (at || placed(p)) {
    kept.fit = weather_fits(
        kept.file, at.value_or(horizon::Place{p.latitude_deg, p.longitude_deg,
                                              p.height_m.value_or(kept.file.year.place.height_m)}));
    if (!kept.fit.empty() && kept.fit.front().code == Code::bad_input)
      return tl::unexpected(kept.fit.front());
  }
  const fs::path folder = weather_folder(book);
  const fs::path path = folder / safe_file_name(fs::path(std::string(name)).filename().string());
  kept.path = path.string();
  kept.already = holds(path, bytes);
  if (kept.already) return kept;
  if (auto made = make_folder(folder); !made) return tl::unexpected(made.error());
  if (auto written = write_file(kept.path, bytes); !written) return tl::unexpected(written.error());
  std::error_code error;
  for (const fs::path& older : files_in(folder))
    if (older != path) fs::remove(older, error);
  return kept;
}

std::vector<std::string> terrain_beside(const FieldBook& book) {
  std::vector<std::string> paths;
  for (const fs::path& path : files_in(folder_of(book) / "terrain"))
    if (is_grid_name(path)) paths.push_back(path.string());
  return paths;
}

Result<KeptTerrain> keep_terrain(const FieldBook& book, const std::string& from,
                                 const std::optional<std::string>& system) {
  const auto grid = read_terrain(from, system);
  if (!grid) return tl::unexpected(grid.error());
  const auto site = book.site();
  if (!site) return tl::unexpected(site.error());
  KeptTerrain kept;
  kept.source = grid->source;
  kept.columns = grid->columns;
  kept.rows = grid->rows;
  kept.cell_m = grid->cell_m;
  if (placed(site->position)) kept.ground_m = ground_at(*grid, site->position);
  const auto bytes = read_file(from);
  if (!bytes) return tl::unexpected(bytes.error());
  const fs::path folder = folder_of(book) / "terrain";
  const fs::path path = folder / safe_file_name(fs::path(from).filename().string());
  kept.path = path.string();
  kept.already = holds(path, *bytes);
  if (kept.already) return kept;
  if (auto made = make_folder(folder); !made) return tl::unexpected(made.error());
  // The system first: a grid without it would be refused at the next reading.
  std::optional<std::string> prj = system;
  for (const char* ending : {".prj", ".PRJ"})
    if (auto text = read_file(fs::path(from).replace_extension(ending).string()); !prj && text)
      prj = *text;
  if (prj)
    if (auto written = write_file(fs::path(path).replace_extension(".prj").string(), *prj);
        !written)
      return tl::unexpected(written.error());
  if (auto written = write_file(kept.path, *bytes); !written)
    return tl::unexpected(written.error());
  return kept;
}

}  // namespace survey
