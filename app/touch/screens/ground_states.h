// app/touch/screens/ground_states.h: what the screens of the Ground stop remember while they are shown.
#pragma once

#include <array>
#include <cstdint>
#include <map>
#include <memory>
#include <optional>
#include <string>
#include <vector>

namespace survey {
struct GroundFindings;  // survey/assess/ground_findings.h
struct PlotFindings;    // survey/assess/plot_findings.h
}  // namespace survey

namespace app {

struct GroundState {
  std::string pit_id, layer_id, test_id;
  // Of the pit, as typed.
  std::string water, rock, note, loaded_pit;
  std::optional<double> water_m, rock_m;
  // Of the layer that is being added.
  std::string bottom, colour, stones, organic, ph, sand, silt, clay, roots, mottles, problem;
  int texture = -1;  // horizon::Texture
  int structure = -1, moisture = -1, firmness = -1;
  bool laboratory = false, more = false;
  std::vector<int> feel;   // answers so far
  std::string feel_found;  // the answers that led to `texture`
  bool feel_open = false;
  // Of the percolation test.
  std::string hole_depth, hole_width, soaked, level, refill;
  bool square = false, refilled = false;
  // The form that is open.
  survey::Topic topic = survey::Topic::water;
  std::map<std::string, std::string, std::less<>> form;  // as typed, by key
  std::string form_for;
  std::vector<std::string> climate;  // rows of twelve months, as typed
  std::string climate_for;
  int climate_row = 0, climate_shown = -1;
  bool climate_sites = false;  // the others are listed
  // Worked out.
  std::shared_ptr<const survey::GroundFindings> findings;
  std::uint64_t findings_for = 0;
  std::string findings_site;
  std::shared_ptr<const survey::PlotFindings> plot;
  std::string plot_asked, plot_problem;
  int plot_year = 0;  // 0: now; else one of plot->later, from 1
  // Of what will be built, as typed.
  std::string build_name, build_problem;
  std::array<std::string, 6> build_text;
  std::array<std::optional<double>, 6> build;
};

}  // namespace app
