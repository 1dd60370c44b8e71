#include "survey/book/store.h"

#include <filesystem>
#include <fstream>

#include "horizon/time.h"
#include "survey/book/durable.h"
#include "survey/book/row_cells.h"
#include "survey/book/store_internal.h"

namespace survey {

using horizon::Code;
namespace fs = std::filesystem;

namespace {

bool from_outside(Access access) {
  return access == Access::received || access == Access::received_to_read;
}

bool has_content(const std::string& path) {
  std::error_code error;
  const auto size = fs::file_size(path, error);
  return !error && size > 0;
}

// Without a log beside it the file is complete, and can be read without leaving a trace.
const char* reading_options(const std::string& path) {
  return has_content(path + "-wal") || has_content(path + "-journal") ? "mode=ro"
                                                                      : "mode=ro&immutable=1";
}

// Written while a log was to lie beside it, and none does: copied without it, or the last program
// to close it was another.
std::optional<horizon::Error> log_is_missing(const std::string& path) {
  char header[20] = {};
  std::ifstream(path, std::ios::binary).read(header, sizeof header);
  std::error_code error;
  if (header[18] != 2 || fs::exists(path + "-wal", error)) return {};
  return horizon::Error{Code::bad_input, "error.log_missing", path};
}

// What a kill or a power cut left half changed is put back to what was acknowledged. Where the
// file cannot be written, on a copy.
std::unique_ptr<Database> open_to_read(const std::string& path, Access access) {
  if (!has_content(path + "-journal"))
    return std::make_unique<Database>(path, reading_options(path));
  if (!from_outside(access)) try {
      auto db = std::make_unique<Database>(path, "mode=rw");
      db->number("PRAGMA user_version");
      return db;
    } catch (const Failure&) {
      // Not ours to write: a copy then.
    }
  const std::string copy = (fs::temp_directory_path() / ("adret-read-" + random_hex(8))).string();
  const auto discard = [&] {
    std::error_code ignored;
    for (const char* end : {"", "-journal"}) fs::remove(copy + end, ignored);
  };
  std::error_code error;
  fs::copy_file(path, copy, error);
  if (!error) fs::copy_file(path + "-journal", copy + "-journal", error);
  if (error) {
    discard();
    throw Failure{{Code::failed, {"error.file_not_copied", {error.message()}}, path}};
  }
  try {
    auto db = std::make_unique<Database>(copy, "mode=rw");
    db->number("PRAGMA user_version");
    db->goes_by(path);
    discard();  // it stays as long as it is open
    return db;
  } catch (...) {
    discard();
    throw;
  }
}

void check_pages(Database& db) {
  const std::string state = db.word("PRAGMA quick_check(1)");
  if (state != "ok") give_up(Code::bad_input, {"error.file_damaged_state", {state}}, db.path());
}

void begin_log(Database& db) {
  // FULL: the log is on the disk before a change is acknowledged. Where there is no shared memory
  // for a log, SQLite stays with its rollback journal, which is as safe.
  db.run("PRAGMA synchronous=FULL");
  // EXTRA: the end of a rollback journal, too, is on the disk.
  if (db.word("PRAGMA journal_mode=WAL") != "wal") db.run("PRAGMA synchronous=EXTRA");
}

// What others may have put into it, or an older layout, never gets to the tables of the book.
std::unique_ptr<Store> behind_the_door(std::unique_ptr<Database> source, Access access) {
  auto store = std::make_unique<Store>(std::move(source), access);
  through_the_door(*store->photo_source, store->db,
                   access == Access::received_to_read ? History::none : History::states,
                   store->remarks);
  return store;
}

}  // namespace

Id new_id() { return random_uuid(); }
std::string short_hash(std::string_view text) { return sha256_hex(text).substr(0, 12); }

FieldBook::FieldBook(std::unique_ptr<Store> store) : store_(std::move(store)) {}
FieldBook::FieldBook(FieldBook&&) noexcept = default;
FieldBook& FieldBook::operator=(FieldBook&& other) noexcept {
  if (this != &other) {
    static_cast<void>(close());
    store_ = std::move(other.store_);
  }
  return *this;
}
FieldBook::~FieldBook() { static_cast<void>(close()); }

horizon::Result<FieldBook> FieldBook::create(const std::string& path, Site site) {
  std::error_code error;
  if (fs::exists(path, error)) return horizon::fail(Code::bad_input, "error.file_exists", path);
  if (site.id.empty()) site.id = new_id();
  if (site.created.utc_s == 0) site.created.utc_s = now_utc_s();
  return guarded([&] {
    Cells cells = cells_of(site);
    check_cells(table_of<Site>(), cells);
    auto place = value_or_throw(Unfinished::file(path));
    {
      Store store(place.path(), "mode=rw", Access::write);
      Transaction transaction(store.db);
      create_schema(store.db);
      write_state(store, table_of<Site>(), 0, {}, &cells, new_stamp(table_of<Site>()));
      transaction.commit();
      store.db.close();
    }
    value_or_throw(place.land(Existing::keep));
    return value_or_throw(open(path));
  });
}

horizon::Result<FieldBook> FieldBook::open(const std::string& path, Access access) {
  std::error_code error;
  if (!fs::is_regular_file(path, error))
    return horizon::fail(Code::not_found, "error.no_such_file", path);
  return guarded([&] {
    check_journal(path);
    const auto missing = log_is_missing(path);
    std::unique_ptr<Store> store;
    std::vector<horizon::Error> remarks;
    if (access == Access::write) {
      store = std::make_unique<Store>(path, "mode=rw", access);
      check_is_site_file(store->db);
      if (!has_our_schema(store->db)) {
        store.reset();
        rewrite_through_the_door(path, remarks);
        store = std::make_unique<Store>(path, "mode=rw", access);
      }
      begin_log(store->db);
      Transaction probe(store->db);  // a read-only file or a lock shows now, not at the first mark
    } else {
      auto db = open_to_read(path, access);
      check_is_site_file(*db);
      if (from_outside(access)) check_pages(*db);
      store = from_outside(access) || !has_our_schema(*db)
                  ? behind_the_door(std::move(db), access)
                  : std::make_unique<Store>(std::move(*db), access);
    }
    store->remarks.insert(store->remarks.end(), remarks.begin(), remarks.end());
    if (missing) store->remarks.push_back(*missing);
    return FieldBook(std::move(store));
  });
}

const std::vector<horizon::Error>& FieldBook::remarks() const { return store_->remarks; }

horizon::Result<Closed> FieldBook::close() {
  if (!store_) return Closed{};
  const auto store = std::move(store_);
  return guarded([&] {
    Closed closed;
    Database& db = store->db;
    if (store->access == Access::write) {
      // All is kept by now: what follows only tidies up, and may be done the next time.
      if (store->touched)
        (void)guarded([&] {
          Transaction transaction(db);
          refresh_contents(db);
          transaction.commit();
        });
      const auto mode = guarded([&] { return db.word("PRAGMA journal_mode=DELETE"); });
      closed.log_beside = !mode || *mode == "wal";
    }
    db.close();
    return closed;
  });
}

const std::string& FieldBook::path() const { return store_->db.path(); }
bool FieldBook::read_only() const { return store_->access != Access::write; }
std::uint64_t FieldBook::change_count() const { return store_->changes; }

template <class Row>
horizon::Result<std::vector<Row>> FieldBook::all() const {
  return guarded([&] {
    std::vector<Row> rows;
    const Table& table = table_of<Row>();
    each_row(*store_, table, [&](const Statement& statement) {
      rows.push_back(checked_row<Row>(table, cells_of_row(table, statement)));
    });
    return rows;
  });
}

template <class Row>
horizon::Result<Row> FieldBook::get(const Id& id) const {
  return guarded([&] {
    const auto row = find_row(*store_, table_of<Row>(), id);
    if (!row) give_up(Code::not_found, "error.no_such_row", table_of<Row>().name + " " + id);
    return checked_row<Row>(table_of<Row>(), row->cells);
  });
}

template <class Row>
horizon::Result<std::vector<Row>> FieldBook::where(std::string_view column, const Id& id) const {
  return guarded([&] {
    std::vector<Row> rows;
    each_where(*store_, table_of<Row>(), column, id, [&](Cells cells) {
      rows.push_back(checked_row<Row>(table_of<Row>(), std::move(cells)));
    });
    return rows;
  });
}

template <class Row>
horizon::Result<Id> FieldBook::put(Row row) {
  return guarded([&] { return put_row(*store_, table_of<Row>(), cells_of(row)); });
}

template <class Row>
horizon::Result<void> FieldBook::remove(const Id& id) {
  return guarded([&] { remove_row(*store_, table_of<Row>(), id); });
}

#define ADRET_ROW(Row)                                                                          \
  template horizon::Result<std::vector<Row>> FieldBook::all<Row>() const;                       \
  template horizon::Result<Row> FieldBook::get<Row>(const Id&) const;                           \
  template horizon::Result<std::vector<Row>> FieldBook::where<Row>(std::string_view, const Id&) \
      const;                                                                                    \
  template horizon::Result<Id> FieldBook::put<Row>(Row);                                        \
  template horizon::Result<void> FieldBook::remove<Row>(const Id&)
ADRET_ROW(Site);
ADRET_ROW(Visit);
ADRET_ROW(Station);
ADRET_ROW(Fix);
ADRET_ROW(Landmark);
ADRET_ROW(Photo);
ADRET_ROW(Sighting);
ADRET_ROW(HeadingCheckRow);
ADRET_ROW(ContactRow);
ADRET_ROW(DiaryRow);
ADRET_ROW(ObstacleRow);
ADRET_ROW(SoilPit);
ADRET_ROW(SoilLayer);
ADRET_ROW(PercolationTest);
ADRET_ROW(PercolationReading);
ADRET_ROW(SiteNote);
ADRET_ROW(Hazard);
ADRET_ROW(Person);
ADRET_ROW(Path);
ADRET_ROW(ClimateNormals);
ADRET_ROW(DesignChoices);
ADRET_ROW(Finding);
#undef ADRET_ROW

horizon::Result<Site> FieldBook::site() const {
  auto sites = all<Site>();
  if (!sites) return tl::unexpected(sites.error());
  if (sites->empty()) return horizon::fail(Code::not_found, "error.file_names_no_site", path());
  return sites->front();
}

horizon::Result<DesignChoices> FieldBook::design() const {
  auto rows = all<DesignChoices>();
  if (!rows) return tl::unexpected(rows.error());
  return rows->empty() ? DesignChoices{} : rows->front();
}

namespace {

template <class Row>
horizon::Result<void> void_row(FieldBook& book, const Id& id, std::string reason, Moment when) {
  auto row = book.get<Row>(id);
  if (!row) return tl::unexpected(row.error());
  row->voided = when;
  row->void_reason = std::move(reason);
  if (auto put = book.put(std::move(*row)); !put) return tl::unexpected(put.error());
  return {};
}

}  // namespace

horizon::Result<void> FieldBook::void_sighting(const Id& id, std::string reason, Moment when) {
  return void_row<Sighting>(*this, id, std::move(reason), when);
}
horizon::Result<void> FieldBook::void_check(const Id& id, std::string reason, Moment when) {
  return void_row<HeadingCheckRow>(*this, id, std::move(reason), when);
}
horizon::Result<void> FieldBook::void_contact(const Id& id, std::string reason, Moment when) {
  return void_row<ContactRow>(*this, id, std::move(reason), when);
}

horizon::Result<void> FieldBook::change(const std::string& name,
                                        const std::function<horizon::Result<void>()>& work) {
  return guarded([&] { in_change(*store_, name, [&] { value_or_throw(work()); }); });
}

}  // namespace survey
