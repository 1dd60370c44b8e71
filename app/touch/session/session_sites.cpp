// app/touch/session/session_sites.cpp: the list of sites: new, open, copy, put away, bring in.
#include <algorithm>
#include <filesystem>
#include <fstream>

#include "app/handover/zip.h"
#include "app/touch/session/session.h"
#include "app/words/sentence.h"
#include "app/words/words.h"
#include "survey/book/durable.h"
#include "survey/exchange/beside.h"
#include "survey/exchange/exchange.h"
#include "survey/exchange/programme_copy.h"

namespace app {
namespace {

namespace fs = std::filesystem;

horizon::Error refused(const std::error_code& error, const std::string& path) {
  return {horizon::Code::failed, {"error.file_not_moved", {error.message()}}, path};
}

std::string free_path(const std::string& folder, const std::string& name) {
  const std::string stem = survey::file_stem_of(name, "site");
  std::string path = folder + "/" + stem + ".gpkg";
  for (int i = 2; fs::exists(path); ++i)
    path = folder + "/" + stem + "-" + std::to_string(i) + ".gpkg";
  return path;
}

// Names of people too, which the content's hash leaves out.
bool same_content(const std::string& path, const survey::FieldBook& other) {
  const auto here = survey::FieldBook::open(path, survey::Access::read);
  if (!here) return false;
  const auto hash = survey::content_sha256(*here), others = survey::content_sha256(other);
  const auto site = here->site(), its = other.site();
  const auto people = here->all<survey::Person>(), their = other.all<survey::Person>();
  return hash && others && *hash == *others && site && its && site->for_whom == its->for_whom &&
         people && their && people->size() == their->size();
}

std::string_view bytes_of(const platform::PickedFile& file) {
  return {reinterpret_cast<const char*>(file.bytes.data()), file.bytes.size()};
}

}  // namespace

const survey::SiteList& Session::sites() {
  if (!sites_known_) {
    sites_known_ = true;
    auto list = survey::list_sites(devices_.files->sites_folder());
    sites_ = list ? *list : survey::SiteList{{}, {list.error()}};
  }
  return sites_;
}

const survey::SiteList& Session::archived() {
  const std::string folder = devices_.files->sites_folder() + "/archive";
  if (archived_known_) return archived_;
  archived_known_ = true;
  archived_ = {};
  if (!fs::exists(folder)) return archived_;
  auto list = survey::list_sites(folder);
  archived_ = list ? *list : survey::SiteList{{}, {list.error()}};
  return archived_;
}

horizon::Result<void> Session::new_site(const std::string& name) {
  close_site();
  survey::Site site;
  site.name = name;
  site.created = now();
  site.created.utc_offset_h = standard_offset_h(site.created.utc_s);
  const std::string path = free_path(devices_.files->sites_folder(), name);
  auto book = survey::FieldBook::create(path, site);
  if (!book) return told(tl::unexpected(book.error()));
  book_ = std::make_unique<survey::FieldBook>(std::move(*book));
  settings.site_path = path;
  settings.station.clear();
  if (auto begun = begin_visit(); !begun) return begun;
  auto added = add_station();
  save_settings();
  sites_known_ = false;
  return added;
}

bool Session::visit_is_over() const {
  const auto day = [](const survey::Moment& m) {
    return horizon::date_of(m.utc_s, m.utc_offset_h);
  };
  return visit_ && day(visit_->begun) != day(now());
}

horizon::Result<void> Session::begin_visit() {
  survey::Visit visit;
  visit.id = survey::new_id();
  visit.begun = now();
  if (auto put = book_->put(visit); !put) return told(tl::unexpected(put.error()));
  load();
  return {};
}

horizon::Result<void> Session::open_site(const std::string& path) {
  if (book_ && book_->path() == path) return {};
  close_site();
  if (is_practice(path)) enter_practice();
  auto book = survey::FieldBook::open(path);
  if (!book) leave_practice();
  if (!book) return told(tl::unexpected(book.error()));
  book_ = std::make_unique<survey::FieldBook>(std::move(*book));
  if (!book_->remarks().empty()) problem = in_words(book_->remarks().front());
  settings.site_path = path;
  load();
  if (!stations_.empty() && std::none_of(stations_.begin(), stations_.end(),
                                         [&](const auto& s) { return s.id == settings.station; })) {
    auto main = survey::main_station(*book_);
    settings.station = main ? main->id : stations_.front().id;
    load();
  }
  // Of a site whose making was cut short, too.
  if (!visit_)
    if (auto begun = begin_visit(); !begun) return begun;
  if (stations_.empty()) return add_station();
  post_live();
  save_settings();
  return {};
}

void Session::close_site() {
  handover_.leave();
  stop_aiming();
  stop_position();
  if (book_ && skyline_ && !skyline_->skyline().points.empty())
    (void)book_->set_sketch(survey::sketch_of(skyline_->skyline()));
  if (book_) {
    if (auto closed = book_->close(); !closed) problem = in_words(closed.error());
  }
  book_.reset();
  site_ = {};
  stations_.clear();
  visit_.reset();
  skyline_.reset();
  live_.reset();
  terrain.leave();
  results_.clear();
  results_for_ = results_asked_ = ~0ull;
  fixes_.clear();
  fixes_kept_ = 0;
  position_ = {};
  marks_ = 0;
  checks_.clear();
  settings.site_path.clear();
  sites_known_ = false;
  leave_practice();
}

horizon::Result<void> Session::duplicate_site(const std::string& path) {
  if (book_ && book_->path() == path) close_site();
  auto book = survey::FieldBook::open(path);
  if (!book) return told(tl::unexpected(book.error()));
  auto site = book->site();
  if (!site) return told(tl::unexpected(site.error()));
  const std::string copy = free_path(devices_.files->sites_folder(), site->name + " copy");
  if (auto done = book->export_to(copy); !done) return told(done);
  auto copied = survey::FieldBook::open(copy);
  if (!copied) return told(tl::unexpected(copied.error()));
  site->name = tr("sites.copy_of", {site->name});
  if (auto put = copied->put(*site); !put) return told(tl::unexpected(put.error()));
  sites_known_ = false;
  if (auto closed = copied->close(); !closed) return told(tl::unexpected(closed.error()));
  return {};
}

horizon::Result<void> Session::archive_site(const std::string& path) {
  if (book_ && book_->path() == path) close_site();
  std::error_code error;
  const std::string folder = devices_.files->sites_folder() + "/archive";
  fs::create_directories(folder, error);
  fs::rename(path, free_path(folder, fs::path(path).stem().string()), error);
  refresh_sites();
  if (error) return told(tl::unexpected(refused(error, path)));
  return {};
}

horizon::Result<void> Session::restore_site(const std::string& path) {
  std::error_code error;
  const std::string stem = fs::path(path).stem().string();
  fs::rename(path, free_path(devices_.files->sites_folder(), stem), error);
  refresh_sites();
  if (error) return told(tl::unexpected(refused(error, path)));
  return {};
}

const std::vector<std::string>& Session::programme_files() {
  if (programmes_known_) return programmes_;
  programmes_known_ = true;
  programmes_.clear();
  std::error_code error;
  std::vector<std::pair<fs::file_time_type, std::string>> found;
  for (const auto& file :
       fs::directory_iterator(devices_.files->sites_folder() + "/programmes", error))
    if (file.path().extension() == ".gpkg")
      found.emplace_back(file.last_write_time(error), file.path().string());
  std::ranges::sort(found, std::greater{});
  for (auto& [time, path] : found) programmes_.push_back(std::move(path));
  return programmes_;
}

// A programme of many sites: kept apart from the sites, a newer one of its name takes its place.
static bool keep_programme(const std::string& received, const std::string& folder,
                           const std::string& name) {
  std::error_code error;
  if (!survey::Programme::open(received, survey::Programme::Open::read)) return false;
  fs::create_directories(folder + "/programmes", error);
  const std::string path =
      folder + "/programmes/" + survey::file_stem_of(name, "programme") + ".gpkg";
  return survey::move_file(received, path, survey::Existing::replace).has_value();
}

// A file from somebody else comes in by the one door: row by row into a file of our own.
horizon::Result<bool> Session::import_site(const platform::PickedFile& file, bool only_new) {
  const std::string folder = devices_.files->sites_folder();
  const std::string path = free_path(folder, fs::path(file.name).stem().string());
  const auto done = [&]() -> horizon::Result<bool> {
    auto place = survey::Unfinished::folder(path);
    if (!place) return tl::unexpected(place.error());
    const std::string received = place->path() + "/received.gpkg";
    if (auto written = survey::write_scratch(received, bytes_of(file)); !written)
      return tl::unexpected(written.error());
    const auto kind = survey::kind_of_file(received);
    if (!kind) return tl::unexpected(kind.error());
    if (*kind != survey::FileKind::site)
      return horizon::fail(horizon::Code::bad_input, "error.zip_no_site");
    if (keep_programme(received, folder, fs::path(file.name).stem().string())) return true;
    auto book = survey::FieldBook::open(received, survey::Access::received);
    if (!book) return tl::unexpected(book.error());
    const auto site = book->site();
    if (!site) return tl::unexpected(site.error());
    for (const survey::SiteSummary& each : sites().sites)
      if (each.site.id == site->id && (only_new || same_content(each.path, *book))) return false;
    const auto& refused = book->remarks();
    if (!refused.empty())
      problem = tr("session.brought_without_rows_do_not", {std::to_string(refused.size())}) + " " +
                in_words(refused.front());
    if (auto kept = book->export_to(path); !kept) return tl::unexpected(kept.error());
    return true;
  }();
  refresh_sites();
  if (!done) return horizon::fail(done.error().code, done.error().sentence(), file.name);
  return done;
}

horizon::Result<std::string> Session::bring_sites(const platform::PickedFile& file) {
  const auto refused = [&](const horizon::Error& error) {
    problem = in_words(error);
    return tl::unexpected(error);
  };
  if (!bytes_of(file).starts_with("PK")) {
    const auto done = import_site(file, false);
    if (!done) return refused(done.error());
    return tr(*done ? "touch.brought_in" : "app.was_here_already", {file.name});
  }
  const auto entries = read_zip(file.bytes, [](const std::string& name) {
    return name.ends_with(".gpkg") || is_height_grid(name);
  });
  if (!entries)
    return refused({entries.error().code, entries.error().sentence(),
                    file.name + " " + entries.error().where});
  int brought = 0, here = 0, grids = 0;
  std::optional<horizon::Error> first;  // what cannot be taken does not hold up the rest
  for (const Unzipped& entry : *entries) {
    const platform::PickedFile one{entry.name, entry.bytes};
    if (is_height_grid(entry.name)) {
      const auto kept = terrain.bring(*devices_.files, one);
      grids += kept.has_value();
      // A package has maps of hours beside its sites.
      if (!kept && !first && kept.error().key != "error.grid_not_heights") first = kept.error();
    } else {
      const auto site = import_site(one, true);
      if (site) ++(*site ? brought : here);
      if (!site && !first) first = site.error();
    }
  }
  if (brought + here + grids == 0)
    return refused(
        first.value_or(horizon::Error{horizon::Code::bad_input, "error.zip_no_site", file.name}));
  if (first) problem = in_words(*first);
  return tr("visit.brought", {file.name, number(brought), number(here), number(grids)});
}

horizon::Result<void> Session::put_site(survey::Site site) {
  if (auto put = book_->put(std::move(site)); !put) return told(tl::unexpected(put.error()));
  changed();
  return {};
}

std::string Session::weather_path() const { return book_ ? survey::weather_beside(*book_) : ""; }

horizon::Result<void> Session::bring_weather(const platform::PickedFile& file) {
  const std::string_view bytes(reinterpret_cast<const char*>(file.bytes.data()), file.bytes.size());
  std::optional<horizon::Place> eye;
  if (skyline_ && has_position()) eye = skyline_->eye;
  const auto kept = survey::keep_weather(*book_, file.name, bytes, eye);
  if (!kept)
    return told(horizon::fail(kept.error().code, kept.error().sentence(),
                              file.name + " " + kept.error().where));
  for (const auto& note : kept->fit) problem = in_words(note);
  results_asked_ = results_for_ = odds_asked_ = ~0ull;  // the light is another
  return {};
}

void Session::start_handover(bool people) {
  HandOverOptions options;
  // Two sites of one name keep apart; one site's newer hand-over takes the place of its older.
  options.folder = devices_.files->handover_folder() + "/" +
                   survey::file_stem_of(site_.name, "site") + "-" + survey::short_hash(site_.id);
  options.language = settings.language;
  options.people = people;
  options.imperial = settings.units == Units::imperial;
  options.now_utc_s = now().utc_s;
  std::error_code error;
  fs::create_directories(options.folder, error);
  options.site_path = options.folder + "/" + fs::path(book_->path()).filename().string();
  options.weather_path = weather_path();
  (void)told(handover_.start(*devices_.worker, *devices_.files, *book_, options));
}

}  // namespace app
