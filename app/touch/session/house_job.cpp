#include "app/touch/session/house_job.h"

#include "survey/assess/plot_findings.h"
#include "survey/book/text.h"
#include "survey/exchange/weather_file.h"

namespace app {
namespace {

constexpr int kLane = 4;

using Found = horizon::Result<horizon::HouseFindings>;

Found work(const HouseQuestion& q, bool preview, const std::function<bool(double)>& progress) {
  std::shared_ptr<const horizon::WeatherYear> weather;
  if (!q.weather_path.empty()) {
    const auto bytes = survey::read_file(q.weather_path);
    if (!bytes) return tl::unexpected(bytes.error());
    auto file = survey::weather_of(*bytes);
    if (!file) return tl::unexpected(file.error());
    weather = std::make_shared<const horizon::WeatherYear>(std::move(file->year));
  }
  std::vector<horizon::OtherSpot> spots;
  if (q.plot && !preview && !q.plot->stations.empty())
    if (const auto plot = plot_findings(*q.plot, survey::Ahead::nothing))
      spots = other_spots(*plot, q.plot->eye_height_m);
  auto input = survey::house_input(q.settings, q.station, q.best_facing, weather, q.others, spots);
  if (!input) return tl::unexpected(input.error());
  input->preview = preview;
  if (preview) input->winters = std::min(horizon::kSoonWinters, input->winters);
  input->progress = progress;
  return horizon::house_findings(*input);
}

}  // namespace

Found house_winters(const survey::SiteSettings& settings, const horizon::StationInput& station,
                    horizon::TrueAzimuth best_facing) {
  auto input = survey::house_input(settings, station, best_facing, station.sky.weather);
  if (!input) return tl::unexpected(input.error());
  input->preview = true;
  return horizon::house_findings(*input);
}

void HouseJob::want(platform::Worker& worker, const std::string& place, const std::string& state,
                    HouseQuestion question) {
  if (state == state_) return;
  if (place != place_) {
    found_.reset();
    problem_.reset();
  }
  place_ = place;
  shared_->stop = true;
  shared_ = std::make_shared<Shared>();
  state_ = state;
  working_ = true;
  whole_ = false;
  post(worker, std::make_shared<const HouseQuestion>(std::move(question)), true);
}

void HouseJob::post(platform::Worker& worker, std::shared_ptr<const HouseQuestion> question,
                    bool preview) {
  worker.post(kLane,
              [this, &worker, question, preview, shared = shared_]() -> platform::Worker::Done {
                auto found = work(*question, preview, [shared](double part) {
                  shared->part = part;
                  return !shared->stop.load();
                });
                return [this, &worker, question, preview, shared, found = std::move(found)] {
                  if (shared != shared_ || shared->stop) return;  // asked anew meanwhile
                  problem_.reset();
                  if (found) {
                    found_ = *found;
                  } else {
                    found_.reset();
                    problem_ = found.error();
                  }
                  whole_ = !preview;
                  working_ = preview && found.has_value();
                  if (working_) post(worker, question, false);
                };
              });
}

}  // namespace app
