#include "app/model/handover_job.h"

#include <filesystem>
#include <fstream>

#include "app/lang/words.h"
#include "app/report/report.h"
#include "survey/store.h"

namespace app {
namespace {

namespace fs = std::filesystem;

// Written beside and renamed: no half a file is ever left under its name.
horizon::Result<void> write(const fs::path& path, const std::string& bytes) {
  const fs::path beside = path.string() + ".part";
  {
    std::ofstream out(beside, std::ios::binary | std::ios::trunc);
    out.write(bytes.data(), std::streamsize(bytes.size()));
    if (out.flush()) {
      out.close();
      std::error_code error;
      fs::rename(beside, path, error);
      if (!error) return {};
    }
  }
  std::error_code ignored;
  fs::remove(beside, ignored);
  return horizon::fail(horizon::Code::failed,
                       tr("The file could not be written. Is there room on the device?"),
                       path.string());
}

// The worker opens the file on its own: a field book belongs to one thread.
HandOverJob::Made make(const HandOverOptions& options, const Progress& progress,
                       const Cancelled& cancelled) {
  const InLanguage words(options.language);
  auto book = survey::FieldBook::open(options.site_path, survey::Access::read);
  if (!book) return tl::unexpected(book.error());
  std::error_code error;
  fs::create_directories(options.folder, error);
  std::vector<std::string> made;
  const fs::path folder = options.folder;
  made.push_back(options.site_path);

  constexpr int kDraws = 200;
  const auto first_half = [&](double part, std::string_view what) { progress(part * 0.7, what); };
  auto site = site_report(*book, kDraws, first_half, cancelled);
  if (!site) return tl::unexpected(site.error());
  ReportOptions report;
  report.language = options.language;
  report.units = options.imperial ? Units::imperial : Units::metric;
  report.time_utc_s = options.now_utc_s;
  report.software_version = "Adret " ADRET_VERSION;
  const auto photos = [&](const survey::Photo& photo) { return book->photo_bytes(photo.id); };
  const auto second_half = [&](double part, std::string_view what) {
    progress(0.7 + part * 0.3, what);
  };
  auto pdf = make_report(*site, report, photos, second_half, cancelled);
  if (!pdf) return tl::unexpected(pdf.error());
  if (auto done = write(folder / "report.pdf", *pdf); !done) return tl::unexpected(done.error());
  made.push_back((folder / "report.pdf").string());
  return made;
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
