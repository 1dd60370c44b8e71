// One clean file for somebody else.
#include <filesystem>

#include "survey/book/store_internal.h"

namespace survey {

namespace fs = std::filesystem;
using horizon::Code;

horizon::Result<void> FieldBook::export_to(const std::string& path) const {
  std::error_code error;
  if (fs::exists(path, error)) return horizon::fail(Code::bad_input, "error.file_exists", path);
  // Under another name until it is complete, so that no half file is ever handed over.
  const std::string partial = path + ".part";
  fs::remove(partial, error);
  auto result = guarded([&] {
    const Cells target = {fs::absolute(partial).string()};  // "file:..." would be a URI
    store_->db.again("VACUUM INTO ?", target).step();
    Database copy(partial, "mode=rw");
    copy.run(
        "PRAGMA secure_delete=ON; BEGIN;"
        "DELETE FROM adret_step_row; DELETE FROM adret_step;"
        "UPDATE adret_superseded SET image=NULL;"
        "DELETE FROM photo_data WHERE sha256 NOT IN (SELECT sha256 FROM photo)");
    refresh_contents(copy);
    sqlite3_limit(copy.handle(), SQLITE_LIMIT_ATTACHED, 1);  // VACUUM too attaches its copy
    copy.run("COMMIT; VACUUM");
    copy.close();
    fs::rename(partial, path, error);
    if (error) give_up(Code::failed, {"error.file_not_put_in_place", {error.message()}}, path);
  });
  if (!result) fs::remove(partial, error);
  return result;
}

}  // namespace survey
