#include "app/handover/handover.h"

#include <algorithm>
#include <filesystem>
#include <optional>
#include <tuple>
#include <utility>

#include "app/drawing/cairo_canvas.h"
#include "app/drawing/charts/light_charts.h"
#include "app/drawing/charts/sun_values.h"
#include "app/handover/sections.h"
#include "app/handover/site_plan.h"
#include "app/handover/surfaces.h"
#include "app/handover/weather_adjusted.h"
#include "app/handover/zip.h"
#include "app/words/words.h"
#include "survey/book/text.h"
#include "survey/exchange/exchange.h"
#include "survey/exchange/plan_files.h"
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

  std::string path_of(const std::string& name) {
    const fs::path path = place_.at("package/" + name);
    std::error_code ignored;
    fs::create_directories(path.parent_path(), ignored);  // the write itself tells of a failure
    return path.string();
  }
  Result<void> add(const std::string& name, const std::string& about,
                   const Result<std::string>& bytes, bool packed_already = false) {
    if (cancelled_ && cancelled_()) return tl::unexpected(cancelled_error());
    if (!bytes) return tl::unexpected(bytes.error());
    if (auto ok = survey::write_scratch(path_of(name), *bytes); !ok) return ok;
    list(name, about, packed_already);
    return {};
  }
  void list(const std::string& name, const std::string& about, bool packed_already) {
    files.push_back({name, about});
    entries.push_back({name, path_of(name), packed_already});
  }
  // As SVG; the same drawing as PNG where asked for.
  Result<void> add_chart(const std::string& name, const std::string& about, float width,
                         float height, bool pixels, const Drawing& drawing) {
    const Drawing framed = [&](Canvas& canvas) { drawing(canvas); };
    if (auto ok = add(name + ".svg", about, svg_of(width, height, about, framed)); !ok) return ok;
    if (!pixels) return {};
    return add(name + ".png", about, png_of(width, height, 2, framed), true);
  }

  std::vector<PackageFile> files;
  std::vector<ZipEntry> entries;

 private:
  const Workplace& place_;
  const Cancelled& cancelled_;
};

Result<void> add_charts(Package& package, const StationReport& station, const std::string& folder,
                        bool pixels, const HandoverOptions& options) {
  ChartStyle style;
  style.units = options.report.units;
  SkylineChart skyline{.skyline = &station.skyline(),
                       .mask = &station.masks.all,
                       .paths = day_paths(*station.path),
                       .center_deg = station.input.place.latitude_deg < 0 ? 0.0 : 180.0};
  const auto year = sun_year_chart(*station.path, station.masks, station.skyline());
  const auto& f = station.findings;
  int winter_days = 0;
  for (const auto& month : f.months) {
    if (f.winter_months >> (month.month - 1) & 1) winter_days += month.days;
  }
  const float ledger = draw_ledger(nullptr, {0, 0, 380, 0}, f.ledger, winter_days, style) + 20;
  struct Chart {
    const char* name;
    float width, height;
    Drawing drawing;
  };
  const Chart charts[] = {
      {"skyline", 620, 230,
       [&](Canvas& c) {
         draw_skyline(c, {10, 10, 600, 180}, skyline, style);
         legend(&c, {40, 200, 560, 20}, skyline_legend(skyline, style), style);
       }},
      {"sun_year", 620, 310,
       [&](Canvas& c) {
         draw_sun_year(c, {10, 10, 600, 250}, year, style);
         legend(&c, {40, 270, 560, 30}, sun_year_legend(year, style), style);
       }},
      {"sun_paths", 360, 360,
       [&](Canvas& c) {
         draw_sun_paths(c, {10, 10, 340, 340}, skyline, style);
       }},
      {"facing", 400, 290,
       [&](Canvas& c) {
         draw_facing(c, {10, 10, 380, 270},
                     {.finding = &f.facing(), .center_deg = skyline.center_deg}, style);
       }},
      {"ledger", 400, ledger,
       [&](Canvas& c) {
         draw_ledger(&c, {10, 10, 380, ledger - 20}, f.ledger, winter_days, style);
       }},
      {"growing_light", 620, 220,
       [&](Canvas& c) {
         draw_growing_light(c, {10, 10, 600, 200}, f.growing, station.input.year, style);
       }},
  };
  for (const auto& chart : charts) {
    const std::string about = tr(std::string("package.chart.") + chart.name, {station.name()});
    if (auto ok = package.add_chart(folder + "charts/" + chart.name, about, chart.width,
                                    chart.height, pixels, chart.drawing);
        !ok) {
      return ok;
    }
  }
  return {};
}

Result<void> add_station(Package& package, const StationReport& station, const std::string& folder,
                         bool pixels, const HandoverOptions& options) {
  const std::string& name = station.name();
  const auto add = [&](const char* file, const char* key, std::string bytes) {
    return package.add(folder + file, tr(key, {name}), std::move(bytes));
  };
  if (auto ok = add("horizon_mask.csv", "package.mask", mask_csv(station)); !ok) return ok;
  if (auto ok = add("horizon_breakpoints.csv", "package.breakpoints", breakpoints_csv(station));
      !ok) {
    return ok;
  }
  if (auto ok = add("sun_hours.csv", "package.sun_hours", sun_hours_csv(station)); !ok) return ok;
  if (auto ok = add("sun_vectors.csv", "package.sun_vectors", sun_vectors_csv(station)); !ok) {
    return ok;
  }
  const ShadingModel model = shading_model(station);
  if (auto ok = add("shading.dxf", "package.dxf", dxf_of(model, name)); !ok) return ok;
  if (auto ok = add("shading.gltf", "package.gltf", gltf_of(model, name)); !ok) return ok;
  return add_charts(package, station, folder, pixels, options);
}

Result<void> add_photos(Package& package, const survey::FieldBook& book, const SiteReport& site) {
  for (std::size_t i = 0; i < site.photos.size(); ++i) {
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

  auto pdf = make_report(
      *site, options.report, [&](const survey::Photo& photo) { return book.photo_bytes(photo.id); },
      part(0.4, 0.6), cancelled);
  if (!pdf) return tl::unexpected(pdf.error());
  const PackageFacts facts{horizon::format_utc(options.report.time_utc_s),
                           options.report.software_version};
  Package package(*place, cancelled);
  if (auto ok = package.add("report.pdf", tr("package.report"), *pdf); !ok) {
    return tl::unexpected(ok.error());
  }
  if (auto ok = book.export_to(package.path_of("site.gpkg"),
                               {.photo_bytes = false, .people = options.people, .styles = true});
      !ok)
    return tl::unexpected(ok.error());
  package.list("site.gpkg", tr("package.gpkg"), false);
  if (auto ok = package.add("site.json", tr("package.json"), site_json(*site, facts)); !ok) {
    return tl::unexpected(ok.error());
  }
  if (auto ok = package.add("skyline.geojson", tr("package.geojson"), skyline_geojson(*site));
      !ok) {
    return tl::unexpected(ok.error());
  }
  if (auto ok = package.add("site.schema.json", tr("package.schema"), std::string(site_schema()));
      !ok)
    return tl::unexpected(ok.error());
  if (auto ok = add_readings(package, book); !ok) return tl::unexpected(ok.error());
  if (auto ok = add_plan(package, *site, facts, options.report.units); !ok)
    return tl::unexpected(ok.error());
  for (std::size_t i = 0; i < site->stations.size(); ++i) {
    part(0.6, 0.85)(static_cast<double>(i) / static_cast<double>(site->stations.size()),
                    site->stations[i].name());
    const std::string folder = "station-" + std::to_string(i + 1) + "-" +
                               survey::file_stem_of(site->stations[i].name(), "station") + "/";
    if (weather && weather->layout == survey::WeatherFile::Layout::epw) {
      if (auto ok = package.add(folder + "weather_adjusted.epw",
                                tr("package.weather", {site->stations[i].name()}),
                                adjusted_weather(*weather, site->stations[i]));
          !ok) {
        return tl::unexpected(ok.error());
      }
    }
    if (auto ok =
            add_station(package, site->stations[i], folder, i == best_station(*site), options);
        !ok) {
      return tl::unexpected(ok.error());
    }
  }
  if (auto ok = add_photos(package, book, *site); !ok) return tl::unexpected(ok.error());
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
