// adret-cli contact: one moment as a point of the ridge. adret-cli contacts: what a site's contacts
// and diary say, when the light is due next, which days and nights are worth watching.
#include <algorithm>
#include <chrono>
#include <cmath>
#include <cstdio>
#include <memory>
#include <nlohmann/json.hpp>

#include "app/cli/cli.h"
#include "app/words/sentence.h"
#include "horizon/skyline/contact_plan.h"
#include "horizon/sun/refraction.h"
#include "horizon/sun/sun.h"
#include "survey/assess/station_skyline.h"

namespace app {
namespace {

using Json = nlohmann::ordered_json;
using horizon::Contact;

double now_utc_s() {
  using namespace std::chrono;
  return std::floor(duration<double>(system_clock::now().time_since_epoch()).count());
}

void print(const Json& answer) {
  std::printf("%s\n", answer.dump(2, ' ', false, Json::error_handler_t::replace).c_str());
}

Json point_json(const Contact& contact) {
  return {{"azimuth_true_deg", contact.azimuth.degrees()},
          {"elevation_deg", contact.elevation.degrees()},
          {"azimuth_sigma_deg", contact.azimuth_sigma_deg},
          {"elevation_sigma_deg", contact.elevation_sigma_deg},
          {"line_sigma_deg", contact.line_sigma_deg},
          {"ridge_slope_deg", contact.slope.slope_deg},
          {"ridge_slope_sigma_deg", contact.slope.sigma_deg},
          {"body_azimuth_true_deg", contact.body_azimuth.degrees()},
          {"body_elevation_deg", contact.body_elevation.degrees()},
          {"semidiameter_deg", contact.semidiameter_deg}};
}

// ---- contact

struct ContactOptions : PlaceOptions {
  std::string utc, body = "sun", limb = "edge", light = "went";
  double slope_deg = 0, slope_sigma_deg = horizon::RidgeSlope{}.sigma_deg;
  std::optional<double> pressure_hpa, temperature_c;
  double reading_sigma_s = 5, clock_sigma_s = 2;
  bool json = false;
};

void run_contact(const ContactOptions& options) {
  check_place(options.place);
  horizon::ContactReading reading;
  const auto body = horizon::body_named(options.body);
  if (!body) stop_bad_input("error.contact_body_option", "--body " + options.body);
  const auto touch = horizon::touch_named(options.limb);
  if (!touch) stop_bad_input("error.contact_limb_option", "--limb " + options.limb);
  if (options.light != "came" && options.light != "went")
    stop_bad_input("error.contact_light_option", "--light " + options.light);
  if (!(std::abs(options.slope_deg) < 90) || !(options.slope_sigma_deg >= 0))
    stop_bad_input("error.ridge_slope_range", "--slope-deg");
  reading.body = *body;
  reading.touch = *touch;
  reading.came = options.light == "came";
  reading.utc_s = value_or_stop(horizon::parse_utc_s(options.utc));
  reading.place = options.place;
  reading.reading_sigma_s = options.reading_sigma_s;
  reading.clock_sigma_s = options.clock_sigma_s;
  if (options.pressure_hpa || options.temperature_c) {
    horizon::Air air = horizon::standard_air(options.place.height_m);
    air.pressure_hpa = options.pressure_hpa.value_or(air.pressure_hpa);
    air.temperature_c = options.temperature_c.value_or(air.temperature_c);
    reading.air = air;
  }
  const Contact contact =
      value_or_stop(horizon::contact_point(reading, {options.slope_deg, options.slope_sigma_deg}));
  if (options.json) {
    Json json = {{"utc", horizon::format_utc(reading.utc_s, 3)},
                 {"body", options.body},
                 {"limb", options.limb},
                 {"light", options.light}};
    json.update(point_json(contact));
    return print(json);
  }
  std::printf("The ridge there: true azimuth %.3f deg, elevation %.3f deg\n",
              contact.azimuth.degrees(), contact.elevation.degrees());
  std::printf("  standard deviation %.3f and %.3f deg; of the line at that azimuth %.3f deg\n",
              contact.azimuth_sigma_deg, contact.elevation_sigma_deg, contact.line_sigma_deg);
  std::printf("Never look at the sun: watch the shadow of a peg.\n");
}

// ---- contacts

struct ContactsOptions {
  std::string site, station, from, moon_year;
  int days = 120;
  bool json = false;
};

struct Asked {
  survey::StationSkyline at;
  horizon::Mask mask;
  horizon::Air air;
  double utc_offset_h = 0, from_utc_s = 0;
};

std::string obstacle_name(const Asked& asked, int obstacle) {
  if (obstacle < 0) return "";
  return asked.at.skyline().obstacles[obstacle].label;
}

Json expected_json(const Asked& asked, const horizon::ExpectedContact& c) {
  return {{"utc", horizon::format_utc(c.utc_s)},
          {"local", horizon::format_clock(c.utc_s, asked.utc_offset_h)},
          {"body", std::string(horizon::name_of(c.body))},
          {"light", c.came ? "comes" : "goes"},
          {"azimuth_true_deg", c.azimuth_deg},
          {"elevation_deg", c.elevation_deg},
          {"obstacle", obstacle_name(asked, c.obstacle)},
          {"not_aimed_at", c.open}};
}

Json contacts_json(const Asked& asked) {
  Json list = Json::array();
  const auto& contacts = asked.at.contacts;
  for (std::size_t i = 0; i < contacts.evidence.size(); ++i) {
    const auto& reading = contacts.evidence[i].reading;
    const auto& fitted = contacts.fit.contacts[i];
    Json one = {{"utc", horizon::format_utc(reading.utc_s, 3)},
                {"body", std::string(horizon::name_of(reading.body))},
                {"limb", std::string(horizon::name_of(reading.touch))},
                {"light", reading.came ? "came" : "went"},
                {"from_diary", contacts.origins[i].diary},
                {"used", fitted.used()}};
    if (fitted.contact) one.update(point_json(*fitted.contact));
    if (!fitted.used()) {
      one["fault"] = std::string(horizon::name_of(fitted.fault));
      one["message"] = words_of(fitted.why);
      one["off_deg"] = fitted.off_deg;
      one["late_s"] = fitted.off_s;
      if (fitted.fits_days != 0) one["fits_days_later"] = fitted.fits_days;
    }
    list.push_back(std::move(one));
  }
  return list;
}

Json dark_days_json(const Asked& asked) {
  Json list = Json::array();
  const auto& contacts = asked.at.contacts;
  for (std::size_t i = 0; i < contacts.fit.dark.size(); ++i) {
    const auto& day = contacts.fit.dark[i];
    const bool used = day.fault == horizon::ContactFault::none;
    Json one = {{"noon_utc", horizon::format_utc(day.day.noon_utc_s)}, {"used", used}};
    if (!used) one["message"] = words_of(day.why);
    list.push_back(std::move(one));
  }
  return list;
}

Json answer_of(const Asked& asked, const ContactsOptions& options) {
  const auto& at = asked.at;
  Json json = {{"station", at.station.name},
               {"contacts", contacts_json(asked)},
               {"days_without_sun", dark_days_json(asked)}};
  Json notes = Json::array();
  for (const auto& note : at.notes)
    notes.push_back({{"where", note.where}, {"message", words_of(note)}});
  json["notes"] = notes;
  Json turns = Json::array();
  for (const auto& heading : at.instruments)
    turns.push_back(
        {{"instrument", heading.instrument},
         {"turned_clockwise_deg", heading.correction.offset_deg},
         {"sigma_deg", heading.correction.sigma_deg},
         {"checks_used", heading.correction.used},
         {"by_contacts", std::ranges::find(heading.checks, "") != heading.checks.end()}});
  json["instruments"] = turns;
  Json against = Json::array();
  for (const auto& d : at.contacts.disagreements)
    against.push_back({{"contact", at.contacts.origins[d.contact].name},
                       {"aims_above_deg", d.off_deg},
                       {"sigma_deg", d.sigma_deg}});
  json["aims_against_contacts"] = against;
  const horizon::Date first = horizon::date_of(asked.from_utc_s, asked.utc_offset_h);
  const auto next =
      horizon::next_contact(horizon::Body::sun, asked.from_utc_s, at.eye, asked.air, asked.mask);
  json["next_sun"] = next ? expected_json(asked, *next) : Json(nullptr);
  const auto moon =
      horizon::next_contact(horizon::Body::moon, asked.from_utc_s, at.eye, asked.air, asked.mask);
  json["next_moon"] = moon ? expected_json(asked, *moon) : Json(nullptr);
  const auto spell = horizon::sun_return(first, asked.utc_offset_h, at.eye, asked.air, asked.mask);
  json["sunless"] = {
      {"now", spell.now_without},
      {"last_day_with_sun", spell.gone ? Json(horizon::format_date(*spell.gone)) : Json(nullptr)},
      {"sun_back", spell.back ? Json(horizon::format_date(*spell.back)) : Json(nullptr)}};
  Json watch = Json::array();
  for (const auto& d : horizon::days_to_watch(at.skyline(), first, options.days, asked.utc_offset_h,
                                              at.eye, asked.air))
    watch.push_back({{"first", horizon::format_date(d.first)},
                     {"last", horizon::format_date(d.last)},
                     {"light", d.came ? "comes" : "goes"},
                     {"about_local", horizon::format_clock(d.about_utc_s, asked.utc_offset_h)},
                     {"azimuth_from_deg", d.from_azimuth_deg},
                     {"azimuth_to_deg", d.to_azimuth_deg},
                     {"doubt_min", d.doubt_min},
                     {"obstacle", obstacle_name(asked, d.obstacle)}});
  json["days_to_watch"] = watch;
  if (!options.moon_year.empty()) {
    const int year = std::atoi(options.moon_year.c_str());
    value_or_stop(horizon::check_sun_year(year));
    Json nights = Json::array();
    for (const auto& n :
         horizon::moon_nights(year, asked.utc_offset_h, at.eye, asked.air, asked.mask)) {
      Json contacts = Json::array();
      for (const auto& c : n.contacts) contacts.push_back(expected_json(asked, c));
      nights.push_back(
          {{"evening", horizon::format_date(n.evening)},
           {"lit_share", n.lit_share},
           {"declination_deg", n.declination_deg},
           {"highest_local", horizon::format_clock(n.highest_utc_s, asked.utc_offset_h)},
           {"highest_deg", n.highest_deg},
           {"beyond_winter_band_deg", n.off_band_deg},
           {"contacts", contacts}});
    }
    json["moon_nights"] = nights;
  }
  return json;
}

void print_words(const Json& json) {
  const auto text = [](const Json& value) {
    return value.is_null() ? std::string("none") : value.get<std::string>();
  };
  int used = 0;
  for (const auto& c : json["contacts"]) used += c["used"].get<bool>();
  std::printf("Station %s: %zu contacts, %d used\n", text(json["station"]).c_str(),
              json["contacts"].size(), used);
  for (const auto& c : json["contacts"])
    if (c["used"].get<bool>())
      std::printf("  %s %s %s: azimuth %.2f, elevation %.2f +- %.2f deg\n", text(c["utc"]).c_str(),
                  text(c["body"]).c_str(), text(c["light"]).c_str(),
                  c["azimuth_true_deg"].get<double>(), c["elevation_deg"].get<double>(),
                  c["line_sigma_deg"].get<double>());
  for (const auto& note : json["notes"])
    std::printf("  %s: %s\n", text(note["where"]).c_str(), text(note["message"]).c_str());
  for (const auto& turn : json["instruments"])
    if (turn["by_contacts"].get<bool>())
      std::printf("  %s turned by %+.2f +- %.2f deg, contacts among its checks\n",
                  text(turn["instrument"]).c_str(), turn["turned_clockwise_deg"].get<double>(),
                  turn["sigma_deg"].get<double>());
  for (const char* next : {"next_sun", "next_moon"})
    if (!json[next].is_null())
      std::printf("Next: the %s %s at %s (%s UTC), azimuth %.1f deg %s\n",
                  text(json[next]["body"]).c_str(), text(json[next]["light"]).c_str(),
                  text(json[next]["local"]).c_str(), text(json[next]["utc"]).c_str(),
                  json[next]["azimuth_true_deg"].get<double>(),
                  text(json[next]["obstacle"]).c_str());
  if (json["next_sun"].is_null()) std::printf("The sun neither comes nor goes in the next 20 h\n");
  if (!json["sunless"]["sun_back"].is_null())
    std::printf("Without sun after %s; the sun is due back on %s\n",
                text(json["sunless"]["last_day_with_sun"]).c_str(),
                text(json["sunless"]["sun_back"]).c_str());
  for (const auto& d : json["days_to_watch"])
    std::printf(
        "Worth watching %s to %s: the sun %s about %s, azimuth %.0f to %.0f deg %s (in doubt by %.0f min)\n",
        text(d["first"]).c_str(), text(d["last"]).c_str(), text(d["light"]).c_str(),
        text(d["about_local"]).c_str(), d["azimuth_from_deg"].get<double>(),
        d["azimuth_to_deg"].get<double>(), text(d["obstacle"]).c_str(),
        d["doubt_min"].get<double>());
  if (json.contains("moon_nights"))
    for (const auto& n : json["moon_nights"])
      std::printf("Night of %s: moon lit %.0f %%, highest %.1f deg at %s, %zu contacts\n",
                  text(n["evening"]).c_str(), 100 * n["lit_share"].get<double>(),
                  n["highest_deg"].get<double>(), text(n["highest_local"]).c_str(),
                  n["contacts"].size());
  std::printf("Never look at the sun: watch the shadow of a peg.\n");
}

void run_contacts(const ContactsOptions& options) {
  const auto book = value_or_stop(survey::FieldBook::open(options.site, survey::Access::read));
  survey::Station station = value_or_stop(survey::main_station(book));
  if (!options.station.empty()) {
    const auto all = value_or_stop(book.all<survey::Station>());
    const auto found = std::ranges::find(all, options.station, &survey::Station::name);
    if (found == all.end())
      stop_bad_input("error.no_station_of_name", "--station " + options.station);
    station = *found;
  }
  if (options.days < 1 || options.days > 400) stop_bad_input("error.days_ahead_range", "--days");
  Asked asked{value_or_stop(survey::station_skyline(book, station.id)), {}, {}, 0, 0};
  asked.mask = horizon::Mask(asked.at.skyline());
  asked.air = horizon::standard_air(asked.at.eye.height_m);
  asked.utc_offset_h = value_or_stop(book.site()).created.utc_offset_h;
  asked.from_utc_s =
      options.from.empty() ? now_utc_s() : value_or_stop(horizon::parse_utc_s(options.from));
  value_or_stop(horizon::check_sun_time(asked.from_utc_s));
  value_or_stop(horizon::check_sun_time(asked.from_utc_s + 400 * 86400.0));
  const Json answer = answer_of(asked, options);
  if (options.json)
    print(answer);
  else
    print_words(answer);
}

}  // namespace

void add_contacts(CLI::App& cli) {
  {
    auto options = std::make_shared<ContactOptions>();
    CLI::App* verb = cli.add_subcommand(
        "contact", "The point of the ridge that the light of sun or moon left or reached");
    add_place_options(*verb, *options);
    verb->add_option("--utc", options->utc, "The moment, such as 2027-01-14T09:41:07Z")->required();
    verb->add_option("--body", options->body, "sun or moon");
    verb->add_option("--limb", options->limb, "edge (first or last light), half, shadow or whole");
    verb->add_option("--light", options->light, "came or went");
    verb->add_option("--slope-deg", options->slope_deg, "Of the ridge, rising clockwise positive");
    verb->add_option("--slope-sigma-deg", options->slope_sigma_deg, "How sure that slope is")
        ->check(CLI::Range(0.0, 90.0));
    verb->add_option("--pressure-hpa", options->pressure_hpa, "At the station");
    verb->add_option("--temperature-c", options->temperature_c, "At the station");
    verb->add_option("--reading-sigma-s", options->reading_sigma_s, "Of the moment as read")
        ->check(within(survey::range::kReading_s));
    verb->add_option("--clock-sigma-s", options->clock_sigma_s, "Of the clock")
        ->check(within(survey::range::kReading_s));
    verb->add_flag("--json", options->json, "Machine-readable output");
    verb->callback([options] { run_contact(*options); });
  }
  auto options = std::make_shared<ContactsOptions>();
  CLI::App* verb = cli.add_subcommand(
      "contacts", "What the contacts and the diary of a site say, and what to watch next");
  verb->add_option("site", options->site, "The site file")->required();
  verb->add_option("--station", options->station, "Else the main one");
  verb->add_option("--from", options->from, "Look ahead from here, such as 2027-01-14 (else now)");
  verb->add_option("--days", options->days, "So many days ahead for the days worth watching");
  verb->add_option("--moon-year", options->moon_year, "List this year's nights for the moon");
  verb->add_flag("--json", options->json, "Machine-readable output");
  verb->callback([options] { run_contacts(*options); });
}

}  // namespace app
