#include "survey/exchange/weather_rows.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <complex>
#include <cstdio>

#include "horizon/angle.h"
#include "horizon/light/decomposition.h"
#include "horizon/light/solar_terms.h"
#include "survey/book/text.h"

namespace survey {
namespace {

using horizon::Code;
using horizon::fail;
using horizon::kDegree;
using horizon::Result;
using horizon::WeatherHour;

constexpr std::array<int, 12> kMonthDays = {31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31};
constexpr int kHours = 8760;
constexpr int kMostMissing = 876;            // a tenth of the year
constexpr double kMostRadiation_wm2 = 1500;  // above any hour's mean, clouds' edges included
constexpr int kMostOverbright = 50;          // hours above it: another unit, not a spike
constexpr double kDarkSun_deg = -8;          // of a whole hour: no light by then
constexpr double kDarkLight_wm2 = 30;
constexpr int kMostHot = 24;            // hours above 60 degrees: another unit, not a spike
constexpr double kLeastYear_kwh = 300;  // global, per m2; the dimmest inhabited places have 650
// The middle of the year's light against the sun's noon: haze, ridges and the middle of typical
// hours move it by minutes; a clock set wrong by an hour or more.
constexpr double kClockDoubt_h = 0.6, kClockWrong_h = 2.5;
constexpr double kClosureDoubt = 0.15;  // of global, against beam x sine + diffuse over the year

// How often something was met, and where first.
struct Count {
  int times = 0, line = -1;
  void see(int at) {
    if (times++ == 0) line = at;
  }
};

struct Light {
  std::optional<double> global, beam, diffuse;
};

struct Stamp {
  int year = 0, month = 0, day = 0, hour = 0;
};

int day_of_year(int month, int day) {
  for (int m = 1; m < month; ++m) day += kMonthDays[m - 1];
  return day;
}

// A field, unless it is absent or holds the layout's mark for a missing value.
std::optional<double> value_at(const std::vector<std::string>& fields, int column, double missing) {
  if (column < 0 || column >= static_cast<int>(fields.size())) return std::nullopt;
  const auto value = number_of(fields[column]);
  if (!value || *value >= missing || *value <= -999) return std::nullopt;
  return value;
}

std::optional<Stamp> epw_stamp(const std::vector<std::string>& fields) {
  double v[4];
  for (int i = 0; i < 4; ++i) {
    const auto value = number_of(fields[i]);
    if (!value || *value != std::floor(*value) || std::abs(*value) > 9999) return std::nullopt;
    v[i] = *value;
  }
  return Stamp{static_cast<int>(v[0]), static_cast<int>(v[1]), static_cast<int>(v[2]),
               static_cast<int>(v[3])};
}

// "01/31/1999" and "24:00".
std::optional<Stamp> tmy3_stamp(const std::vector<std::string>& fields) {
  Stamp s;
  int minute = 0;
  if (std::sscanf(fields[0].c_str(), "%2d/%2d/%4d", &s.month, &s.day, &s.year) != 3 ||
      std::sscanf(fields[1].c_str(), "%2d:%2d", &s.hour, &minute) != 2 || minute != 0)
    return std::nullopt;
  return s;
}

struct Sun {
  double elevation_deg, hour_angle_deg;
};

// Of the middle of the hour that ends at `hour`.
Sun sun_at(const horizon::WeatherYear& year, int day, int hour) {
  const double declination = horizon::declination_spencer_deg(day) * kDegree;
  const double solar_h = hour - 0.5 + (year.place.longitude_deg - 15 * year.utc_offset_h) / 15 +
                         horizon::equation_of_time_min(day) / 60;
  const double phi = year.place.latitude_deg * kDegree, w = (solar_h - 12) * 15 * kDegree;
  return {std::asin(std::sin(phi) * std::sin(declination) +
                    std::cos(phi) * std::cos(declination) * std::cos(w)) /
              kDegree,
          w / kDegree};
}

class Reader {
 public:
  Reader(WeatherFile& file, const WeatherColumns& columns, std::size_t least_fields)
      : file_(file), columns_(columns), least_fields_(least_fields), light_(kHours) {}

  Result<void> read() {
    file_.year.hours.assign(kHours, {});
    file_.line_of_hour.assign(kHours, -1);
    for (int i = file_.first_row; i < static_cast<int>(file_.lines.size()); ++i) take_row(i);
    if (auto ok = check_length(); !ok) return ok;
    if (auto ok = check_units(); !ok) return ok;
    if (auto ok = check_clock(); !ok) return ok;
    settle_light();
    if (auto ok = check_sums(); !ok) return ok;
    tell();
    return {};
  }

 private:
  std::string at_line(int index) const {
    const int moved =
        file_.rows_begin >= 0 && index >= file_.first_row ? file_.rows_begin - file_.first_row : 0;
    return "line " + std::to_string(index + moved + 1);
  }

  int first_hour() {
    if (!hours_from_) {
      bool zero = false, last = false;
      for (std::size_t i = file_.first_row; i < file_.lines.size(); ++i)
        if (const auto s = stamp_of(weather_fields(file_.lines[i]))) {
          zero = zero || s->hour == 0;
          last = last || s->hour == 24;
        }
      hours_from_ = zero && !last ? 0 : 1;
    }
    return *hours_from_;
  }

  std::optional<Stamp> stamp_of(const std::vector<std::string>& fields) const {
    if (fields.size() < 4) return std::nullopt;
    return file_.layout == WeatherFile::Layout::epw ? epw_stamp(fields) : tmy3_stamp(fields);
  }

  void take_row(int line) {
    const std::vector<std::string> fields = weather_fields(file_.lines[line]);
    auto stamp = stamp_of(fields);
    if (stamp && first_hour() == 0) ++stamp->hour;
    if (fields.size() < least_fields_ || !stamp || stamp->month < 1 || stamp->month > 12 ||
        stamp->hour < 1 || stamp->hour > 24)
      return unreadable_.see(line);
    if (stamp->month == 2 && stamp->day == 29) return leap_.see(line);
    if (stamp->day < 1 || stamp->day > kMonthDays[stamp->month - 1]) return unreadable_.see(line);
    const int day = day_of_year(stamp->month, stamp->day);
    const int slot = (day - 1) * 24 + stamp->hour - 1;
    if (file_.line_of_hour[slot] >= 0) return doubled_.see(line);
    if (slot < last_slot_) disorder_.see(line);
    last_slot_ = slot;
    file_.line_of_hour[slot] = line;
    int& year = years_[stamp->month - 1];
    if (year == 0) year = stamp->year;
    if (year != stamp->year) mixed_.see(line);
    WeatherHour& h = file_.year.hours[slot];
    h.year = stamp->year;
    h.month = stamp->month;
    h.day = stamp->day;
    h.hour = stamp->hour;
    light_[slot] = {radiation(fields, columns_.global, line),
                    radiation(fields, columns_.beam, line),
                    radiation(fields, columns_.diffuse, line)};
    take_air(fields, line, h);
  }

  std::optional<double> radiation(const std::vector<std::string>& fields, int column, int line) {
    auto value = value_at(fields, column, 9999);
    if (value && *value > kMostRadiation_wm2) {
      overbright_.see(line);
      brightest_ = std::max(brightest_, *value);
      return std::nullopt;
    }
    if (value && *value < 0) {
      if (*value < -20) negative_.see(line);  // a meter's own zero at night is a few below
      value = 0;
    }
    return value;
  }

  void take_air(const std::vector<std::string>& fields, int line, WeatherHour& h) {
    h.dry_bulb_c = value_at(fields, columns_.dry_bulb, 99.9);
    const auto raw = columns_.dry_bulb < static_cast<int>(fields.size())
                         ? number_of(fields[columns_.dry_bulb])
                         : std::nullopt;
    if (raw && *raw > 60 && std::abs(*raw - 99.9) > 0.05 && *raw < 500) {
      hot_.see(line);
      hottest_ = std::max(hottest_, *raw);
    }
    if (h.dry_bulb_c && *h.dry_bulb_c > 60) h.dry_bulb_c.reset();
    if (h.dry_bulb_c && *h.dry_bulb_c < -90) {
      cold_.see(line);
      h.dry_bulb_c.reset();
    }
    if (h.dry_bulb_c && *h.dry_bulb_c > 50) ++warm_;
    h.relative_humidity_percent = value_at(fields, columns_.humidity, 999);
    h.wind_from_deg = value_at(fields, columns_.wind_from, 999);
    h.wind_speed_ms = value_at(fields, columns_.wind_speed, 999);
    h.snow_depth_cm = value_at(fields, columns_.snow, 999);
    h.albedo = value_at(fields, columns_.albedo, 0.999);
    if (h.albedo && *h.albedo <= 0) h.albedo.reset();
    if (const auto tenths = value_at(fields, columns_.sky_cover, 11)) h.sky_cover = *tenths / 10;
    if (h.dry_bulb_c) ++air_hours_;
  }

  Result<void> check_length() {
    const int missing =
        static_cast<int>(std::count(file_.line_of_hour.begin(), file_.line_of_hour.end(), -1));
    const int last = static_cast<int>(file_.lines.size()) - 1;
    if (doubled_.times > kMostMissing)
      return fail(Code::bad_input, {"error.weather_hours_doubled", {doubled_.times}},
                  at_line(doubled_.line));
    if (missing > kMostMissing && unreadable_.times > kMostMissing)
      return fail(
          Code::bad_input,
          {"error.weather_rows_unreadable", {unreadable_.times, static_cast<int>(least_fields_)}},
          at_line(unreadable_.line));
    if (missing > kMostMissing)
      return fail(Code::bad_input, {"error.weather_few_hours", {kHours - missing}}, at_line(last));
    if (missing == 0) return {};
    for (int slot = 0, day = 1; slot < kHours; ++slot) {
      if (file_.line_of_hour[slot] >= 0) continue;
      day = slot / 24 + 1;
      WeatherHour& h = file_.year.hours[slot];
      h.hour = slot % 24 + 1;
      h.month = 1;
      h.day = day;
      while (h.day > kMonthDays[h.month - 1]) h.day -= kMonthDays[h.month++ - 1];
      h.year = years_[h.month - 1];
      if (absent_.times == 0) absent_from_ = {h.year, h.month, h.day, h.hour};
      absent_.see(file_.first_row);
    }
    return {};
  }

  Result<void> check_units() const {
    if (overbright_.times > kMostOverbright)
      return fail(Code::bad_input,
                  {"error.weather_radiation_unit",
                   {horizon::Arg::figure(brightest_, 0), overbright_.times}},
                  at_line(overbright_.line));
    if (hot_.times > kMostHot)
      return fail(Code::bad_input,
                  {"error.weather_too_hot",
                   {horizon::Arg::figure(hottest_, 1), hot_.times,
                    hottest_ > 200 ? "kelvin" : "Fahrenheit"}},
                  at_line(hot_.line));
    return {};
  }

  // Hours by which the middle of the light comes after the sun's noon, over the months given.
  std::optional<double> clock_error_h(int from_month, int to_month) const {
    std::complex<double> sum = 0;
    double all = 0;
    for (int slot = 0; slot < kHours; ++slot) {
      const WeatherHour& h = file_.year.hours[slot];
      if (h.month < from_month || h.month > to_month) continue;
      const Light& l = light_[slot];
      const double shine = l.global.value_or(0) > 0 ? *l.global : l.diffuse.value_or(0);
      sum += std::polar(shine, sun_at(file_.year, slot / 24 + 1, h.hour).hour_angle_deg * kDegree);
      all += shine;
    }
    // Where the sun circles all day there is no middle.
    if (all <= 0 || std::abs(sum) < 0.2 * all) return std::nullopt;
    return std::arg(sum) / kDegree / 15;
  }

  Result<void> check_clock() {
    const auto off = clock_error_h(1, 12);
    if (!off) return {};
    if (std::abs(*off) > kClockWrong_h)
      return fail(Code::bad_input,
                  {*off > 0 ? "error.weather_noon_late" : "error.weather_noon_early",
                   {horizon::Arg::figure(std::abs(*off), 1),
                    horizon::Arg::figure(file_.year.place.longitude_deg, 2),
                    horizon::Arg::figure(file_.year.utc_offset_h, 1)}},
                  at_line(0));
    if (std::abs(*off) > kClockDoubt_h)
      note(0, {*off > 0 ? "error.weather_noon_late_doubtful" : "error.weather_noon_early_doubtful",
               {horizon::Arg::figure(std::abs(*off), 1)}});
    else if (const auto winter = clock_error_h(11, 12), summer = clock_error_h(5, 8);
             winter && summer && std::abs(*winter - *summer) > 0.7)
      note(0,
           {"error.weather_summer_time", {horizon::Arg::figure(std::abs(*winter - *summer), 1)}});
    return {};
  }

  // The same hour of the days around, the nearest that has light, both sides' mean.
  std::optional<double> borrowed(int slot) const {
    for (int days = 1; days <= 30; ++days) {
      double sum = 0;
      int n = 0;
      for (int side : {-1, 1}) {
        const int other = (slot + side * days * 24 + kHours) % kHours;
        if (light_[other].global) {
          sum += *light_[other].global;
          ++n;
        }
      }
      if (n > 0) return sum / n;
    }
    return std::nullopt;
  }

  void settle_light() {
    double global_sum = 0, diffuse_sum = 0;
    for (const Light& l : light_) {
      global_sum += l.global.value_or(0);
      diffuse_sum += l.diffuse.value_or(0);
    }
    if (global_sum == 0 && diffuse_sum > 0)  // some makers leave the sum to the reader
      for (Light& l : light_) l.global.reset();
    for (int slot = 0; slot < kHours; ++slot) {
      const int line = std::max(file_.line_of_hour[slot], file_.first_row);
      const double elevation = sun_at(file_.year, slot / 24 + 1, slot % 24 + 1).elevation_deg;
      Light& l = light_[slot];
      if (elevation < kDarkSun_deg) {
        if (std::max({l.global.value_or(0), l.beam.value_or(0), l.diffuse.value_or(0)}) >
            kDarkLight_wm2)
          dark_.see(line);
        l = {0.0, 0.0, 0.0};
      } else if (!l.global && l.beam && l.diffuse) {
        summed_.see(line);
        l.global = *l.beam * std::max(0.0, std::sin(elevation * kDegree)) + *l.diffuse;
      } else if (!l.global && elevation > 0) {
        filled_.see(line);
        l = {borrowed(slot), {}, {}};
      }
      WeatherHour& h = file_.year.hours[slot];
      h.global_horizontal_wm2 = l.global.value_or(0);
      if (!l.beam || !l.diffuse) {
        if (h.global_horizontal_wm2 > 0) split_.see(line);
        const horizon::Irradiance parts = horizon::erbs_split(
            h.global_horizontal_wm2, 90 - elevation,
            horizon::kSolarConstant_wm2 * horizon::distance_factor(slot / 24 + 1));
        l.beam = parts.beam_normal_wm2;
        l.diffuse = parts.diffuse_horizontal_wm2;
      }
      h.beam_normal_wm2 = *l.beam;
      h.diffuse_horizontal_wm2 = *l.diffuse;
    }
  }

  Result<void> check_sums() {
    double global = 0, gap = 0;
    for (int slot = 0; slot < kHours; ++slot) {
      const WeatherHour& h = file_.year.hours[slot];
      const double sine = std::max(
          0.0, std::sin(sun_at(file_.year, slot / 24 + 1, h.hour).elevation_deg * kDegree));
      global += h.global_horizontal_wm2 / 1000;
      gap +=
          std::abs(h.global_horizontal_wm2 - h.beam_normal_wm2 * sine - h.diffuse_horizontal_wm2) /
          1000;
    }
    if (filled_.times > kMostMissing)
      return fail(Code::bad_input, {"error.weather_radiation_missing", {filled_.times}},
                  at_line(filled_.line));
    if (global < kLeastYear_kwh)
      return fail(Code::bad_input,
                  {"error.weather_little_radiation", {horizon::Arg::figure(global, 0)}},
                  at_line(file_.first_row));
    if (gap > kClosureDoubt * global)
      note(file_.first_row,
           {"error.weather_parts_differ", {horizon::Arg::figure(100 * gap / global, 0)}});
    return {};
  }

  void note(int line, horizon::Sentence what) {
    file_.notes.push_back({Code::bad_input, std::move(what), at_line(line)});
  }
  void note(const Count& count, const char* key) {
    if (count.times > 0) note(count.line, {key, {count.times}});
  }

  void tell() {
    if (absent_.times > 0)
      note(file_.first_row,
           {"error.weather_hours_absent",
            {absent_.times, absent_from_.day, absent_from_.month, absent_from_.hour}});
    if (first_hour() == 0) note(file_.first_row, "error.weather_hours_from_0");
    note(leap_, "error.weather_leap_day_left_out");
    note(unreadable_, "error.weather_rows_left_out");
    note(doubled_, "error.weather_hours_twice");
    if (disorder_.times > 0) note(disorder_.line, "error.weather_out_of_order");
    note(mixed_, "error.weather_year_changes");
    note(overbright_, "error.weather_overbright");
    note(negative_, "error.weather_radiation_negative");
    note(dark_, "error.weather_dark");
    note(summed_, "error.weather_summed");
    note(filled_, "error.weather_filled");
    note(split_, "error.weather_split");
    note(hot_, "error.weather_hot");
    note(cold_, "error.weather_cold");
    if (warm_ > 200) note(file_.first_row, {"error.weather_fahrenheit", {warm_}});
    if (const int gaps = kHours - air_hours_; gaps > 0)
      note(file_.first_row, {"error.weather_temperature_gaps", {gaps}});
    if (std::all_of(years_.begin(), years_.end(), [&](int y) { return y == years_[0]; }))
      note(file_.first_row, {"error.weather_one_year", {years_[0]}});
  }

  WeatherFile& file_;
  WeatherColumns columns_;
  std::size_t least_fields_;
  std::vector<Light> light_;
  std::array<int, 12> years_{};
  std::optional<int> hours_from_;
  int last_slot_ = -1, warm_ = 0, air_hours_ = 0;
  double brightest_ = 0, hottest_ = 0;
  Stamp absent_from_;
  Count absent_, leap_, unreadable_, doubled_, disorder_, mixed_, overbright_, negative_, dark_,
      summed_, filled_, split_, hot_, cold_;
};

}  // namespace

std::vector<std::string> weather_fields(std::string_view line) {
  std::vector<std::string> fields(1);
  bool quoted = false;
  for (char c : line) {
    if (c == '"') {
      quoted = !quoted;
    } else if (c == ',' && !quoted) {
      fields.emplace_back();
    } else {
      fields.back() += c;
    }
  }
  for (std::string& field : fields) field = std::string(trimmed(field));
  return fields;
}

Result<void> read_weather_rows(WeatherFile& file, const WeatherColumns& columns,
                               std::size_t least_fields) {
  return Reader(file, columns, least_fields).read();
}

}  // namespace survey
