#include "app/handover/handover.h"

#include <algorithm>
#include <filesystem>
#include <functional>
#include <memory>
#include <optional>
#include <tuple>
#include <utility>

#include "app/drawing/cairo_canvas.h"
#include "app/drawing/charts/light_charts.h"
#include "app/handover/sections.h"
#include "app/handover/site_plan.h"
#include "app/handover/surfaces.h"
#include "app/handover/zip.h"
#include "app/words/words.h"
#include "horizon/parallel.h"
#include "survey/book/text.h"
#include "survey/exchange/exchange.h"
#include "survey/exchange/plan_files.h"
#include "survey/exchange/weather_adjusted.h"
#include "survey/exchange/weather_file.h"

namespace app {
namespace {

namespace fs = std::filesystem;
using horizon::Code;
using horizon::fail;
using horizon::Result;

// The hidden folder that is gone at the end, come what may; with it the out folder, if it was made
// for this and stayed empty.
class Workplace {
 public:
  static Result<Workplace> in(const std::string& out_folder) {
    std::error_code error;
    const bool made = !fs::exists(out_folder, error);
    fs::create_directories(out_folder, error);
    if (error) return tl::unexpected(survey::disk_error(out_folder, error.value()));
    survey::clear_leftovers(out_folder);  // of a hand-over that was killed
    auto folder = survey::Unfinished::folder((fs::path(out_folder) / "handover").string());
    if (!folder) return tl::unexpected(folder.error());
    return Workplace(std::move(*folder), made ? out_folder : "");
  }
  Workplace(Workplace&& other) noexcept
      : folder_(std::move(other.folder_)), made_out_(std::exchange(other.made_out_, "")) {}
  Workplace& operator=(Workplace&&) = delete;
  ~Workplace() {
    folder_.reset();
    std::error_code ignored;
    if (!made_out_.empty()) fs::remove(made_out_, ignored);  // only where it is empty
  }
  std::string at(const std::string& name) const {
    return (fs::path(folder_->path()) / name).string();
  }

 private:
  Workplace(survey::Unfinished folder, std::string made_out)
      : folder_(std::move(folder)), made_out_(std::move(made_out)) {}
  std::optional<survey::Unfinished> folder_;
  std::string made_out_;
};

class Package {
 public:
  Package(const Workplace& place, const Cancelled& cancelled)
      : place_(place), cancelled_(cancelled) {}

  std::string path_of(const std::string& name) const {
    const fs::path path = place_.at("package/" + name);
    std::error_code ignored;
    fs::create_directories(path.parent_path(), ignored);  // the write itself tells of a failure
    return path.string();
  }
  Result<void> add(const std::string& name, const std::string& about,
                   const Result<std::string>& bytes, bool packed_already = false) {
    if (cancelled_ && cancelled_()) return tl::unexpected(cancelled_error());
    if (auto ok = write(name, bytes); !ok) return ok;
    list(name, about, packed_already);
    return {};
  }
  Result<void> write(const std::string& name, const Result<std::string>& bytes) const {
    if (!bytes) return tl::unexpected(bytes.error());
    return survey::write_scratch(path_of(name), *bytes);
  }
  void list(const std::string& name, const std::string& about, bool packed_already) {
    files.push_back({name, about});
    entries.push_back({name, path_of(name), packed_already});
  }
  std::vector<PackageFile> files;
  std::vector<ZipEntry> entries;

 private:
  const Workplace& place_;
  const Cancelled& cancelled_;
};

// A file of the package still to be made, on any thread.
struct Making {
  std::string name, about;
  std::function<Result<std::string>()> bytes;
  bool packed_already = false;
};

// The drawings of a station; they hold good while this lives.
class StationCharts {
 public:
  StationCharts(const StationReport& station, Units units) : station_(station) {
    style_.units = units;
    skyline_ = {.skyline = &station.skyline(),
                .mask = &station.masks.all,
                .paths = station.day_paths,
                .center_deg = station.input.place.latitude_deg < 0 ? 0.0 : 180.0};
    for (const auto& month : station.findings.months)
      if (station.findings.winter_months >> (month.month - 1) & 1) winter_days_ += month.days;
  }

  struct Chart {
    const char* name;
    float width, height;
    Drawing drawing;
  };
  std::vector<Chart> all() const {
    const auto& f = station_.findings;
    const float ledger = draw_ledger(nullptr, {0, 0, 380, 0}, f.ledger, winter_days_, style_) + 20;
    return {{"skyline", 620, 230,
             [&](Canvas& c) {
               draw_skyline(c, {10, 10, 600, 180}, skyline_, style_);
               legend(&c, {40, 200, 560, 20}, skyline_legend(skyline_, style_), style_);
             }},
            {"sun_year", 620, 310,
             [&](Canvas& c) {
               const auto& year = station_.sun_year_chart;
               draw_sun_year(c, {10, 10, 600, 250}, year, style_);
               legend(&c, {40, 270, 560, 30}, sun_year_legend(year, style_), style_);
             }},
            {"sun_paths", 360, 360,
             [&](Canvas& c) {
               draw_sun_paths(c, {10, 10, 340, 340}, skyline_, style_);
             }},
            {"facing", 400, 290,
             [&](Canvas& c) {
               draw_facing(c, {10, 10, 380, 270},
                           {.finding = &f.facing(), .center_deg = skyline_.center_deg}, style_);
             }},
            {"ledger", 400, ledger,
             [&, ledger](Canvas& c) {
               draw_ledger(&c, {10, 10, 380, ledger - 20}, f.ledger, winter_days_, style_);
             }},
            {"growing_light", 620, 220, [&](Canvas& c) {
               draw_growing_light(c, {10, 10, 600, 200}, f.growing, station_.input.year, style_,
                                  f.years ? &*f.years : nullptr);
             }}};
  }

 private:
  const StationReport& station_;
  ChartStyle style_;
  SkylineChart skyline_;
  int winter_days_ = 0;
};

// Each as SVG; the same drawing as PNG where asked for.
void plan_charts(std::vector<Making>& out, const StationReport& station, const std::string& folder,
                 bool pixels, Units units) {
  const auto charts = std::make_shared<const StationCharts>(station, units);
  for (const auto& chart : charts->all()) {
    const std::string about = tr(std::string("package.chart.") + chart.name, {station.name()});
    const std::string name = folder + "charts/" + chart.name;
    out.push_back({name + ".svg", about, [charts, chart, about] {
                     return svg_of(chart.width, chart.height, about, chart.drawing);
                   }});
    if (pixels)
      out.push_back(
          {name + ".png", about,
           [charts, chart] { return png_of(chart.width, chart.height, 1.5f, chart.drawing); },
           true});
  }
}

void plan_station(std::vector<Making>& out, const StationReport& station,
                  const survey::WeatherFile* weather, const std::string& folder, bool pixels,
                  Units units) {
  const std::string& name = station.name();
  const auto add = [&](const char* file, const char* key, auto make) {
    out.push_back({folder + file, tr(key, {name}), make});
  };
  if (weather && weather->layout == survey::WeatherFile::Layout::epw)
    add("weather_adjusted.epw", "package.weather", [&station, weather] {
      return survey::adjusted_weather(
          *weather, {station.name(), station.input, station.masks, *station.path});
    });
  add("horizon_mask.csv", "package.mask", [&station] { return mask_csv(station); });
  add("horizon_breakpoints.csv", "package.breakpoints",
      [&station] { return breakpoints_csv(station); });
  add("sun_hours.csv", "package.sun_hours", [&station] { return sun_hours_csv(station); });
  add("sun_vectors.csv", "package.sun_vectors", [&station] { return sun_vectors_csv(station); });
  const auto model = std::make_shared<const ShadingModel>(shading_model(station));
  add("shading.dxf", "package.dxf", [&station, model] { return dxf_of(*model, station.name()); });
  add("shading.gltf", "package.gltf",
      [&station, model] { return gltf_of(*model, station.name()); });
  plan_charts(out, station, folder, pixels, units);
}

std::vector<Making> station_files(const SiteReport& site, const survey::WeatherFile* weather,
                                  Units units) {
  std::vector<Making> out;
  for (std::size_t i = 0; i < site.stations.size(); ++i) {
    const auto& station = site.stations[i];
    const std::string folder = "station-" + std::to_string(i + 1) + "-" +
                               survey::file_stem_of(station.name(), "station") + "/";
    plan_station(out, station, weather, folder, i == best_station(site), units);
  }
  return out;
}

// On all processors that are free.
Result<void> make_all(const Package& package, const std::vector<Making>& makings,
                      const std::string& language, const Cancelled& cancelled) {
  std::vector<Result<void>> made(makings.size());
  horizon::in_parallel(static_cast<int>(makings.size()), [&](int i) {
    const InLanguage in(language);
    const auto at = static_cast<std::size_t>(i);
    if (cancelled && cancelled())
      made[at] = tl::unexpected(cancelled_error());
    else
      made[at] = package.write(makings[at].name, makings[at].bytes());
  });
  for (const auto& ok : made)
    if (!ok) return ok;
  return {};
}

Result<void> add_photos(Package& package, const survey::FieldBook& book, const SiteReport& site,
                        const Progress& progress) {
  for (std::size_t i = 0; i < site.photos.size(); ++i) {
    progress(double(i) / double(site.photos.size()), "");
    const auto& photo = site.photos[i];
    auto bytes = book.photo_bytes(photo.id);
    // One damaged picture does not hold back the rest; the report says so in its place.
    if (!bytes) continue;
    if (auto ok = package.add(photo_file_name(site, i),
                              tr("package.photo", {photo.label, photo.note}), *bytes, true);
        !ok) {
      return ok;
    }
  }
  return {};
}

// One plan, as each trade reads it.
Result<void> add_plan(Package& package, const SiteReport& site, const PackageFacts& facts,
                      Units units) {
  if (!site.plan) return {};
  const auto& plan = *site.plan;
  for (const auto& [name, about, bytes] :
       {std::tuple{"plan/site_plan.dxf", "package.plan_dxf", survey::plan_dxf(plan)},
        {"plan/site.ifc", "package.plan_ifc",
         survey::plan_ifc(plan, facts.made_utc, facts.software)},
        {"plan/pegs.csv", "package.pegs", survey::pegs_csv(plan)}})
    if (auto ok = package.add(name, tr(about), bytes); !ok) return ok;
  if (auto ok = package.add("plan/site_plan.svg", tr("package.plan_svg"), plan_svg(site, units));
      !ok)
    return ok;
  if (!plan.grid) return {};
  const std::string map = package.path_of("plan/sun_map.tif");
  if (auto ok = survey::write_sun_map(plan, site.plot->map, site.plot->winter_days, map); ok)
    package.list("plan/sun_map.tif", tr("package.sun_map"), false);
  else if (ok.error().code != Code::not_found)  // of the disk
    return ok;
  return {};
}

// Every reading as it was read, out of the report's way.
Result<void> add_readings(Package& package, const survey::FieldBook& book) {
  for (const auto& [table, file, about] :
       {std::tuple{"sighting", "readings/sightings.csv", "package.sightings"},
        {"heading_check", "readings/heading_checks.csv", "package.heading_checks"},
        {"percolation_reading", "readings/percolation_readings.csv", "package.percolation"}})
    if (auto ok = package.add(file, tr(about), survey::table_csv_of(book, table)); !ok) return ok;
  return {};
}

// What is of the whole site.
Result<void> add_shared(Package& package, const survey::FieldBook& book, const SiteReport& site,
                        const std::string& pdf, const PackageFacts& facts,
                        const HandoverOptions& options) {
  if (auto ok = package.add("report.pdf", tr("package.report"), pdf); !ok) return ok;
  if (auto ok = book.export_to(package.path_of("site.gpkg"),
                               {.photo_bytes = false, .people = options.people, .styles = true});
      !ok)
    return ok;
  package.list("site.gpkg", tr("package.gpkg"), false);
  if (auto ok = package.add("site.json", tr("package.json"), site_json(site, facts)); !ok)
    return ok;
  if (auto ok = package.add("skyline.geojson", tr("package.geojson"), skyline_geojson(site)); !ok)
    return ok;
  if (auto ok = package.add("site.schema.json", tr("package.schema"), std::string(site_schema()));
      !ok)
    return ok;
  if (auto ok = add_readings(package, book); !ok) return ok;
  return add_plan(package, site, facts, options.report.units);
}

void leave_out_people(SiteReport& site) {
  site.people.clear();
  for (auto& visit : site.visits) visit.people.clear();
  site.settings.site.for_whom.clear();
}

Result<survey::WeatherFile> read_weather(const survey::FieldBook& book, const std::string& path) {
  auto bytes = survey::read_file(path);
  if (!bytes) return tl::unexpected(bytes.error());
  auto file = survey::weather_of(*bytes);
  if (!file) {
    file.error().where = path + ", " + file.error().where;
    return file;
  }
  auto site = book.site();
  if (!site) return tl::unexpected(site.error());
  const auto& at = site->position;
  for (auto& note : survey::weather_fits(
           *file,
           {at.latitude_deg, at.longitude_deg, at.height_m.value_or(file->year.place.height_m)})) {
    if (note.code != Code::bad_input) continue;
    note.where = path;
    return tl::unexpected(note);
  }
  return file;
}

// Names that none of the three outputs has yet: "site", "site-2", ...
std::string free_stem(const std::string& folder, const std::string& stem) {
  const auto taken = [&](const std::string& name) {
    std::error_code ignored;
    for (const char* end : {"-package.zip", "-report.pdf", "-package"})
      if (fs::symlink_status(fs::path(folder) / (name + end), ignored).type() !=
          fs::file_type::not_found)
        return true;
    return false;
  };
  std::string name = stem;
  for (int i = 2; taken(name); ++i) name = stem + "-" + std::to_string(i);
  return name;
}

}  // namespace

Result<Handover> make_handover(const survey::FieldBook& book, const HandoverOptions& options,
                               const Progress& progress, const Cancelled& cancelled) {
  const InLanguage in(options.report.language);
  const auto part = [&](double from, double to) {
    return [&progress, from, to](double done, std::string_view what) {
      if (progress) progress(from + (to - from) * done, what);
    };
  };
  auto place = Workplace::in(options.out_folder);
  if (!place) return tl::unexpected(place.error());
  std::optional<survey::WeatherFile> weather;
  std::shared_ptr<const horizon::WeatherYear> weather_year;
  if (!options.weather_path.empty()) {
    auto read = read_weather(book, options.weather_path);
    if (!read) return tl::unexpected(read.error());
    weather = std::move(*read);
    weather_year = std::make_shared<const horizon::WeatherYear>(weather->year);
  }
  auto site = site_report(book, options.draws, part(0, 0.4), cancelled, weather_year);
  if (!site) return tl::unexpected(site.error());
  if (!options.people) leave_out_people(*site);
  if (!options.photos) {
    site->photos.clear();
    if (site->plan) site->plan->photos.clear();
  }

  const PackageFacts facts{horizon::format_utc(options.report.time_utc_s),
                           options.report.software_version};
  Package package(*place, cancelled);
  Result<std::string> pdf = tl::unexpected(cancelled_error());
  Result<void> shared, of_stations;
  const auto makings = station_files(*site, weather ? &*weather : nullptr, options.report.units);
  // The field book stays on this thread.
  horizon::side_by_side(
      [&] {
        pdf = make_report(
            *site, options.report,
            [&](const survey::Photo& photo) { return book.photo_bytes(photo.id); }, part(0.4, 0.6),
            cancelled);
        if (pdf) shared = add_shared(package, book, *site, *pdf, facts, options);
      },
      [&] { of_stations = make_all(package, makings, options.report.language, cancelled); });
  if (!pdf) return tl::unexpected(pdf.error());
  for (const auto& ok : {shared, of_stations})
    if (!ok) return tl::unexpected(ok.error());
  for (const auto& each : makings) package.list(each.name, each.about, each.packed_already);
  if (auto ok = add_photos(package, book, *site, part(0.7, 0.85)); !ok)
    return tl::unexpected(ok.error());
  if (auto ok = package.add("README.txt", tr("package.readme"),
                            package_readme(*site, facts, package.files));
      !ok) {
    return tl::unexpected(ok.error());
  }
  if (auto ok = write_zip(place->at("package.zip"), package.entries, options.report.time_utc_s,
                          part(0.85, 0.99), cancelled);
      !ok) {
    return tl::unexpected(ok.error());
  }
  const std::string stem = survey::file_stem_of(site->site().name, "site");
  const std::string name =
      options.existing == survey::Existing::keep ? free_stem(options.out_folder, stem) : stem;
  const auto out = [&](const std::string& ending) {
    return (fs::path(options.out_folder) / (name + ending)).string();
  };
  Handover result;
  result.report_path = out("-report.pdf");
  result.package_path = out("-package.zip");
  std::error_code ignored;
  result.package_bytes = fs::file_size(place->at("package.zip"), ignored);
  if (auto ok = survey::write_scratch(place->at("report.pdf"), *pdf); !ok)
    return tl::unexpected(ok.error());
  if (cancelled && cancelled()) return tl::unexpected(cancelled_error());
  // From here on only names change.
  for (const auto& [from, to] : {std::pair{place->at("package.zip"), result.package_path},
                                 std::pair{place->at("report.pdf"), result.report_path}})
    if (auto ok = survey::move_file(from, to, options.existing); !ok)
      return tl::unexpected(ok.error());
  if (options.unpacked) {
    result.unpacked_path = out("-package");
    for (const auto& entry : package.entries)
      if (auto ok = survey::flush_to_device(entry.path); !ok) return tl::unexpected(ok.error());
    if (options.existing == survey::Existing::replace)
      fs::remove_all(result.unpacked_path, ignored);
    if (auto ok = survey::move_file(place->at("package"), result.unpacked_path, options.existing);
        !ok)
      return tl::unexpected(ok.error());
  }
  result.files = std::move(package.files);
  if (progress) progress(1, "");
  return result;
}

}  // namespace app
