// app/cli/cli.h: the verbs of adret-cli, one file each.
// Units:  every option's name carries its unit; text in, text or --json out
// Errors: bad input ends with exit code 2, a failure with 1; the message goes to standard error
#pragma once

#include <CLI/CLI.hpp>
#include <string>

#include "horizon/place.h"
#include "horizon/result.h"
#include "survey/book/ranges.h"
#include "survey/book/store.h"

namespace app {

// Thrown by a verb to end the program; `main` prints the message and returns the exit code.
struct Stop {
  int exit_code = 1;
  std::string message;
};
// The words and the exit code for an error: 1 if the system refused, else 2.
[[noreturn]] void stop(const horizon::Error& error);
[[noreturn]] void stop_bad_input(horizon::Sentence why, std::string where);

// Tells what is wrong or was taken for granted in a file, and goes on. `what`: "note: " or "".
void tell(const std::string& file, const horizon::Error& error, const char* what);
// Where a clock is farther from the sun's than any country's.
void tell_clock(const std::string& file, double utc_offset_h, double longitude_deg);

template <class T>
T value_or_stop(horizon::Result<T> result) {
  if (!result) stop(result.error());
  if constexpr (!std::is_void_v<T>) return std::move(*result);
}

// Opens and tells what opening remarked; true in `remarked` where rows were refused.
survey::FieldBook open_site(const std::string& path, survey::Access access,
                            bool* remarked = nullptr);
// Closes. All is kept whatever comes of it: another program that has the file open is only told.
void end_with(survey::FieldBook& book);

// Removes what killed runs left unfinished where `file` is to be written, and tells what it was.
void clear_folder_of(const std::string& file);

// --lat, --lon and --height-m, or --at with a position in any notation.
struct PlaceOptions {
  horizon::Place place;  // not a number until read
  bool has_height = false;
};
void add_place_options(CLI::App& verb, PlaceOptions& options);
// Given, finite, and within the Earth's ranges.
void check_place(const horizon::Place& place);

// The weather file to work with: the one given, none if "none", else the one kept beside the site.
std::string weather_to_use(const std::string& given, const survey::FieldBook& book);

// Of an option: what the one table of plausible ranges allows.
inline CLI::Range within(const survey::Range& range) { return {range.min, range.max}; }
// Every option of every verb: nothing empty is taken for 0, nothing endless for a number.
void refuse_empty_values(CLI::App& cli);

// Each adds its verb; the verb runs when the arguments have been read.
void add_compare(CLI::App& cli);
void add_contacts(CLI::App& cli);  // contact, contacts
void add_declination(CLI::App& cli);
void add_gather(CLI::App& cli);
void add_ground(CLI::App& cli);
void add_light(CLI::App& cli);
void add_moon(CLI::App& cli);
void add_site_verbs(CLI::App& cli);  // new, import, export, merge, check
void add_handover(CLI::App& cli);
void add_photo(CLI::App& cli);
void add_sun(CLI::App& cli);
void add_terrain(CLI::App& cli);
void add_valley(CLI::App& cli);

}  // namespace app
