// app/touch/session/session_suspect.cpp: after a fault the app starts at the list, and the site
// that was open waits there for a choice: open, check, or hand over as it is.
#include <algorithm>
#include <filesystem>

#include "app/touch/session/crash_mark.h"
#include "app/touch/session/session.h"
#include "app/words/sentence.h"
#include "app/words/words.h"
#include "survey/assess/site_check.h"
#include "survey/book/durable.h"
#include "survey/exchange/exchange.h"

namespace app {
namespace {

namespace fs = std::filesystem;

constexpr int kPatience = 3;  // starts that did not last
constexpr int kCheckLane = 4;
constexpr std::size_t kShown = 8;

horizon::Error error_thrown(std::exception_ptr why) {
  try {
    std::rethrow_exception(why);
  } catch (const std::exception& error) {
    return survey::error_of(error);
  } catch (...) {
    return {horizon::Code::failed, {"error.not_worked_out", {"?"}}};
  }
}

}  // namespace

void Session::clear_unfinished() {
  std::string names;
  for (const std::string& folder :
       {devices_.files->sites_folder(), devices_.files->handover_folder()})
    if (!folder.empty())
      for (const std::string& name : survey::clear_leftovers(folder)) add_listed(names, name);
  if (!names.empty()) problem = tr("session.cleared_away_was_not_finished", {names});
}

void Session::open_last_site() {
  const std::string path = settings.site_path, station = settings.station;
  const bool crashed = !settings_path_.empty() && take_crash_mark(settings_path_ + ".crashed");
  if (path.empty()) return;
  if (crashed || settings.starts >= kPatience) {
    suspect_ = path;
    settings.site_path.clear();
    settings.starts = 0;
    save_settings();
    return;
  }
  ++settings.starts;
  save_settings();
  const std::string cleared = problem;
  try {
    if (open_site(path) && !station.empty()) select_station(station);
    problem = cleared;  // a site that has gone since is no news at the start
    if (book_ && !book_->remarks().empty()) problem = in_words(book_->remarks().front());
  } catch (...) {
    settings.site_path = path;
    gave_way(std::current_exception());
  }
}

void Session::failed(std::exception_ptr why) {
  problem = in_words(error_thrown(why));
  results_asked_ = results_for_;  // asked for again when something changes
}

void Session::gave_way(std::exception_ptr why) {
  const std::string path = book_ ? book_->path() : settings.site_path;
  const std::string words = in_words(error_thrown(why));
  handover_.leave();
  book_.reset();  // closes it; every change was kept when it was made
  skyline_.reset();
  try {
    close_site();
    settings.starts = 0;
    save_settings();
  } catch (...) {
    // No memory even for that; the list is shown all the same.
  }
  suspect_ = path;
  suspect_findings_.clear();
  problem = tr("session.site_could_not_shown_all", {words});
}

void Session::check_suspect() {
  suspect_findings_ = {tr("session.being_checked")};
  devices_.worker->post(kCheckLane, [this, path = suspect_]() -> platform::Worker::Done {
    std::vector<std::string> lines;
    try {
      auto book = survey::FieldBook::open(path, survey::Access::received);
      if (!book) {
        lines.push_back(in_words(book.error()));
      } else {
        for (const auto& remark : book->remarks()) lines.push_back(in_words(remark));
        auto items = survey::check_site(*book, {.photos = true, .progress = false});
        if (!items) lines.push_back(in_words(items.error()));
        if (items)
          for (const auto& item : *items)
            if (item.weight == survey::Weight::damage)
              lines.push_back(item.where + ": " + words_of(item.what));
      }
    } catch (const std::exception& error) {
      lines.push_back(in_words(survey::error_of(error)));
    }
    if (lines.empty()) lines.push_back(tr("session.file_sound"));
    if (lines.size() > kShown) {
      const std::string more = std::to_string(lines.size() - kShown);
      lines.resize(kShown);
      lines.push_back(tr("session.more", {more}));
    }
    return [this, lines = std::move(lines)] { suspect_findings_ = lines; };
  });
}

horizon::Result<std::string> Session::hand_over_as_it_is(const std::string& path) {
  std::error_code error;
  const std::string folder = devices_.files->handover_folder();
  fs::create_directories(folder, error);
  const std::string stem = survey::file_stem_of(fs::path(path).stem().string(), "site");
  std::string to = folder + "/" + stem + ".gpkg";
  for (int i = 2; fs::exists(to); ++i) to = folder + "/" + stem + "-" + std::to_string(i) + ".gpkg";
  for (const char* end : {"-wal", "-journal", ""}) {
    if (!fs::exists(path + end, error)) continue;
    auto place = survey::Unfinished::file(to + end);
    if (!place) return tl::unexpected(place.error());
    fs::copy_file(path + end, place->path(), fs::copy_options::overwrite_existing, error);
    if (error) return tl::unexpected(survey::disk_error(to, error.value()));
    if (auto done = place->land(survey::Existing::keep); !done) return tl::unexpected(done.error());
  }
  return to;
}

}  // namespace app
