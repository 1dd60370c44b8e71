#include "app/touch/session/handover_job.h"

#include <chrono>
#include <thread>

#include "app/handover/handover.h"
#include "app/words/words.h"
#include "survey/book/store.h"

namespace app {

using horizon::Result;

namespace {

// The worker opens the file on its own: a field book belongs to one thread.
HandOverJob::Made make(const HandOverOptions& options, const Progress& progress,
                       const Cancelled& cancelled) {
  const InLanguage words(options.language);
  auto book = survey::FieldBook::open(options.site_path, survey::Access::read);
  if (!book) return tl::unexpected(book.error());
  HandoverOptions all;
  all.out_folder = options.folder;
  all.existing = survey::Existing::replace;
  all.weather_path = options.weather_path;
  all.people = options.people;
  all.report.language = options.language;
  all.report.units = options.imperial ? Units::imperial : Units::metric;
  all.report.time_utc_s = options.now_utc_s;
  all.report.software_version = "Adret " ADRET_VERSION;
  const auto made = make_handover(*book, all, progress, cancelled);
  if (!made) return tl::unexpected(made.error());
  return std::vector<std::string>{made->package_path, made->report_path, options.site_path};
}

constexpr double kCopied = 0.1;  // of the whole, the photographs' copy

}  // namespace

// Until what was written is kept: a minute at most, for a device that keeps nothing more.
void HandOverJob::wait_for_room(platform::Files& files, const Shared& shared) {
  using namespace std::chrono_literals;
  for (int i = 0; i < 3000 && files.crowded() && !shared.cancelled; ++i)
    std::this_thread::sleep_for(20ms);
}

Result<void> HandOverJob::start(platform::Worker& worker, platform::Files& files,
                                const survey::FieldBook& book, const HandOverOptions& options) {
  if (running_) return {};
  auto place = survey::Unfinished::folder(options.site_path);
  if (!place) return tl::unexpected(place.error());
  const std::string path = place->path() + "/site.gpkg";
  if (auto done = book.export_to(path, {.photo_bytes = false, .people = options.people}); !done)
    return done;
  auto photos = survey::PhotoCopy::begin(book, path);
  if (!photos) return tl::unexpected(photos.error());
  copying_.reset(new Copying{std::move(*place), path, std::move(*photos)});
  running_ = true;
  made_.reset();
  shared_ = std::make_shared<Shared>();
  shared_->doing = tr("touch.photos");
  next_photo(worker, files, options);
  return {};
}

void HandOverJob::leave() {
  if (copying_) finish(tl::unexpected(cancelled_error()));
}

void HandOverJob::finish(Made made) {
  copying_.reset();
  made_ = std::move(made);
  running_ = false;
}

void HandOverJob::next_photo(platform::Worker& worker, platform::Files& files,
                             const HandOverOptions& options) {
  worker.post(3, [this, &worker, &files, options, shared = shared_]() -> platform::Worker::Done {
    wait_for_room(files, *shared);
    return [this, &worker, &files, options, shared] {
      if (!copying_ || shared != shared_) return;  // left meanwhile
      if (shared->cancelled) return finish(tl::unexpected(cancelled_error()));
      const auto more = copying_->photos.step();
      if (!more) return finish(tl::unexpected(more.error()));
      shared->part = kCopied * copying_->photos.part();
      if (*more) return next_photo(worker, files, options);
      if (auto moved =
              survey::move_file(copying_->path, options.site_path, survey::Existing::replace);
          !moved)
        return finish(tl::unexpected(moved.error()));
      copying_.reset();
      make_files(worker, files, options);
    };
  });
}

void HandOverJob::make_files(platform::Worker& worker, platform::Files& files,
                             const HandOverOptions& options) {
  worker.post(3, [this, &files, options, shared = shared_]() -> platform::Worker::Done {
    const auto progress = [&files, shared](double part, std::string_view what) {
      shared->part = kCopied + (1 - kCopied) * part;
      {
        std::lock_guard guard(shared->lock);
        shared->doing = what;
      }
      wait_for_room(files, *shared);
    };
    HandOverJob::Made made;
    try {
      made = make(options, progress, [shared] { return shared->cancelled.load(); });
    } catch (const std::exception& error) {
      made = tl::unexpected(survey::error_of(error));
    }
    return [this, made = std::move(made)] { finish(made); };
  });
}

std::string HandOverJob::doing() const {
  std::lock_guard guard(shared_->lock);
  return shared_->doing;
}

std::optional<HandOverJob::Made> HandOverJob::take() {
  std::optional<Made> made;
  made.swap(made_);
  return made;
}

}  // namespace app
