// survey/exchange/programme.h: what does a programme of many sites keep of each, and how do several people add to it?
// Where:   a GeoPackage, or a PostgreSQL database with PostGIS ("postgresql://..."); the same tables
//          in both, docs/formats.md, "The programme"
// States:  what is known of a site is a state, told apart by the stamp of all it holds. A server
//          only ever adds states, so that nothing is lost and a role without the right to change
//          will do; its views show the newest. A GeoPackage keeps the newest alone
// Threads: of several programs that write at once one is first; the others hear of it (`put`) and
//          begin with what it left. A program that is killed leaves a whole state or none
// Units:   in the columns' names; low and high hold 90 %
#pragma once

#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "horizon/result.h"
#include "survey/book/model.h"

namespace survey {

struct Figure {
  std::optional<double> value, low, high;
};

struct ProgrammeSite {
  Id site_id;
  std::string name;
  std::optional<double> latitude_deg, longitude_deg, height_m;
  std::string station;  // the main one, which the figures are for
  int visits = 0, stations = 0, sightings = 0, photos = 0;
  std::optional<Moment> last_visit;
  bool visit_ended = false;
  double arrive_done = 0, skyline_done = 0, ground_done = 0, light_done = 0, hand_over_done = 0;
  double sighted_share = 0;
  bool headings_disagree = false;
  std::string sky, sky_source;  // "clear sky", "monthly normals", "weather file"
  Figure winter_sun_h, shortest_day_h, gain_kwh_m2, facing_deg, tilt_deg;
  Figure coldest_inside_c, coldest_outside_c, frost_depth_m, crops_living;
  std::optional<int> crops_asked;
  std::string water_source, access_way, permit_needed;
  std::optional<double> water_distance_m, water_flow_l_min, access_distance_m, access_slope_percent,
      lane_width_m, power_distance_m, drain_distance_m, setback_m, ground_snow_kn_m2, slope_deg,
      water_table_m, rock_m;
  std::optional<bool> water_in_winter, access_in_winter;
  int speaks_for = 0, speaks_against = 0, unsure = 0, not_known = 0;  // lines of the verdict
  int questions = 0, conflicts = 0;  // open; entries in which two copies differ
  std::string content_sha256, file_name, software, language;
};

struct ProgrammeCrop {
  std::string crop;
  double lives_share = 0, low = 0, high = 0;  // of the winters; the range is that of a count
  int winters = 0;
};
struct ProgrammeVerdict {
  std::string criterion, stance, text, evidence;
  double weight = 0;
  std::string about, figures;  // the same for other languages: what it is about, a JSON list in SI
};
struct ProgrammeQuestion {
  std::string about, text;  // a stop of the walk, "ground" or "copies"
  std::string key;          // of the task, or TABLE/ID/COLUMN where copies differ
};
struct ProgrammePhoto {
  Id photo_id;
  std::string label;
  std::optional<Moment> taken;
  std::optional<double> latitude_deg, longitude_deg, bearing_deg;
  std::string sha256;  // of the original; names its thumbnail
};

struct ProgrammeState {
  ProgrammeSite site;
  std::vector<ProgrammeCrop> crops;
  std::vector<ProgrammeVerdict> verdict;
  std::vector<ProgrammeQuestion> questions;
  std::vector<ProgrammePhoto> photos;
};

struct Thumbnail {
  std::string sha256, jpeg;
};

// A site's rows as they are kept for the next copy to be merged with (survey/exchange/programme_copy.h).
struct KeptSite {
  std::int64_t state_no = 0;
  std::string stamp;
  std::string packed;
  std::string weather_name, weather_packed;
};

class ProgrammeSql;  // survey/exchange/programme_sql.h

class Programme {
 public:
  enum class Open : std::uint8_t { read, add };  // add: made where there is none
  static horizon::Result<Programme> open(const std::string& where, Open how);
  Programme(Programme&&) noexcept;
  ~Programme();

  bool is_server() const;
  const std::vector<horizon::Error>& remarks() const { return remarks_; }  // of opening

  // Has this copy been taken in already?
  horizon::Result<bool> knows(const Id& site_id, const std::string& copy_sha256) const;
  horizon::Result<std::optional<KeptSite>> kept(const Id& site_id) const;
  // The state that follows `follows` (0: the first) with the copy it came from. False: somebody put
  // another in between, and nothing was written. A state that is there already is not put again.
  horizon::Result<bool> put(const ProgrammeState& state, const KeptSite& kept, std::int64_t follows,
                            const std::string& copy_sha256, const std::vector<Thumbnail>& pictures);
  // Several programs share the work: true where no other is at this site. Of a GeoPackage always.
  horizon::Result<bool> claim(const Id& site_id);
  horizon::Result<void> release(const Id& site_id);

  // The newest state of each site, by name. details: with all that belongs to it.
  horizon::Result<std::vector<ProgrammeState>> sites(bool details) const;
  horizon::Result<ProgrammeState> site(const Id& site_id) const;  // with details; not_found
  horizon::Result<std::string> thumbnail(const std::string& sha256) const;  // empty: none

 private:
  explicit Programme(std::unique_ptr<ProgrammeSql> sql);
  std::vector<ProgrammeState> read(bool details, const std::optional<Id>& only) const;
  std::unique_ptr<ProgrammeSql> sql_;
  std::vector<horizon::Error> remarks_;
};

// Of all that a state says, but for when it was worked out.
std::string stamp_of(const ProgrammeState& state);

}  // namespace survey
