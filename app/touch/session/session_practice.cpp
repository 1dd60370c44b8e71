// app/touch/session/session_practice.cpp: a site in the made valley: kept in a folder of its own, so that it is in no
// list of real sites, and served by the valley's devices for as long as it is open.
#include <filesystem>

#include "app/touch/practice/valley.h"
#include "app/touch/session/session.h"
#include "app/words/words.h"

namespace app {
namespace {

namespace fs = std::filesystem;
constexpr const char* kFolder = "practice";

}  // namespace

bool Session::is_practice(const std::string& path) {
  return fs::path(path).parent_path().filename() == kFolder;
}

horizon::Result<void> Session::start_practice() {
  close_site();
  const std::string folder = devices_.files->sites_folder() + "/" + kFolder;
  std::error_code error;
  fs::create_directories(folder, error);
  enter_practice();
  settings.instrument = Instrument::device;  // the valley has sensors
  survey::Site site;
  site.name = tr("practice.site");
  site.note = tr("practice.apart");
  site.created = now();  // by the valley's clock
  std::string path;
  for (int i = 1; path.empty() || fs::exists(path); ++i)
    path = folder + "/valley-" + std::to_string(i) + ".gpkg";
  auto book = survey::FieldBook::create(path, site);
  if (!book) {
    leave_practice();
    return told(tl::unexpected(book.error()));
  }
  book_ = std::make_unique<survey::FieldBook>(std::move(*book));
  settings.site_path = path;
  settings.station.clear();
  const auto place = valley_chapel();
  survey::Landmark chapel;
  chapel.id = survey::new_id();
  chapel.name = tr("practice.chapel");
  chapel.position = {place.latitude_deg, place.longitude_deg, place.height_m};
  if (auto put = book_->put(chapel); !put) return told(tl::unexpected(put.error()));
  if (auto begun = begin_visit(); !begun) return begun;
  auto added = add_station();
  save_settings();
  return added;
}

void Session::enter_practice() {
  leave_practice();
  practice_ = std::make_shared<Practice>();
  practice_->begun_s = now_s();
  real_ = std::make_unique<RealDevices>(enter_valley(devices_, practice_));
}

void Session::leave_practice() {
  if (!real_) return;
  leave_valley(devices_, std::move(*real_));
  real_.reset();
  practice_.reset();
}

}  // namespace app
