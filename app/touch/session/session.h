// app/touch/session/session.h: what the screens show and change: the open site, the station the observer
// stands at, the devices, and what follows from the marks.
// Units:   as the field book's
// Safety:  every change is in the site file when the call returns
// Threads: the frame's; findings are worked out by the worker and come back through poll()
#pragma once

#include <deque>
#include <exception>
#include <map>
#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "app/drawing/charts/sun_values.h"
#include "app/touch/session/aim.h"
#include "app/touch/session/handover_job.h"
#include "app/touch/session/house_job.h"
#include "app/touch/session/programme_keeper.h"
#include "app/touch/session/settings.h"
#include "app/touch/session/site_findings.h"
#include "app/touch/session/terrain_keeper.h"
#include "app/touch/session/turn_job.h"
#include "app/touch/session/weather_hours.h"
#include "app/words/sentence.h"
#include "horizon/bearing/declination.h"
#include "horizon/ground/percolation.h"
#include "horizon/light/findings.h"
#include "horizon/skyline/mask.h"
#include "platform/devices.h"
#include "survey/assess/station_input.h"
#include "survey/assess/station_skyline.h"
#include "survey/book/store.h"

namespace app {

// What the sun does at one station, ready to draw. Made by the worker.
struct StationResults {
  horizon::StationInput input;
  horizon::StationFindings findings;
  horizon::Mask mask;
  SunYearChart sun_year;
  std::vector<DayPath> paths;
};

struct LiveResults {
  std::optional<horizon::LiveStation::Live> live;  // nothing before the first mark
  std::vector<DayPath> paths;                      // of the sun, for the strip
};

// Averaging: what the receiver has given at this station so far.
struct PositionProgress {
  platform::DeviceStatus status;
  int fixes = 0;
  survey::MeanPosition mean;  // valid if fixes > 0
  double last_fix_s = -1;     // of the app's clock
  double asked_s = 0;         // since when the receiver runs, of the app's clock
};

enum class PositionWait : unsigned char { none, first, first_long, next_long };

struct Practice;  // app/touch/practice/valley.h
struct RealDevices;

class Session {
 public:
  explicit Session(platform::Devices devices);
  ~Session();

  Settings settings;
  void save_settings();
  platform::Devices& devices() { return devices_; }
  const platform::Devices& devices() const { return devices_; }
  double now_s() const { return devices_.clock->running_s(); }
  survey::Moment now() const;
  // The device's clock without summer time: what a new site's clock is.
  double standard_offset_h(double utc_s) const;
  // What a clock on the wall of the site shows: with summer time while the device is in its zone.
  double wall_offset_h(double utc_s) const;

  // ---- sites
  const survey::SiteList& sites();
  void refresh_sites() { sites_known_ = archived_known_ = programmes_known_ = false; }
  horizon::Result<void> new_site(const std::string& name);
  horizon::Result<void> open_site(const std::string& path);
  void close_site();
  horizon::Result<void> duplicate_site(const std::string& path);
  horizon::Result<void> archive_site(const std::string& path);  // into the folder "archive"
  horizon::Result<void> restore_site(const std::string& path);
  // A site, a programme, or a zip archive of sites and height grids (a valley's visits); sites that
  // are here already are left alone. What came of it, in words.
  horizon::Result<std::string> bring_sites(const platform::PickedFile& file);
  const survey::SiteList& archived();

  // The site that was open when the program ended by a fault, or that kept it from starting: it is
  // not opened by itself again. Empty: none.
  const std::string& suspect() const { return suspect_; }
  void check_suspect();  // by the worker
  const std::vector<std::string>& suspect_findings() const { return suspect_findings_; }
  // The file, and what lies beside it, as they are, to where people find what was made.
  horizon::Result<std::string> hand_over_as_it_is(const std::string& path);
  // Whatever was thrown while a site was shown: the site is closed (all is kept) and suspected.
  void gave_way(std::exception_ptr why);

  // ---- practice: a site in the made valley, with the valley's devices in place of the system's
  horizon::Result<void> start_practice();
  Practice* practice() { return practice_.get(); }  // null: this is real
  static bool is_practice(const std::string& path);

  bool has_site() const { return book_ != nullptr; }
  survey::FieldBook& book() { return *book_; }
  const survey::Site& site() const { return site_; }
  void rename_site(const std::string& name);
  void set_site_clock(double utc_offset_h);
  horizon::Result<void> put_site(survey::Site site);

  // ---- stations
  const std::vector<survey::Station>& stations() const { return stations_; }
  const survey::Station* station() const;
  void select_station(const survey::Id& id);
  horizon::Result<void> add_station();
  horizon::Result<void> put_station(survey::Station station);
  const survey::Visit* visit() const { return visit_ ? &*visit_ : nullptr; }
  horizon::Result<void> put_visit(survey::Visit visit);
  bool visit_is_over() const;  // it began on another day
  horizon::Result<void> begin_visit();

  // ---- position
  void start_position();
  void stop_position();
  const PositionProgress& position() const { return position_; }
  bool has_position() const;
  bool stands_there() const;           // a position that is not only the map's, or marks
  PositionWait position_wait() const;  // for the first fix; long: over 2 minutes, half a minute
  std::optional<horizon::MagneticField> field() const;  // of the model, at the station today
  double declination_deg() const;                       // 0 where not known
  // Adding this to the instrument's azimuth (declination taken in) gives the true one.
  double heading_offset_deg() const;
  double heading_sigma_deg() const;

  // ---- aiming
  void start_aiming();
  void stop_aiming();
  bool aiming() const { return aiming_; }
  std::optional<Aim> aim() const { return tracker_.aim(now_s()); }
  // The camera's newest picture while aiming; null where there is none.
  const platform::CameraPicture* camera_picture() const { return camera_ ? &*camera_ : nullptr; }
  const Image& camera_image() const { return camera_image_; }
  std::string instrument_name() const;
  bool direction_known(const Aim& aim) const;  // else the bearing is a turn from anywhere
  double true_azimuth_deg(const Aim& aim) const;
  horizon::Result<void> mark(const Aim& aim, horizon::Kind kind, const std::string& label);
  horizon::Result<void> mark_trace(const std::vector<Aim>& trace, horizon::Kind kind,
                                   const std::string& label);
  horizon::Result<void> mark_typed(double bearing_deg, bool back_bearing, double elevation_deg,
                                   horizon::Kind kind, const std::string& label);
  // One turn on the spot with the camera; its frames go to the worker while it runs.
  TurnJob turn;
  void start_turn();
  // The marks of what was found, in one step, as an instrument of their own: the sensors' heading
  // checks come over to it as far as they hold. Returns how many.
  horizon::Result<int> keep_turn();
  // How far the sun is from the middle of the picture; nothing where it is down, well behind a ridge
  // that was aimed at, or north unknown.
  std::optional<double> sun_off_deg(const Aim& aim) const;
  // Where north is unknown or in doubt only the sun's height is known: how far the aim is from it, and
  // nothing while the sun is down.
  std::optional<double> sun_height_off_deg(const Aim& aim) const;
  // What undo takes back, all that was saved at one moment: one mark, or those of a trace.
  struct Batch {
    std::vector<survey::Id> marks;
    double utc_s = 0;
    horizon::Kind kind = horizon::Kind::ridge;
    std::string label;
  };
  horizon::Result<Batch> undo_mark();     // no marks: a contact went
  std::vector<Batch> taken_back() const;  // at this station, the newest first
  horizon::Result<void> bring_back(const Batch& batch);
  // What was done at this station, the oldest first.
  struct Event {
    enum class What : unsigned char { mark, check, contact } what = What::mark;
    std::vector<survey::Id> rows;
    double utc_s = 0;
    std::string label;
    bool standing = true;
    bool undone = false;  // taken back, and not taken out by itself
  };
  std::vector<Event> timeline() const;
  // All up to that moment stands, all later is taken back; what was taken out by itself stays out.
  horizon::Result<void> stand_as_of(double utc_s);
  // Aimed at again: a new aim of the same kind and name; the old one is voided.
  horizon::Result<void> move_mark(const survey::Id& id, const Aim& aim);
  horizon::Result<void> void_mark(const survey::Id& id);
  horizon::Result<void> change_mark(const survey::Id& id, horizon::Kind kind,
                                    const std::string& label);
  int marks() const { return marks_; }  // at this station, not voided
  // Of these, how many would survive a power cut now; a moment behind in a browser.
  int kept_marks() const { return kept_marks_; }
  void saved();  // buzzes once what was just written is durable
  bool all_kept() const { return devices_.files->durable(); }
  horizon::Result<void> add_check(survey::HeadingCheckRow check);
  // The station's skyline as it would be with this check too; nothing is kept.
  horizon::Result<survey::StationSkyline> skyline_with(survey::HeadingCheckRow check);
  bool checks_disagree() const;
  const std::vector<survey::HeadingCheckRow>& checks() const { return checks_; }
  // The light of sun or moon came or went just now.
  horizon::Result<void> add_contact(horizon::Body body, horizon::Touch touch, bool came);
  horizon::Result<void> undo_contact();
  horizon::Result<void> void_contact(const survey::Id& id);
  std::optional<double> clock_ahead_s;  // of the true time, as compared in this session
  // By the position receiver: the least of its fixes, since each comes a little late.
  std::optional<double> receiver_ahead_s;
  horizon::Result<void> put_diary(survey::DiaryRow row);
  std::vector<std::string> labels(horizon::Kind kind) const;  // used so far

  // ---- what follows
  const survey::StationSkyline* skyline() const { return skyline_ ? &*skyline_ : nullptr; }
  const horizon::Mask& mask() const { return mask_; }
  const LiveResults* live() const { return live_ ? &*live_ : nullptr; }
  // Of every station with marks; null while they are being worked out.
  const std::vector<std::pair<survey::Id, StationResults>>& results() const { return results_; }
  // Odds of crops at each station by their few first winters, for comparison: asked for, then there.
  void want_odds();
  const horizon::Result<horizon::HouseFindings>* odds_of(const survey::Id& station) const;
  const StationResults* results_of(const survey::Id& id) const;
  void want_results();  // Light and Hand over ask for them
  bool results_stale() const { return results_for_ != change_; }

  // An unheated house at the station the observer stands at; asked for by Light.
  const HouseJob& house() const { return house_; }
  void want_house();

  SiteFindings other_sites;  // for comparison
  ProgrammeKeeper programmes;
  // Programmes of many sites that were brought here; newest first.
  const std::vector<std::string>& programme_files();
  TerrainKeeper terrain;
  void want_terrain();  // where a height grid was brought

  std::string weather_path() const;  // an hourly weather file kept beside this site; empty: none
  horizon::Result<void> bring_weather(const platform::PickedFile& file);

  HandOverJob& handover_job() { return handover_; }
  void start_handover(bool people = true);  // people: named in the files

  // Devices and worker; true where something shown may have changed.
  bool poll();
  bool busy() const { return devices_.worker->busy(); }
  // After any change to the book that did not go through a function above.
  void changed();
  std::string problem;  // of the last failure, in plain words; the screens show and clear it

 private:
  // False: only_new, and its site is here already.
  horizon::Result<bool> import_site(const platform::PickedFile& file, bool only_new);
  void say_reading(const Aim& aim);
  bool see_what_is_kept();
  horizon::Result<void> take_back(Event::What what, const survey::Id& id);
  horizon::Result<void> bring_forward(Event::What what, const survey::Id& id);
  void see_clock();
  void load();
  void derive();
  void post_live();
  horizon::Result<void> told(horizon::Result<void> result);
  void keep_position();
  void open_last_site();
  void clear_unfinished();
  void failed(std::exception_ptr why);

  void enter_practice();
  void leave_practice();

  platform::Devices devices_;
  std::shared_ptr<Practice> practice_;
  std::unique_ptr<RealDevices> real_;
  std::string suspect_;
  std::vector<std::string> suspect_findings_;
  double begun_s_ = 0;
  std::string settings_path_;
  survey::SiteList sites_, archived_;
  bool sites_known_ = false, archived_known_ = false, programmes_known_ = false;
  std::vector<std::string> programmes_;
  std::unique_ptr<survey::FieldBook> book_;
  survey::Site site_;
  std::vector<survey::Station> stations_;
  std::optional<survey::Visit> visit_;
  std::vector<survey::HeadingCheckRow> checks_;
  std::uint64_t change_ = 0, results_for_ = ~0ull, results_asked_ = ~0ull;
  std::optional<survey::StationSkyline> skyline_;
  horizon::Mask mask_;
  int marks_ = 0, kept_marks_ = 0;
  bool signal_due_ = false;
  PositionProgress position_;
  std::vector<survey::Fix> fixes_;
  int fixes_kept_ = 0;
  horizon::ClockMark clock_seen_;
  bool positioning_ = false, aiming_ = false;
  void see_north(const platform::Pose& pose);
  void film(const platform::CameraPicture& picture);
  std::string free_turn_name_;  // empty while north is known
  int free_turn_ = 0;
  AimTracker tracker_;
  std::deque<platform::Pose> poses_;  // of the last two seconds: a frame is older than it arrives
  std::optional<platform::CameraPicture> camera_;
  Image camera_image_;
  std::optional<LiveResults> live_;
  struct LiveKeeper;
  std::shared_ptr<LiveKeeper> keeper_;
  std::vector<std::pair<survey::Id, StationResults>> results_;
  std::map<survey::Id, horizon::Result<horizon::HouseFindings>> odds_;
  std::uint64_t odds_asked_ = ~0ull;
  std::shared_ptr<WeatherHours> weather_hours_ = std::make_shared<WeatherHours>();
  HandOverJob handover_;
  HouseJob house_;
  std::string known_state_;  // of the devices, to see a change
};

}  // namespace app
