// tests/survey/site_fixture.h: a site with a row in every table, and tools to compare contents.
#pragma once

#include <doctest/doctest.h>

#include <filesystem>
#include <random>
#include <string>
#include <vector>

#include "survey/book/row_cells.h"
#include "survey/book/store.h"
#include "survey/book/store_internal.h"
#include "tests/said.h"

template <class T>
T must(horizon::Result<T> result) {
  if (!result) FAIL(result.error().where << ": " << said(result.error()));
  if constexpr (!std::is_void_v<T>) return std::move(*result);
}

struct TempFolder {
  TempFolder() {
    static int count = 0;
    // In memory where there is such a place: these tests make thousands of files.
    const std::filesystem::path memory = "/dev/shm";
    path =
        (std::filesystem::is_directory(memory) ? memory : std::filesystem::temp_directory_path()) /
        ("adret-test-" + survey::random_hex(6) + std::to_string(count++));
    std::filesystem::create_directories(path);
  }
  ~TempFolder() {
    std::error_code error;
    std::filesystem::remove_all(path, error);
  }
  std::string operator/(const std::string& name) const { return (path / name).string(); }
  std::filesystem::path path;
};

// All rows of all tables as text, without what changes with every write.
inline std::string content_of(const survey::FieldBook& book) {
  std::string content;
  for (const survey::Table* table : survey::all_tables()) {
    std::vector<std::string> rows;
    for (const auto& row : survey::all_rows(book.store(), *table))
      rows.push_back(survey::image_of(*table, row.cells));
    std::sort(rows.begin(), rows.end());
    for (const std::string& row : rows) content += table->name + " " + row + "\n";
  }
  return content;
}

// A PNG of one pixel, for what only needs some picture.
inline std::string tiny_png(unsigned char shade = 0) {
  std::string png = "\x89PNG\r\n\x1a\n";
  auto chunk = [&](const std::string& type, const std::string& body) {
    const auto length = static_cast<std::uint32_t>(body.size());
    for (int shift = 24; shift >= 0; shift -= 8) png += static_cast<char>(length >> shift & 0xff);
    png += type + body + std::string(4, '\0');
  };
  chunk("IHDR", std::string("\0\0\0\1\0\0\0\1\x08\0\0\0\0", 13));
  chunk("IDAT", std::string(1, static_cast<char>(shade)));
  chunk("IEND", "");
  return png;
}

struct FullSite {
  survey::Site site;
  survey::Visit visit;
  survey::Station station;
  survey::Fix fix;
  survey::Landmark landmark;
  survey::Photo photo;
  survey::Sighting sighting;
  survey::HeadingCheckRow check;
  survey::ContactRow contact;
  survey::DiaryRow diary;
  survey::ObstacleRow obstacle;
  survey::SoilPit pit;
  survey::SoilLayer layer;
  survey::PercolationTest test;
  survey::PercolationReading reading;
  survey::SiteNote note;
  survey::Hazard hazard;
  survey::Person person;
  survey::Path path;
  survey::ClimateNormals climate;
  survey::DesignChoices design;
  survey::Finding finding;
  std::string photo_bytes = tiny_png();

  static survey::Id id(int n) {
    char text[40];
    std::snprintf(text, sizeof text, "00000000-0000-4000-8000-%012d", n);
    return text;
  }

  FullSite() {
    const survey::Moment now{1795600800.25, 1};  // 2026-11-25
    const survey::Position place{46.6213, 10.3478, 1482.0};
    site = {id(1),        "Larkholm school garden",
            place,        now,
            "the school", "EPSG:25832",
            3.5,          0.3,
            -0.47,        "map sheet",
            12.0,         "شمس"};
    visit = {id(2), now, survey::Moment{now.utc_s + 3600, 1}, "AB, CD", "clear", "grass", "", ""};
    station.id = id(3);
    station.visit_id = visit.id;
    station.name = "bed";
    station.position = place;
    station.horizontal_sigma_m = 4;
    station.time = now;
    station.main = true;
    fix = {id(4), station.id, now, place, 4.0, 7.0, 11, false};
    landmark = {id(5), "chapel", "church", {46.63, 10.36, {}}, 3, {}, "map", ""};
    photo.id = id(6);
    photo.station_id = station.id;
    photo.time = now;
    photo.file_name = "../../evil name.png";
    photo.bearing_deg = 181.5;
    sighting.id = id(7);
    sighting.station_id = station.id;
    sighting.time = now;
    sighting.bearing_deg = 123.4;
    sighting.elevation_deg = 17.25;
    sighting.instrument = "sighting compass";
    sighting.kind = horizon::Kind::evergreen;
    sighting.label = "spruce";
    sighting.edge = horizon::Edge::great_circle;
    sighting.distance_m = 35;
    sighting.group = "g1";
    check.id = id(8);
    check.station_id = station.id;
    check.time = now;
    check.instrument = "sighting compass";
    check.bearing_deg = 40;
    check.known_true_deg = 44.25;
    check.landmark_id = landmark.id;
    contact.id = id(20);
    contact.station_id = station.id;
    contact.time = now;
    contact.body = horizon::Body::moon;
    contact.touch = horizon::Touch::whole;
    contact.came = true;
    contact.clock_ahead_s = -1.5;
    contact.pressure_hpa = 846.5;
    contact.label = "spruce";
    diary.id = id(21);
    diary.station_id = station.id;
    diary.date = "2026-11-25";
    diary.went = now;
    diary.sky = survey::DiarySky::clear;
    diary.people = "class 4";
    obstacle.id = id(9);
    obstacle.kind = horizon::Kind::leafy;
    obstacle.label = "birches";
    obstacle.leaf_months = 0x1f0;
    pit.id = id(10);
    pit.visit_id = visit.id;
    pit.time = now;
    pit.position = place;
    pit.depth_m = 0.9;
    layer.id = id(11);
    layer.pit_id = pit.id;
    layer.bottom_m = 0.3;
    layer.texture = "sandy loam";
    layer.sand_percent = 61.5;
    test.id = id(12);
    test.pit_id = pit.id;
    test.time = now;
    reading = {id(13), test.id, now, 152, true, 300.0};
    note.id = id(14);
    note.topic = survey::Topic::cold_air;
    note.time = now;
    note.text = "fog lies here at dawn";
    note.fields = {{"seen", "yes"}, {"seen", "twice"}};
    hazard = {id(15), visit.id, survey::HazardKind::rockfall, 2, now, place, "below the band"};
    person = {id(20), survey::Role::owner, "N. N.", "+00 1", "n@example.org", "agrees", "by word"};
    path.id = id(16);
    path.kind = survey::PathKind::boundary;
    path.points = {{{46.62, 10.34, 1480.0}, 1795600800.5}, {{46.63, 10.35, 1481.5}, 1795600801.5}};
    path.closed = true;
    path.time = now;
    climate.id = id(17);
    climate.mean_c[0] = -6.25;
    climate.albedo[11] = 0.7;
    climate.source = "invented";
    design.id = site.id;  // as every design row
    design.station_id = station.id;
    design.facing_true_deg = 172;
    design.crop_needs = {{"lettuce", "12"}};
    design.house = {{"night_cover_m2kw", "1"}};
    finding.id = id(19);
    finding.what = "direct_sun_shortest_day";
    finding.value = 3.25;
    finding.unit = "h";
    finding.time = now;
  }

  void put_into(survey::FieldBook& book) {
    must(book.put(visit));
    must(book.put(station));
    must(book.put(fix));
    must(book.put(landmark));
    must(book.add_photo(photo, photo_bytes));
    photo = must(book.get<survey::Photo>(photo.id));
    must(book.put(sighting));
    must(book.put(check));
    must(book.put(contact));
    must(book.put(diary));
    must(book.put(obstacle));
    must(book.put(pit));
    must(book.put(layer));
    must(book.put(test));
    must(book.put(reading));
    must(book.put(note));
    must(book.put(hazard));
    must(book.put(person));
    must(book.put(path));
    must(book.put(climate));
    must(book.put(design));
    must(book.put(finding));
  }

  // As `content_of`, from the structs; `photo` with what the bytes say.
  std::string content() const {
    std::string text;
    auto add = [&](const auto& row) {
      using Row = std::decay_t<decltype(row)>;
      const survey::Table& table = survey::table_of<Row>();
      text += table.name + " " + survey::image_of(table, survey::cells_of(row)) + "\n";
    };
    add(site), add(visit), add(station), add(fix), add(landmark), add(photo), add(sighting);
    add(check), add(contact), add(diary), add(obstacle), add(pit), add(layer), add(test),
        add(reading), add(note);
    add(hazard), add(person), add(path), add(climate), add(design), add(finding);
    return text;
  }
};

// One change after another, of every sort, the same for the same seed.
class RandomEdits {
 public:
  explicit RandomEdits(unsigned seed) : random_(seed) {}

  void one(survey::FieldBook& book) {
    using namespace survey;
    const auto stations = must(book.all<Station>());
    switch (random_() % 8) {
      case 0: {
        Visit visit;
        visit.id = id();
        visit.people = word();
        must(book.put(visit));
        break;
      }
      case 1: {
        auto visits = must(book.all<Visit>());
        Visit& visit = visits[random_() % visits.size()];
        (random_() % 2 ? visit.weather : visit.note) = word();
        must(book.put(visit));
        break;
      }
      case 2: {
        Sighting sighting;
        sighting.id = id();
        sighting.station_id = stations[random_() % stations.size()].id;
        sighting.bearing_deg = random_() % 3600 / 10.0;
        sighting.elevation_deg = random_() % 400 / 10.0;
        must(book.put(sighting));
        break;
      }
      case 3: {
        const auto sightings = must(book.all<Sighting>());
        must(book.void_sighting(sightings[random_() % sightings.size()].id, word(), {1.8e9, 2}));
        break;
      }
      case 4: {
        Station station;
        station.id = id();
        station.position = {46 + random_() % 1000 / 1000.0, 10, 1000};
        station.name = word();
        must(book.put(station));
        break;
      }
      case 5: {
        const auto notes = must(book.all<SiteNote>());
        if (!notes.empty()) must(book.remove<SiteNote>(notes[random_() % notes.size()].id));
        break;
      }
      case 6: {
        must(book.change("several", [&]() -> horizon::Result<void> {
          for (int i = 0; i < 3; ++i) {
            SiteNote note;
            note.id = id();
            note.text = word();
            must(book.put(note));
          }
          return {};
        }));
        break;
      }
      default: {
        Site site = must(book.site());
        (random_() % 2 ? site.note : site.for_whom) = word();
        must(book.put(site));
      }
    }
  }

 private:
  std::string word() { return "w" + std::to_string(random_() % 1000); }
  survey::Id id() {
    char text[64];
    std::snprintf(text, sizeof text, "%08x-0000-4000-8000-%08x0000",
                  static_cast<unsigned>(random_()), static_cast<unsigned>(random_()));
    return text;
  }
  std::mt19937 random_;
};
