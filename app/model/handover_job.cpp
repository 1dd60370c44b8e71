#include "app/model/handover_job.h"

#include "app/lang/words.h"
#include "app/report/handover.h"
#include "survey/store.h"

namespace app {
namespace {

// The worker opens the file on its own: a field book belongs to one thread.
HandOverJob::Made make(const HandOverOptions& options, const Progress& progress,
                       const Cancelled& cancelled) {
  const InLanguage words(options.language);
  auto book = survey::FieldBook::open(options.site_path, survey::Access::read);
  if (!book) return tl::unexpected(book.error());
  HandoverOptions handover;
  handover.out_folder = options.folder;
  handover.report.language = options.language;
  handover.report.units = options.imperial ? Units::imperial : Units::metric;
  handover.report.time_utc_s = options.now_utc_s;
  handover.report.software_version = "Adret " ADRET_VERSION;
  auto done = make_handover(*book, handover, progress, cancelled);
  if (!done) return tl::unexpected(done.error());
  return std::vector<std::string>{done->package_path, done->report_path, options.site_path};
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
    auto made = make(options, progress, [shared] { return shared->cancelled.load(); });
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
