#include "app/touch/session/turn_job.h"

namespace app {
namespace {

constexpr int kLane = 6;
constexpr double kKnownView = 0.03, kGuessedView = 0.08;  // of the focal length, 1 sigma

}  // namespace

struct TurnJob::Film {
  std::unique_ptr<horizon::FilmedTurn> turn;
};

void TurnJob::forget() {
  film_.reset();
  step_.reset();
  skyline_.reset();
  running_ = false;
  waiting_ = 0;
}

void TurnJob::start(double now_s) {
  forget();
  film_ = std::make_shared<Film>();
  running_ = true;
  started_s_ = now_s;
}

void TurnJob::add(platform::Worker& worker, const platform::CameraPicture& picture,
                  const horizon::TurnPose& pose) {
  if (!running_ || !film_) return;
  auto frame = std::make_shared<const platform::CameraPicture>(picture);
  waiting_ = 1;
  worker.post(kLane, [this, film = film_, frame, pose]() -> platform::Worker::Done {
    if (!film->turn) {
      horizon::TurnOptions options;
      options.view_deg = frame->field_of_view_deg;
      options.view_sigma_part = frame->field_of_view_known ? kKnownView : kGuessedView;
      film->turn = std::make_unique<horizon::FilmedTurn>(options);
    }
    const auto step = film->turn->add({frame->width, frame->height, 4, frame->rgba.data()}, pose);
    std::optional<horizon::TurnSkyline> skyline;
    if (step.looked) skyline = film->turn->skyline();
    return [this, film, step, skyline = std::move(skyline)] {
      if (film != film_) return;  // begun anew meanwhile
      waiting_ = 0;
      step_ = step;
      if (skyline) skyline_ = std::move(*skyline);
    };
  });
}

}  // namespace app
