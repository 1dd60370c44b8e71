#include "app/touch/session/handover_job.h"

#include "app/handover/handover.h"
#include "app/words/words.h"
#include "survey/book/store.h"

namespace app {
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

}  // namespace

void HandOverJob::start(platform::Worker& worker, const HandOverOptions& options) {
  if (running_) return;
  running_ = true;
  made_.reset();
  shared_ = std::make_shared<Shared>();
  worker.post(3, [this, options, shared = shared_]() -> platform::Worker::Done {
    const auto progress = [shared](double part, std::string_view what) {
      shared->part = part;
      std::lock_guard guard(shared->lock);
      shared->doing = what;
    };
    HandOverJob::Made made;
    try {
      made = make(options, progress, [shared] { return shared->cancelled.load(); });
    } catch (const std::exception& error) {
      made = tl::unexpected(survey::error_of(error));
    }
    return [this, made = std::move(made)] {
      made_ = made;
      running_ = false;
    };
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
