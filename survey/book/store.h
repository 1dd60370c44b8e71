// survey/book/store.h: the field book: one site, one file, safe the moment `put` returns.
// Format:  GeoPackage 1.3 (OGC 12-128r18) on SQLite; docs/formats.md, "The site file"
// Safety:  while open a write-ahead log lies beside the file and every change is on the disk
//          before the call returns; `close` leaves one clean file. A kill or a power cut loses
//          nothing that was acknowledged.
// Undo:    every change is one step, kept in the file, the last kUndoSteps of them
// Errors:  bad_input for what cannot be stored (the message names the column and the cure),
//          not_found, failed for disk, lock and permission; nothing is written then
// Cost:    open under 0.3 s with 2,000 photos and 100,000 sightings
// Threads: one field book, one thread
#pragma once

#include <cstdint>
#include <exception>
#include <functional>
#include <memory>
#include <string>
#include <string_view>
#include <vector>

#include "horizon/result.h"
#include "survey/book/model.h"

namespace survey {

inline constexpr int kUndoSteps = 500;
inline constexpr std::int64_t kMaxPhotoBytes = 50'000'000;

enum class Access : std::uint8_t {
  write,
  read,      // changes nothing, but that what a kill left half done is put back
  received,  // read through the one door: for a file from somebody else. Every page is checked, every
             // cell of every row, and nothing of its schema is used; what is refused is remarked
  received_to_read,  // so too, without what only a merge, an export or `check` asks for: earlier states
};

struct Closed {
  bool log_beside = false;  // another program has it open; the -wal file beside belongs to it
};

struct Store;  // the open database; survey/book/store_internal.h

class FieldBook {
 public:
  // The file must not exist yet. The site's id and time of creation are filled in if empty.
  static horizon::Result<FieldBook> create(const std::string& path, Site site);
  static horizon::Result<FieldBook> open(const std::string& path, Access access = Access::write);
  FieldBook(FieldBook&&) noexcept;
  FieldBook& operator=(FieldBook&&) noexcept;
  ~FieldBook();  // closes; call close() to hear of a failure
  // Every change was kept before; an error here only says that the file could not be tidied.
  horizon::Result<Closed> close();
  // Of opening: rows that were refused, a log that is missing, an older file kept beside.
  const std::vector<horizon::Error>& remarks() const;
  const std::string& path() const;
  bool read_only() const;

  // Row: any struct of survey/model*.h with an id. In the order in which rows were first put.
  template <class Row>
  horizon::Result<std::vector<Row>> all() const;
  template <class Row>
  horizon::Result<Row> get(const Id& id) const;
  // Rows whose `column` ("station_id", "pit_id", ...) holds the id.
  template <class Row>
  horizon::Result<std::vector<Row>> where(std::string_view column, const Id& id) const;
  horizon::Result<Site> site() const;
  // The designer's choices, or the defaults where none were made yet.
  horizon::Result<DesignChoices> design() const;

  // Adds the row, or changes the one with its id. Returns the id. One step of undo.
  template <class Row>
  horizon::Result<Id> put(Row row);
  // Fails for sightings, heading checks and contacts (void them) and where other rows refer to the row.
  template <class Row>
  horizon::Result<void> remove(const Id& id);
  horizon::Result<void> void_sighting(const Id& id, std::string reason, Moment when);
  horizon::Result<void> void_check(const Id& id, std::string reason, Moment when);
  horizon::Result<void> void_contact(const Id& id, std::string reason, Moment when);
  // Fills in sha256, size, media type and pixel size from the bytes (JPEG or PNG).
  horizon::Result<Id> add_photo(Photo photo, std::string_view bytes);
  horizon::Result<std::string> photo_bytes(const Id& id) const;  // checked against the hash

  // Everything that `work` puts becomes one step; if it fails, nothing of it stays.
  horizon::Result<void> change(const std::string& name,
                               const std::function<horizon::Result<void>()>& work);

  // Each returns the name of the step. not_found where there is none.
  horizon::Result<std::string> undo();
  horizon::Result<std::string> redo();
  int undo_steps() const;
  int redo_steps() const;

  // Grows with every change, undo and redo: derive again when it differs.
  std::uint64_t change_count() const;  // grows with every change; no other open book ever has it

  // Derived, outside undo; for the list of sites.
  horizon::Result<void> set_sketch(const SkylineSketch& sketch);

  // A copy as one file for somebody else: without undo steps, removed photos and earlier values.
  struct ExportParts {
    bool photo_bytes = true;  // else the pictures go beside it; imported, they are found again
    bool people = true;       // else no person, no initials, nobody it is for
    bool names = true;        // else as before, but the initials of those who walked stay
    bool styles = false;      // how a map program shows each layer
  };
  horizon::Result<void> export_to(const std::string& path) const { return export_to(path, {}); }
  horizon::Result<void> export_to(const std::string& path, const ExportParts& parts) const;

  Store& store() const { return *store_; }  // for survey's own files

 private:
  explicit FieldBook(std::unique_ptr<Store> store);
  std::unique_ptr<Store> store_;
};

// The photographs that a copy of a field book names and lacks, one a step, so that a frame's thread
// can bring a gigabyte. Must not outlive the field book. What was removed meanwhile stays away.
// Errors: as export_to; the copy is not flushed to the device
class PhotoCopy {
 public:
  static horizon::Result<PhotoCopy> begin(const FieldBook& from, const std::string& to);
  PhotoCopy(PhotoCopy&&) noexcept;
  ~PhotoCopy();
  horizon::Result<bool> step();  // false: all are there, and the copy is closed
  double part() const;           // done, 0 to 1

 private:
  struct Work;
  explicit PhotoCopy(std::unique_ptr<Work> work);
  std::unique_ptr<Work> work_;
};

struct SiteSummary {
  std::string path;
  Site site;
  int visits = 0, stations = 0, sightings = 0, photos = 0;
  std::optional<Moment> last_visit;
  SkylineSketch sketch;  // empty where none was kept
};
struct SiteList {
  std::vector<SiteSummary> sites;      // by name
  std::vector<horizon::Error> errors;  // `where` = the file that could not be read
};
// Every site file (*.gpkg) directly in the folder.
horizon::Result<SiteList> list_sites(const std::string& folder);

// What the standard library threw, memory above all, in words.
horizon::Error error_of(const std::exception& error);

// 12 hex digits of the SHA-256: for a file name that must not be made of a received text itself.
std::string short_hash(std::string_view text);

// A random UUID (version 4) from the system's generator.
Id new_id();

}  // namespace survey
