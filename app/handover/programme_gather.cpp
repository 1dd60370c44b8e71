#include "app/handover/programme_gather.h"

#include <algorithm>
#include <deque>
#include <filesystem>
#include <random>
#include <thread>

#include "app/handover/photo_copy.h"
#include "survey/book/durable.h"
#include "survey/book/sql.h"
#include "survey/book/text.h"
#include "survey/exchange/beside.h"
#include "survey/exchange/exchange.h"
#include "survey/exchange/programme_copy.h"

namespace app {
namespace {

namespace fs = std::filesystem;
using horizon::Result;
using survey::value_or_throw;

struct Weather {
  std::string name, bytes;
  std::shared_ptr<const horizon::WeatherYear> year;
};

Weather weather_of(std::string name, std::string bytes) {
  Weather out{std::move(name), std::move(bytes), nullptr};
  if (!out.bytes.empty())
    out.year = std::make_shared<const horizon::WeatherYear>(
        value_or_throw(survey::weather_of(out.bytes)).year);
  return out;
}

class Gatherer {
 public:
  Gatherer(survey::Programme& programme, const GatherOptions& options)
      : programme_(programme),
        options_(options),
        work_(value_or_throw(
            survey::Unfinished::folder((fs::temp_directory_path() / "adret-gather").string()))) {}

  // False: another program is at this site; later, then.
  bool take(const std::string& file, GatheredSite& done) {
    const auto copy = value_or_throw(survey::FieldBook::open(file, survey::Access::received));
    const survey::Site site = value_or_throw(copy.site());
    done.site = site.name;
    done.said = copy.remarks();
    Weather weather;
    if (const std::string beside = options_.use_weather ? survey::weather_beside(copy) : "";
        !beside.empty())
      weather = weather_of(fs::path(beside).filename().string(),
                           value_or_throw(survey::read_file(beside)));
    const std::string hash = survey::sha256_hex(value_or_throw(survey::content_sha256(copy)) + " " +
                                                survey::sha256_hex(weather.bytes));
    done.what = Gathered::unchanged;
    if (!options_.again && ask(programme_.knows(site.id, hash))) return true;
    if (!ask(programme_.claim(site.id))) return false;
    const auto released = [&](const void*) { (void)programme_.release(site.id); };
    const std::unique_ptr<const void, decltype(released)> claim(&site, released);
    if (!options_.again && ask(programme_.knows(site.id, hash))) return true;
    for (int tries = 0; tries < 20; ++tries)
      if (put(copy, site.id, hash, weather, done)) return true;
    survey::give_up(horizon::Code::failed, "error.programme_always_another", file);
  }

  // Of the programme itself: nothing more can be done.
  template <class T>
  T ask(Result<T> answer) {
    if (!answer) broken = true;
    return value_or_throw(std::move(answer));
  }
  bool broken = false;

 private:
  std::string path(const char* name) const { return work_.path() + "/" + name; }

  struct Merged {
    survey::FieldBook book;
    std::vector<survey::Conflict> conflicts;
    std::vector<survey::ProgrammeQuestion> still;  // asked before, and nobody touched the row
  };
  // The copy with what is kept.
  Merged merged(const survey::FieldBook& copy, const survey::Id& site_id,
                const std::optional<survey::KeptSite>& kept) {
    std::error_code ignored;
    for (const char* name : {"mine.gpkg", "theirs.gpkg", "whole.gpkg"})
      fs::remove(path(name), ignored);
    if (!kept) {
      value_or_throw(survey::write_kept(copy, path("mine.gpkg")));
      return {value_or_throw(survey::FieldBook::open(path("mine.gpkg"))), {}, {}};
    }
    value_or_throw(
        survey::write_scratch(path("mine.gpkg"), value_or_throw(survey::unpacked(kept->packed))));
    value_or_throw(survey::write_kept(copy, path("theirs.gpkg")));
    Merged out{value_or_throw(survey::FieldBook::open(path("mine.gpkg"))), {}, {}};
    const auto theirs =
        value_or_throw(survey::FieldBook::open(path("theirs.gpkg"), survey::Access::read));
    std::vector<std::pair<survey::ProgrammeQuestion, std::string>> asked;
    for (auto& question : ask(programme_.site(site_id)).questions)
      if (question.about == "copies")
        asked.emplace_back(question, survey::stamp_of_row(out.book, question.key));
    out.conflicts = value_or_throw(survey::merge(out.book, theirs)).conflicts;
    for (auto& [question, stamp] : asked)
      if (survey::stamp_of_row(out.book, question.key) == stamp)
        out.still.push_back(std::move(question));
    return out;
  }

  // Only of photographs whose bytes this copy has.
  std::vector<survey::Thumbnail> thumbnails(const survey::FieldBook& copy) {
    std::vector<survey::Thumbnail> out;
    for (const auto& photo : value_or_throw(copy.all<survey::Photo>())) {
      const auto bytes = copy.photo_bytes(photo.id);
      if (!bytes) continue;
      const auto small = photo_copy(*bytes, photo.orientation, options_.thumbnail_px);
      if (small)
        out.push_back({photo.sha256, std::string(small->encoded.begin(), small->encoded.end())});
    }
    return out;
  }

  bool put(const survey::FieldBook& copy, const survey::Id& site_id, const std::string& hash,
           const Weather& brought, GatheredSite& done) {
    const auto kept = ask(programme_.kept(site_id));
    const Merged whole = merged(copy, site_id, kept);
    Weather weather = brought;
    if (!weather.year && kept && !kept->weather_packed.empty() && options_.use_weather)
      weather =
          weather_of(kept->weather_name, value_or_throw(survey::unpacked(kept->weather_packed)));
    ProgrammeOptions options = options_.site;
    options.weather = weather.year;
    auto state = value_or_throw(programme_state(whole.book, options));
    state.site.file_name = fs::path(done.file).filename().string();
    add_conflicts(state, whole.conflicts, whole.still);
    value_or_throw(survey::write_kept(whole.book, path("whole.gpkg")));
    survey::KeptSite keep;
    keep.packed =
        value_or_throw(survey::packed(value_or_throw(survey::read_file(path("whole.gpkg")))));
    if (weather.year) {
      keep.weather_name = weather.name;
      keep.weather_packed = value_or_throw(survey::packed(weather.bytes));
    }
    done.conflicts = static_cast<int>(whole.conflicts.size());
    done.what = !kept                                    ? Gathered::added
                : kept->stamp == survey::stamp_of(state) ? Gathered::unchanged
                                                         : Gathered::brought_up;
    return ask(programme_.put(state, keep, kept ? kept->state_no : 0, hash, thumbnails(copy)));
  }

  survey::Programme& programme_;
  const GatherOptions& options_;
  survey::Unfinished work_;
};

}  // namespace

std::string_view name_of(Gathered what) {
  constexpr std::string_view kNames[kGatheredCount] = {"added", "brought_up", "unchanged",
                                                       "skipped"};
  return kNames[static_cast<int>(what)];
}

Result<void> gather(survey::Programme& programme, std::vector<std::string> files,
                    const GatherOptions& options,
                    const std::function<void(const GatheredSite&)>& done) {
  return survey::guarded([&] {
    Gatherer gatherer(programme, options);
    // Several at once begin at different sites.
    std::ranges::rotate(files,
                        files.begin() + static_cast<long>(std::random_device{}() %
                                                          std::max<std::size_t>(1, files.size())));
    std::deque<std::string> left(files.begin(), files.end());
    std::size_t put_off = 0;
    while (!left.empty()) {
      if (options.cancelled && options.cancelled())
        survey::give_up(horizon::Code::failed, "error.cancelled");
      GatheredSite site{Gathered::skipped, left.front(), "", {}, 0};
      left.pop_front();
      const auto taken = survey::guarded([&] { return gatherer.take(site.file, site); });
      if (gatherer.broken) value_or_throw(taken);
      if (taken && !*taken) {
        left.push_back(site.file);
        if (++put_off >= left.size()) {  // all that are left are at others'
          put_off = 0;
          std::this_thread::sleep_for(std::chrono::milliseconds(50));
        }
        continue;
      }
      put_off = 0;
      if (!taken) {
        site.what = Gathered::skipped;
        site.said.push_back(taken.error());
        if (site.said.back().where == site.file) site.said.back().where.clear();
      }
      done(site);
    }
  });
}

}  // namespace app
