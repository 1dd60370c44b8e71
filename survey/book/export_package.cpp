// One clean file for somebody else.
#include <filesystem>

#include "survey/book/durable.h"
#include "survey/book/layer_styles.h"
#include "survey/book/store_internal.h"

namespace survey {

namespace fs = std::filesystem;
using horizon::Code;

horizon::Result<void> FieldBook::export_to(const std::string& path,
                                           const ExportParts& parts) const {
  std::error_code error;
  if (fs::exists(path, error)) return horizon::fail(Code::bad_input, "error.file_exists", path);
  return guarded([&] {
    auto place = value_or_throw(Unfinished::file(path));
    const Cells target = {fs::absolute(place.path()).string()};  // "file:..." would be a URI
    store_->db.again("VACUUM INTO ?", target).step();
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
    if (!parts.photo_bytes) copy.run("DELETE FROM photo_data");
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

}  // namespace survey
