// app/touch/screens/states.h: what each screen remembers while it is shown: what is typed, opened or
// chosen but not yet in the field book.
#pragma once

#include <functional>
#include <map>
#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "app/drawing/canvas.h"
#include "app/handover/programme_rank.h"
#include "app/touch/screens/ground_states.h"
#include "app/touch/session/aim.h"
#include "app/touch/session/relief_job.h"
#include "horizon/photo/camera.h"
#include "horizon/skyline/contact_plan.h"
#include "horizon/skyline/skyline.h"
#include "survey/assess/station_skyline.h"
#include "survey/book/model.h"

namespace app {

struct PhotoTrace;  // app/touch/session/photo_trace.h

struct SitesState {
  std::string search;
  std::string menu_path, menu_name;  // a site's menu is open
  bool menu_archived = false, show_archived = false, no_chooser = false;
};

struct ProgrammeScreenState {
  int source = 0;         // 0: this device; then the programmes that were brought
  int by = 0;             // of what is offered
  bool ordering = false;  // the orders are shown to choose from
  std::string search;
  survey::Id open;  // told in full
  // Worked out of these.
  std::string ordered_for, searched_for;
  std::vector<Ranked> order;
  std::vector<std::string> doubts, names;  // names in lower case, by site
  std::vector<std::size_t> shown;          // indices into order
  bool map = false;                        // instead of the list
  ReliefJob relief;
};

struct ArriveState {
  std::string name, position_text, position_problem, people, weather, cover;
  bool position_open = false, cautions_open = false;
  std::string loaded_for;  // the site whose words are in the fields
};

// A check that cannot be right, or that contradicts the others: waits for a second answer.
struct DoubtfulCheck {
  survey::HeadingCheckRow row;
  survey::StationSkyline then;  // what the skyline would be with it
  double off_deg = 0;           // of this check, as the compass reads
  bool too_far = false;         // beyond what this kind of compass can be off; else: contradicts
};

struct CheckState {
  std::optional<DoubtfulCheck> doubt;
  int kind = 0;    // 0 sun's shadow, 1 landmark, 2 terrain
  int method = 0;  // horizon::ShadowMethod
  std::string name, position_text, problem, bearing_text;
};

struct SkylineState {
  int kind = 0;  // horizon::Kind
  std::string label;
  double center_deg = 180, span_deg = 220;
  bool follow = true;
  bool keypad = false, label_open = false;
  int field = 0;  // of the keypad: 0 bearing, 1 elevation
  std::string bearing, elevation;
  bool back_bearing = false, proposed = false;  // the bearing was not typed
  double step_deg = 10;                         // from one typed mark to the next
  std::optional<double> last_bearing, last_elevation;
  double drawn_bearing = 0, drawn_elevation = 0;  // under the finger, before they are rounded
  int selected = -1;                              // point of the skyline
  bool by_itself = false;                         // marks when the hand is still on a new spot
  std::optional<Point> last_marked;               // azimuth and elevation as the sensor gave them
  std::string moving;                             // id of a mark that the next aim replaces
  std::vector<Aim> trace;
  bool tracing = false;
};

struct LightState {
  int view = 0;  // of the charts, where there is room for one
  bool glazing_open = false;
  int month = -1;  // told in full
};

struct PeopleState {
  bool open = false;  // one is being written
  std::string id, name, telephone, mail, consent, problem;
  int role = 0;
};

struct LinesState {
  bool open = false;
  survey::Path path;  // being drawn
  int kind = 0;       // of the choices
  std::string distance, bearing, position, problem;
  std::string hazard;  // whose place is being given; empty: a line's corner
};

struct HandOverState {
  bool people = true;  // go with it
  std::string problem;
  std::vector<std::string> made;
  survey::Id site;             // that it was asked for
  std::uint64_t made_for = 0;  // the field book's change count then
};

struct PhotoState {
  std::string id;
  Image picture;
  std::string loaded, note, bearing;
  bool lines = true, bearing_open = false;
};

struct TraceState {
  std::string id;  // of the photo whose picture is unpacked
  std::shared_ptr<const Image> picture;
  std::map<std::string, std::shared_ptr<PhotoTrace>>
      traces;                 // of this session's photos, by their ids
  int step = 0, kind = 1;     // horizon::Kind that the finger paints
  double from_px = 0;         // where the sweep began
  std::optional<Point> spot;  // in pixels: touched, not named yet
  std::string said;
  std::vector<horizon::Pixel> way;  // of the finger, since it came down
};

struct Score;  // app/touch/practice/score.h

struct PracticeState {
  std::shared_ptr<const Score> score;
  std::uint64_t scored_for = ~0ull;  // the book's change
  bool light_seen = false;
};

struct GuideState {
  int time = 1;  // of kVisitTimes_min
};

// A row that was taken out of a site since the app was started, and the way back.
struct TakenOut {
  std::string site, name;
  double utc_s = 0;
  std::function<bool()> bring_back;
};

struct HouseState {
  std::string loaded_for;                    // the site
  std::map<std::string, std::string> typed;  // by key
  std::string refused;                       // the key whose number cannot be
};

struct StationState {
  std::string eye, loaded_for;  // as typed, of that station
  double eye_before_m = 0;
};

struct DesignState {
  std::string facing, tilt, dirt, declination, declination_sigma, declination_source;
  std::string loaded_for;  // the site whose numbers are in the fields
};

struct ContactsState {
  std::optional<horizon::ExpectedContact> next;
  std::uint64_t looked_for = ~0ull;  // the book's change
  double looked_utc_s = 0;
  bool night = false;
  horizon::Touch touch = horizon::Touch::edge;  // what is watched for
  std::string clock;
};

struct DiaryState {
  std::string date, came, went, by, problem;
  int sky = 0;        // survey::DiarySky
  std::string asked;  // what the worker was asked for
  bool known = false;
  std::vector<horizon::DaysToWatch> days;
  horizon::SunReturn spell;
  std::vector<horizon::MoonNight> nights;
  std::vector<horizon::Obstacle> obstacles;
  std::uint64_t rows_for = ~0ull;
  std::vector<survey::DiaryRow> rows;
};

struct ScreenStates {
  SitesState sites;
  ProgrammeScreenState programme;
  ArriveState arrive;
  CheckState check;
  SkylineState skyline;
  GroundState ground;
  LightState light;
  HandOverState handover;
  PhotoState photo;
  TraceState trace;
  DesignState design;
  StationState station;
  ContactsState contacts;
  DiaryState diary;
  PeopleState people;
  LinesState lines;
  HouseState house;
  GuideState guide;
  PracticeState practice;
  std::vector<TakenOut> taken_out;

  // Closes the sheet that lies over the screen; false when there is none.
  bool close_sheet() {
    const bool open = skyline.keypad || skyline.label_open || skyline.selected >= 0 ||
                      !sites.menu_path.empty() || !programme.open.empty();
    skyline.keypad = skyline.label_open = false;
    skyline.selected = -1;
    sites.menu_path.clear();
    programme.open.clear();
    return open;
  }
};

}  // namespace app
