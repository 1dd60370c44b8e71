// One clean file for somebody else.
#include <filesystem>

#include "survey/book/durable.h"
#include "survey/book/layer_styles.h"
#include "survey/book/store_internal.h"

namespace survey {

namespace fs = std::filesystem;
using horizon::Code;

namespace {

Database& photos_of(Store& store) { return store.photo_source ? *store.photo_source : store.db; }

// All tables but the photographs, in the way of SQLite's own VACUUM INTO, which would copy those too.
void copy_rows(Database& db, const std::string& path) {
  const Cells target = {path};
  db.again("ATTACH ? AS copy", target).step();
  const auto made = guarded([&] {
    db.run("PRAGMA copy.synchronous=OFF");  // thrown away where this fails
    for (const char* number : {"application_id", "user_version"})
      db.run("PRAGMA copy." + std::string(number) + "=" +
             db.word("PRAGMA main." + std::string(number)));
    db.run("BEGIN");
    std::vector<std::pair<std::string, std::string>> tables, indexes;
    {
      Statement rows = db.prepare(
          "SELECT type, name, sql FROM main.sqlite_master WHERE sql IS NOT NULL AND name NOT LIKE "
          "'sqlite\\_%' ESCAPE '\\' ORDER BY rowid");
      while (rows.step())
        (rows.text(0) == "table" ? tables : indexes).emplace_back(rows.text(1), rows.text(2));
    }
    const auto create = [&](const std::string& sql) {
      const std::size_t name = sql.starts_with("CREATE TABLE")   ? 13
                               : sql.starts_with("CREATE INDEX") ? 13
                                                                 : 20;
      db.run(sql.substr(0, name) + "copy." + sql.substr(name));
    };
    for (const auto& [name, sql] : tables) {
      create(sql);
      if (name != "photo_data")
        db.run("INSERT INTO copy." + sql_name(name) + " SELECT * FROM main." + sql_name(name));
    }
    for (const auto& [name, sql] : indexes) create(sql);
    db.run(
        "DELETE FROM copy.sqlite_sequence;"
        "INSERT INTO copy.sqlite_sequence SELECT * FROM main.sqlite_sequence");
    db.run("COMMIT");
  });
  if (!sqlite3_get_autocommit(db.handle())) db.run("ROLLBACK");
  db.run("DETACH copy");
  value_or_throw(made);
}

}  // namespace

horizon::Result<void> FieldBook::export_to(const std::string& path,
                                           const ExportParts& parts) const {
  std::error_code error;
  if (fs::exists(path, error)) return horizon::fail(Code::bad_input, "error.file_exists", path);
  return guarded([&] {
    auto place = value_or_throw(Unfinished::file(path));
    const std::string target = fs::absolute(place.path()).string();  // "file:..." would be a URI
    if (parts.photo_bytes)
      store_->db.again("VACUUM INTO ?", Cells{target}).step();
    else
      copy_rows(store_->db, target);
    Database copy(place.path(), "mode=rw");
    if (store_->photo_source && parts.photo_bytes) copy_photo_bytes(*store_->photo_source, copy);
    // Put in order in memory, where no photographs fill it.
    if (!parts.photo_bytes) copy.run("PRAGMA temp_store=MEMORY");
    copy.run(
        // Thrown away where this fails, and flushed as a whole where it lands.
        "PRAGMA journal_mode=OFF; PRAGMA synchronous=OFF; PRAGMA secure_delete=ON; BEGIN;"
        "DELETE FROM adret_step_row; DELETE FROM adret_step;"
        "UPDATE adret_superseded SET image=NULL WHERE image IS NOT NULL;"
        "DELETE FROM photo_data WHERE sha256 NOT IN (SELECT sha256 FROM photo)");
    if (!parts.people || !parts.names)
      copy.run(
          "DELETE FROM person; DELETE FROM adret_removed WHERE table_name='person';"
          "DELETE FROM adret_superseded WHERE table_name='person';"
          "UPDATE site SET for_whom=''");
    if (!parts.people)
      copy.run(
          "UPDATE visit SET people=''; UPDATE contact SET people=''; UPDATE diary SET people=''");
    if (parts.styles) put_layer_styles(copy);
    refresh_contents(copy);
    sqlite3_limit(copy.handle(), SQLITE_LIMIT_ATTACHED, 1);  // VACUUM too attaches its copy
    copy.run("COMMIT; VACUUM");
    copy.close();
    value_or_throw(place.land(Existing::keep));
  });
}

struct PhotoCopy::Work {
  Database& from;
  Database to;
  std::vector<std::string> missing;
  std::size_t done = 0;
};

PhotoCopy::PhotoCopy(std::unique_ptr<Work> work) : work_(std::move(work)) {}
PhotoCopy::PhotoCopy(PhotoCopy&&) noexcept = default;
PhotoCopy::~PhotoCopy() = default;

horizon::Result<PhotoCopy> PhotoCopy::begin(const FieldBook& from, const std::string& to) {
  return guarded([&] {
    std::unique_ptr<Work> work(new Work{photos_of(from.store()), Database(to, "mode=rw"), {}});
    work->to.run("PRAGMA synchronous=OFF; PRAGMA cache_size=-4096");  // written once, in order
    work->missing = missing_photos(work->to);
    return PhotoCopy(std::move(work));
  });
}

horizon::Result<bool> PhotoCopy::step() {
  return guarded([&] {
    Work& work = *work_;
    if (work.done < work.missing.size()) copy_photo(work.from, work.to, work.missing[work.done++]);
    if (work.done < work.missing.size()) return true;
    work.to.close();
    return false;
  });
}

double PhotoCopy::part() const {
  return work_->missing.empty() ? 1 : double(work_->done) / double(work_->missing.size());
}

}  // namespace survey
