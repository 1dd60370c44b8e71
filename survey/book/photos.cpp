// Photographs: the row says what and where, the bytes lie once in photo_data under their hash.
#include "survey/book/photo_file.h"
#include "survey/book/row_cells.h"
#include "survey/book/store_internal.h"

namespace survey {

using horizon::Code;

void keep_bytes(Database& db, const std::string& sha256, std::string_view bytes) {
  const Cells values = {sha256, Blob{std::string(bytes)}};
  db.again("INSERT OR IGNORE INTO photo_data (sha256, bytes) VALUES (?, ?)", values).step();
}

horizon::Result<Id> FieldBook::add_photo(Photo photo, std::string_view bytes) {
  const auto facts = photo_facts(bytes);
  if (!facts)
    return tl::unexpected(
        horizon::Error{facts.error().code, facts.error().sentence(), photo.file_name});
  return guarded([&] {
    photo.sha256 = sha256_hex(bytes);
    photo.media_type = facts->media_type;
    photo.size_bytes = static_cast<std::int64_t>(bytes.size());
    photo.width_px = facts->width_px;
    photo.height_px = facts->height_px;
    Id id;
    in_change(*store_, "photo", [&] {
      keep_bytes(store_->db, photo.sha256, bytes);
      id = put_row(*store_, table_of<Photo>(), cells_of(photo));
    });
    return id;
  });
}

horizon::Result<std::string> FieldBook::photo_bytes(const Id& id) const {
  return guarded([&] {
    const Photo photo = value_or_throw(get<Photo>(id));
    const Cells key = {photo.sha256};
    Database& where = store_->photo_source ? *store_->photo_source : store_->db;
    Statement& statement = where.again("SELECT bytes FROM photo_data WHERE sha256=?", key);
    if (!statement.step()) give_up(Code::not_found, "error.photo_bytes_missing", photo.file_name);
    std::string bytes = statement.text(0);
    statement.reset();
    if (sha256_hex(bytes) != photo.sha256)
      give_up(Code::bad_input, "error.photo_bytes_damaged", photo.file_name);
    return bytes;
  });
}

}  // namespace survey
