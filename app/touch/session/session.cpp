#include "app/touch/session/session.h"

#include <algorithm>
#include <cmath>

#include "app/touch/practice/valley.h"
#include "app/words/sentence.h"
#include "app/words/words.h"
#include "survey/assess/assessment.h"
#include "survey/assess/plot_findings.h"

namespace app {
namespace {

enum Lane : int { kLive = 1, kFindings = 2, kOdds = 7 };

}  // namespace

struct Session::LiveKeeper {  // touched by jobs of the live lane only
  std::string key;
  std::unique_ptr<horizon::LiveStation> station;
  std::vector<DayPath> paths;
};

Session::Session(platform::Devices devices)
    : devices_(std::move(devices)),
      settings_path_(devices_.files->settings_file()),
      keeper_(std::make_shared<LiveKeeper>()) {
  settings = read_settings(settings_path_);
  set_language(settings.language);
  devices_.worker->on_failure([this](std::exception_ptr why) { failed(why); });
  begun_s_ = now_s();
  clear_unfinished();
  open_last_site();
}

Session::~Session() = default;

void Session::save_settings() {
  if (!settings_path_.empty()) write_settings(settings_path_, settings);
}

survey::Moment Session::now() const {
  const double utc = devices_.clock->utc_s();
  return {utc, devices_.clock->utc_offset_h(utc)};
}

double Session::standard_offset_h(double utc_s) const {
  constexpr double kHalfYear_s = 182 * 86400.0;
  const auto& clock = *devices_.clock;
  // Summer time is ahead, in either hemisphere; half a year on it is not kept.
  return std::min(clock.utc_offset_h(utc_s), clock.utc_offset_h(utc_s + kHalfYear_s));
}

double Session::wall_offset_h(double utc_s) const {
  const double site_h = site_.created.utc_offset_h;
  return std::abs(standard_offset_h(utc_s) - site_h) < 0.01 ? devices_.clock->utc_offset_h(utc_s)
                                                            : site_h;
}

horizon::Result<void> Session::told(horizon::Result<void> result) {
  if (!result) {
    problem = in_words(result.error());
    devices_.feedback->give(platform::Signal::refused);
  }
  return result;
}

// ---------------------------------------------------------------- the open site

void Session::load() {
  if (!book_) return;
  if (auto site = book_->site()) site_ = *site;
  if (auto stations = book_->all<survey::Station>()) stations_ = *stations;
  visit_.reset();
  if (auto visits = book_->all<survey::Visit>(); visits && !visits->empty())
    visit_ = visits->back();
  derive();
}

void Session::changed() {
  load();
  post_live();
}

const survey::Station* Session::station() const {
  for (const auto& station : stations_)
    if (station.id == settings.station) return &station;
  return stations_.empty() ? nullptr : &stations_.front();
}

void Session::select_station(const survey::Id& id) {
  if (settings.station == id) return;
  settings.station = id;
  fixes_.clear();
  fixes_kept_ = 0;
  position_ = {};
  save_settings();
  changed();
}

horizon::Result<void> Session::add_station() {
  survey::Station station;
  station.id = survey::new_id();
  // A, B, ... Z, then numbers.
  station.name = stations_.size() < 26 ? std::string(1, char('A' + int(stations_.size())))
                                       : std::to_string(stations_.size() + 1);
  station.time = now();
  station.eye_height_m = settings.eye_height_m;
  if (visit_) station.visit_id = visit_->id;
  if (!stations_.empty()) station.position = stations_.back().position;
  station.horizontal_sigma_m.reset();
  station.main = stations_.empty();
  const auto id = station.id;
  if (auto put = book_->put(station); !put) return told(tl::unexpected(put.error()));
  load();
  select_station(id);
  return {};
}

horizon::Result<void> Session::put_station(survey::Station station) {
  if (auto put = book_->put(std::move(station)); !put) return told(tl::unexpected(put.error()));
  changed();
  return {};
}

horizon::Result<void> Session::put_visit(survey::Visit visit) {
  if (auto put = book_->put(visit); !put) return told(tl::unexpected(put.error()));
  visit_ = std::move(visit);
  return {};
}

void Session::rename_site(const std::string& name) {
  survey::Site site = site_;
  site.name = name;
  if (auto put = book_->put(site); !put)
    problem = in_words(put.error());
  else
    site_ = site;
  sites_known_ = false;
}

void Session::set_site_clock(double utc_offset_h) {
  survey::Site site = site_;
  site.created.utc_offset_h = utc_offset_h;
  if (auto put = book_->put(site); !put) {
    problem = in_words(put.error());
    return;
  }
  site_ = site;
  changed();
}

// ---------------------------------------------------------------- position

bool Session::has_position() const {
  const auto* s = station();
  return s && s->horizontal_sigma_m.has_value();
}

bool Session::stands_there() const {
  return has_position() &&
         (marks_ > 0 || station()->position_source != survey::PositionSource::map);
}

PositionWait Session::position_wait() const {
  constexpr double kFirst_s = 120, kNext_s = 30;
  const auto state = position_.status.state;
  const bool on =
      state == platform::DeviceState::starting || state == platform::DeviceState::running;
  if (!positioning_ || !on) return PositionWait::none;
  if (position_.fixes == 0)
    return now_s() - position_.asked_s < kFirst_s ? PositionWait::first : PositionWait::first_long;
  return position_.fixes < 5 && now_s() - position_.last_fix_s > kNext_s ? PositionWait::next_long
                                                                         : PositionWait::none;
}

void Session::start_position() {
  if (positioning_) return;
  positioning_ = true;
  position_.asked_s = now_s();
  devices_.position->start();
}

void Session::stop_position() {
  if (!positioning_) return;
  positioning_ = false;
  keep_position();
  devices_.position->stop();
}

// The mean goes into the file with the first fix and whenever it got clearly better, in one step
// with the fixes it rests on.
void Session::keep_position() {
  const auto* at = station();
  if (!book_ || !at || int(fixes_.size()) == fixes_kept_ || fixes_.empty()) return;
  survey::Station better = *at;
  better.position = position_.mean.position;
  better.position_source = survey::PositionSource::fixes;
  better.height_datum = survey::HeightDatum::ellipsoid;
  better.horizontal_sigma_m = position_.mean.horizontal_sigma_m;
  better.height_sigma_m = position_.mean.height_sigma_m;
  auto done = book_->change(tr("touch.position"), [&]() -> horizon::Result<void> {
    for (std::size_t i = std::size_t(fixes_kept_); i < fixes_.size(); ++i) {
      auto put = book_->put(fixes_[i]);
      if (!put) return tl::unexpected(put.error());
    }
    if (site_.position == survey::Position{}) {
      site_.position = better.position;
      if (auto put = book_->put(site_); !put) return tl::unexpected(put.error());
    }
    auto put = book_->put(better);
    if (!put) return tl::unexpected(put.error());
    return {};
  });
  if (!told(done)) return;
  fixes_kept_ = int(fixes_.size());
  changed();
}

std::optional<horizon::MagneticField> Session::field() const {
  const auto* s = station();
  if (!s || !has_position()) return {};
  const horizon::Place place{s->position.latitude_deg, s->position.longitude_deg,
                             s->position.height_m.value_or(0)};
  auto field = horizon::magnetic_field(place, horizon::decimal_year_of(now().utc_s));
  if (!field) return {};
  return *field;
}

double Session::declination_deg() const {
  if (skyline_ && skyline_->declination_deg) return *skyline_->declination_deg;
  if (site_.declination_deg) return *site_.declination_deg;
  const auto f = field();
  return f ? f->now.declination_deg : 0;
}

double Session::heading_offset_deg() const {
  if (!skyline_) return 0;
  for (const auto& each : skyline_->instruments)
    if (each.instrument == instrument_name()) return each.correction.offset_deg;
  return 0;
}

double Session::heading_sigma_deg() const {
  if (skyline_)
    for (const auto& each : skyline_->instruments)
      if (each.instrument == instrument_name() &&
          (each.correction.used > 0 || each.correction.disputed))
        return each.correction.sigma_deg;
  return horizon::HeadingRules{}.unchecked_sigma_deg;
}

// ---------------------------------------------------------------- what follows

void Session::derive() {
  skyline_.reset();
  checks_.clear();
  marks_ = 0;
  mask_ = horizon::Mask();
  if (!book_) return;
  change_ = book_->change_count();
  const auto* at = station();
  if (!at) return;
  if (auto checks = book_->where<survey::HeadingCheckRow>("station_id", at->id)) checks_ = *checks;
  if (auto derived = survey::station_skyline(*book_, at->id)) {
    skyline_ = std::move(*derived);
    mask_ = horizon::Mask(skyline_->skyline());
    marks_ = int(skyline_->skyline().points.size());
  } else {
    problem = in_words(derived.error());
  }
}

void Session::post_live() {
  if (!skyline_ || !has_position()) {
    live_.reset();
    return;
  }
  auto settings_read = survey::site_settings(*book_);
  if (!settings_read) return;
  auto input = survey::station_input(*settings_read, *skyline_);
  if (!horizon::check_station(input)) return;
  const std::string key = skyline_->station.id + std::to_string(input.place.latitude_deg) + "," +
                          std::to_string(input.place.longitude_deg) + "," +
                          std::to_string(input.place.height_m) + "," + std::to_string(input.year);
  devices_.worker->post(kLive, [this, key, input, keeper = keeper_]() -> platform::Worker::Done {
    if (keeper->key != key) {
      keeper->key = key;
      keeper->station.reset();
      keeper->paths =
          day_paths(horizon::SunPath::of_year(input.place, input.year, input.utc_offset_h));
    }
    LiveResults results;
    results.paths = keeper->paths;
    if (!input.skyline.points.empty()) {
      if (!keeper->station) keeper->station = std::make_unique<horizon::LiveStation>(input);
      results.live = keeper->station->update(input.skyline, 48);
    }
    return [this, results = std::move(results)] { live_ = results; };
  });
}

void Session::want_terrain() {
  if (!skyline_ || !has_position()) return terrain.leave();
  const auto settings_read = survey::site_settings(*book_);
  if (settings_read)
    terrain.want(*devices_.worker, *devices_.files, *skyline_,
                 survey::station_input(*settings_read, *skyline_));
}

const StationResults* Session::results_of(const survey::Id& id) const {
  for (const auto& [station, results] : results_)
    if (station == id) return &results;
  return nullptr;
}

void Session::want_results() {
  if (!book_ || results_asked_ == change_) return;
  results_asked_ = change_;
  const auto site = survey::assess(*book_);
  if (!site) {
    problem = in_words(site.error());
    return;
  }
  std::vector<std::pair<survey::Id, horizon::StationInput>> inputs;
  for (const auto& each : site->stations) {
    if (each.skyline().points.empty() || !each.station.horizontal_sigma_m) continue;
    auto input = survey::station_input(site->settings, each);
    if (auto sound = horizon::check_station(input); !sound) {
      problem = in_words(sound.error());
      continue;
    }
    inputs.emplace_back(each.station.id, std::move(input));
  }
  if (const auto* main = site->main()) {
    (void)book_->set_sketch(survey::sketch_of(main->skyline()));
    sites_known_ = false;
  }
  devices_.worker->post(kFindings,
                        [this, inputs, change = change_, hours = weather_hours_,
                         kept = weather_path()]() mutable -> platform::Worker::Done {
                          std::vector<std::pair<survey::Id, StationResults>> results;
                          const auto weather = hours->of(kept);
                          for (auto& [id, input] : inputs) {
                            if (weather) {
                              input.sky.weather = weather;
                              input.sky.source = horizon::SkySource::weather;
                            }
                            StationResults r;
                            r.input = input;
                            r.findings = horizon::findings_of(input);
                            const auto path = horizon::SunPath::of_year(input.place, input.year,
                                                                        input.utc_offset_h);
                            const auto masks = horizon::masks_of(input.skyline);
                            r.mask = masks.all;
                            r.sun_year = sun_year_chart(path, masks, input.skyline);
                            r.paths = day_paths(path);
                            results.emplace_back(id, std::move(r));
                          }
                          return [this, results = std::move(results), change] {
                            results_ = results;
                            results_for_ = change;
                          };
                        });
}

void Session::want_odds() {
  if (!book_ || results_stale() || odds_asked_ == results_for_) return;
  odds_asked_ = results_for_;
  odds_.clear();
  const auto site = survey::site_settings(*book_);
  if (!site) return;
  struct Asked {
    survey::Id id;
    horizon::StationInput input;
    horizon::TrueAzimuth facing;
  };
  std::vector<Asked> all;
  for (const auto& [id, r] : results_) all.push_back({id, r.input, r.findings.best_facing.value});
  devices_.worker->post(kOdds,
                        [this, all = std::move(all), of_site = *site,
                         asked = odds_asked_]() -> platform::Worker::Done {
                          std::map<survey::Id, horizon::Result<horizon::HouseFindings>> found;
                          for (const Asked& one : all)
                            found.emplace(one.id, house_winters(of_site, one.input, one.facing));
                          return [this, found = std::move(found), asked] {
                            if (asked == odds_asked_) odds_ = found;
                          };
                        });
}

const horizon::Result<horizon::HouseFindings>* Session::odds_of(const survey::Id& id) const {
  const auto at = odds_.find(id);
  return at == odds_.end() ? nullptr : &at->second;
}

void Session::want_house() {
  const auto* at = station();
  const StationResults* r = at && !results_stale() ? results_of(at->id) : nullptr;
  if (!r) return;
  const std::string weather = weather_path();
  const std::string state = site_.id + at->id + std::to_string(results_for_) + weather;
  if (house_.asked(state)) return;
  auto all = survey::assess(*book_);
  if (!all) return;
  HouseQuestion question{all->settings, r->input, r->findings.best_facing.value, {}, weather, {}};
  if (auto plot = plot_input(*book_, {}, &*all))
    question.plot = std::make_shared<const survey::PlotInput>(std::move(*plot));
  for (auto& other : all->stations)
    if (other.station.id != at->id) question.others.push_back(std::move(other));
  house_.want(*devices_.worker, site_.id + at->id, state, std::move(question));
}

void Session::saved() {
  signal_due_ = true;
  see_what_is_kept();
}

bool Session::see_what_is_kept() {
  if ((kept_marks_ == marks_ && !signal_due_) || !devices_.files->durable()) return false;
  kept_marks_ = marks_;
  if (signal_due_) devices_.feedback->give(platform::Signal::saved);
  signal_due_ = false;
  return true;
}

// The time of day was set meanwhile: marks keep the times they were given, and the user is told.
void Session::see_clock() {
  constexpr double kWorthTelling_s = 60;
  const horizon::ClockMark now{devices_.clock->utc_s(), devices_.clock->since_boot_s(),
                               devices_.clock->boot()};
  const auto passed = horizon::elapsed(clock_seen_, now);
  const bool first = clock_seen_.boot.empty();
  clock_seen_ = now;
  if (!first && passed && std::fabs(passed->clock_jump_s) > 1) receiver_ahead_s.reset();
  if (first || !book_ || !passed || std::fabs(passed->clock_jump_s) < kWorthTelling_s) return;
  problem = tr("session.clock_device_was_set_min", {number(passed->clock_jump_s / 60, 0)});
}

bool Session::poll() {
  constexpr double kRuns_s = 10;  // so long, and the start was a good one
  if (settings.starts > 0 && now_s() - begun_s_ > kRuns_s) {
    settings.starts = 0;
    save_settings();
  }
  see_clock();
  bool news = devices_.worker->collect();
  news |= see_what_is_kept();
  if (positioning_) {
    int took = 0;
    while (auto fix = devices_.position->poll()) {
      const auto* at = station();
      if (!at || ++took > 50) break;
      survey::Fix row;
      row.id = survey::new_id();
      row.station_id = at->id;
      row.time = now();
      row.position = {fix->place.latitude_deg, fix->place.longitude_deg, {}};
      if (fix->height_accuracy_m) row.position.height_m = fix->place.height_m;
      row.horizontal_sigma_m = std::max(fix->accuracy_m, 0.1);
      row.height_sigma_m = fix->height_accuracy_m;
      if (fix->clock_ahead_s)
        receiver_ahead_s = std::min(receiver_ahead_s.value_or(1e9), *fix->clock_ahead_s);
      fixes_.push_back(std::move(row));
      position_.last_fix_s = now_s();
    }
    if (took) {
      news = true;
      const double before = position_.mean.horizontal_sigma_m;
      position_.fixes = int(fixes_.size());
      if (auto mean = survey::mean_position(fixes_)) position_.mean = *mean;
      const bool better = position_.mean.horizontal_sigma_m < 0.8 * before;
      if (fixes_kept_ == 0 || better || fixes_.size() >= std::size_t(fixes_kept_) * 2)
        keep_position();
    }
    position_.status = devices_.position->status();
  }
  if (aiming_) {
    int took = 0;
    while (took < 20) {
      auto pose = devices_.attitude->poll();
      if (!pose) break;
      see_north(*pose);
      tracker_.add(*pose);
      poses_.push_back(*pose);
      while (poses_.size() > 1 && pose->time_s - poses_.front().time_s > 2) poses_.pop_front();
      ++took;
    }
    if (auto picture = devices_.camera->poll()) {
      film(*picture);
      camera_image_.width = picture->width;
      camera_image_.height = picture->height;
      camera_image_.rgba = std::move(picture->rgba);
      camera_ = std::move(picture);
      news = true;
    } else if (devices_.camera->status().state != platform::DeviceState::running) {
      camera_.reset();  // lost: the clean sight goes on
    }
    news |= took > 0;
  }
  std::string state;
  for (const auto& s :
       {devices_.position->status(), devices_.attitude->status(), devices_.camera->status()})
    state += std::to_string(int(s.state)) + s.problem;
  state += std::to_string(int(position_wait()));
  if (const auto a = aim(); aiming_ && a) state += std::to_string(int(a->fault));
  if (state != known_state_) {
    known_state_ = state;
    news = true;
  }
  return news;
}

}  // namespace app
