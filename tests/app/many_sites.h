// tests/app/many_sites.h: made sites of one valley, and a PostgreSQL server with PostGIS of a test's own.
#pragma once

#include <unistd.h>

#include <cmath>
#include <random>

#include "tests/shell.h"
#include "tests/survey/site_fixture.h"

namespace many {

inline survey::Id id_of(int number, int part) {
  char text[40];
  std::snprintf(text, sizeof text, "%08d-0000-4000-8000-%012d", number, part);
  return text;
}

inline survey::SiteNote form(int number, int part, survey::Topic topic,
                             std::vector<survey::Field> fields) {
  survey::SiteNote note;
  note.id = id_of(number, part);
  note.topic = topic;
  note.time = {1795600800, 1};
  note.fields = std::move(fields);
  return note;
}

// Site `number`: a terrace somewhere along an invented valley, its ridge by random, the further the
// higher; water and access as the forms ask. Every fifth carries a photograph.
inline std::string make_site(const TempFolder& folder, int number) {
  std::mt19937 random(static_cast<unsigned>(number) + 1);
  const auto between = [&](double low, double high) {
    return low + (high - low) * (random() / double(std::mt19937::max()));
  };
  char name[40];
  std::snprintf(name, sizeof name, "Terrace %04d", number);
  const std::string path = folder / (std::string(name) + ".gpkg");
  survey::Site site;
  site.id = id_of(number, 1);
  site.name = name;
  site.position = {46.5 + between(0, 0.2), 10.2 + between(0, 0.3), std::round(between(1100, 1900))};
  site.created = {1795600800, 1};
  auto book = must(survey::FieldBook::create(path, site));
  must(book.change("made", [&]() -> horizon::Result<void> {
    survey::Visit visit;
    visit.id = id_of(number, 2);
    visit.begun = {1795600800, 1};
    visit.people = "AB";
    must(book.put(visit));
    survey::Station station;
    station.id = id_of(number, 3);
    station.visit_id = visit.id;
    station.name = "A";
    station.position = site.position;
    station.horizontal_sigma_m = 3;
    station.time = visit.begun;
    station.main = true;
    must(book.put(station));
    const double high = between(4, 24);
    for (int i = 0; i < 18; ++i) {
      survey::Sighting mark;
      mark.id = id_of(number, 100 + i);
      mark.station_id = station.id;
      mark.time = visit.begun;
      mark.reference = survey::Reference::true_north;
      mark.bearing_deg = 20.0 * i;
      mark.elevation_deg = std::round(10 * between(2, high)) / 10;
      mark.instrument = "hand compass";
      must(book.put(mark));
    }
    must(book.put(form(number, 4, survey::Topic::water,
                       {{"source", "spring"}, {"distance_m", std::to_string(random() % 300)}})));
    must(book.put(form(number, 5, survey::Topic::access,
                       {{"way", "track"}, {"access_distance_m", std::to_string(random() % 200)}})));
    survey::ClimateNormals climate;
    climate.id = id_of(number, 6);
    climate.name = "Larkholm";
    for (int m = 0; m < 12; ++m) {
      const double mean = 6 - 12 * std::cos(m * 0.5236);
      climate.mean_c[static_cast<std::size_t>(m)] = mean;
      climate.min_c[static_cast<std::size_t>(m)] = mean - 6;
      climate.max_c[static_cast<std::size_t>(m)] = mean + 6;
      climate.sunshine_fraction[static_cast<std::size_t>(m)] = 0.5;
    }
    must(book.put(climate));
    return {};
  }));
  must(book.close());
  return path;
}

// What all files of the folder hold, byte for byte.
inline std::string bytes_in(const TempFolder& folder) {
  return shell("cd '" + folder.path.string() + "' && sha256sum *.gpkg").words;
}

// PostgreSQL does not run as root: then it runs as nobody.
class Server {
 public:
  Server() {
    bin_ = shell("ls -d /usr/lib/postgresql/*/bin 2>/dev/null | tail -1 | tr -d '\\n'").words;
    const bool postgis =
        shell("ls /usr/share/postgresql/*/extension/postgis.control").exit_code == 0;
    if (bin_.empty() || !postgis)
      FAIL(
          "PostgreSQL or PostGIS is missing: apt-get install postgresql-15 postgresql-15-postgis-3");
    folder_ = "/tmp/adret-pg-" + survey::random_hex(4);
    if (geteuid() == 0) as_ = "setpriv --reuid=nobody --regid=nogroup --clear-groups ";
    well("mkdir -m 700 " + folder_ + (geteuid() == 0 ? " && chown nobody " + folder_ : ""));
    well("cd " + folder_ + " && " + as_ + bin_ +
         "/initdb -D data -A trust -U owner --no-sync -E UTF8 --locale=C");
    well("cd " + folder_ + " && " + as_ + bin_ + "/pg_ctl -D data -w -l log -o \"-k " + folder_ +
         " -c listen_addresses='' -c fsync=off\" start");
    sql("CREATE DATABASE valley", "postgres");
  }
  ~Server() {
    (void)shell("cd " + folder_ + " && " + as_ + bin_ +
                "/pg_ctl -D data -w -m immediate stop 2>&1");
    (void)shell("rm -rf " + folder_);
  }
  Server(const Server&) = delete;
  Server& operator=(const Server&) = delete;

  std::string address(const std::string& user = "owner") const {
    return "'postgresql://" + user + "@/valley?host=" + folder_ + "'";
  }
  // Bare rows; what went wrong in `words` too.
  Shell ask(const std::string& sql, const std::string& user = "owner",
            const std::string& database = "valley") const {
    return shell("psql -X -q -A -t -v ON_ERROR_STOP=1 -h " + folder_ + " -U " + user + " -d " +
                 database + " -c \"" + sql + "\" 2>&1");
  }
  std::string sql(const std::string& sql, const std::string& database = "valley") const {
    const Shell done = ask(sql, "owner", database);
    if (done.exit_code != 0) FAIL(sql << ": " << done.words);
    return done.words;
  }

 private:
  static void well(const std::string& command) {
    const Shell done = shell("( " + command + " ) 2>&1 </dev/null");
    if (done.exit_code != 0) FAIL(command << ": " << done.words);
  }
  std::string bin_, folder_, as_;
};

}  // namespace many
