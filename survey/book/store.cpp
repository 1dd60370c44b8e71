#include "survey/book/store.h"

#include <filesystem>

#include "horizon/time.h"
#include "survey/book/row_cells.h"
#include "survey/book/store_internal.h"

namespace survey {

using horizon::Code;
namespace fs = std::filesystem;

namespace {

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

void begin_log(Database& db) {
  // FULL: the log is on the disk before a change is acknowledged. Where there is no shared memory
  // for a log, SQLite stays with its rollback journal, which is as safe.
  db.run("PRAGMA synchronous=FULL");
  db.prepare("PRAGMA journal_mode=WAL").step();
}

}  // namespace

Id new_id() { return random_uuid(); }

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
  auto book = guarded([&] {
    Cells cells = cells_of(site);
    check_cells(table_of<Site>(), cells);
    auto store = std::make_unique<Store>(path, "mode=rwc", Access::write);
    Database& db = store->db;
    begin_log(db);
    Transaction transaction(db);
    create_schema(db);
    write_state(*store, table_of<Site>(), 0, {}, &cells, new_stamp(table_of<Site>()));
    transaction.commit();
    return FieldBook(std::move(store));
  });
  // What was begun of a file that did not come about is no use to anyone.
  if (!book && !has_content(path)) fs::remove(path, error);
  return book;
}

horizon::Result<FieldBook> FieldBook::open(const std::string& path, Access access) {
  std::error_code error;
  if (!fs::is_regular_file(path, error))
    return horizon::fail(Code::not_found, "error.no_such_file", path);
  return guarded([&] {
    const bool write = access == Access::write;
    auto open_it = [&] {
      auto store = std::make_unique<Store>(path, write ? "mode=rw" : reading_options(path), access);
      check_schema(store->db);
      return store;
    };
    auto store = open_it();
    if (access == Access::received) {
      const std::string state = store->db.word("PRAGMA quick_check(1)");
      if (state != "ok") give_up(Code::bad_input, {"error.file_damaged_state", {state}}, path);
    }
    const bool old = store->db.number("SELECT max(version) FROM adret_schema") < kSchemaVersion;
    if (old && !write) {
      store = std::make_unique<Store>(*store);
      migrate(store->db);
      check_schema(store->db);
    }
    if (write) {
      if (old) {
        store.reset();
        migrate(path);
        store = open_it();
      }
      begin_log(store->db);
      Transaction probe(store->db);  // a read-only file or a lock shows now, not at the first mark
    }
    return FieldBook(std::move(store));
  });
}

horizon::Result<void> FieldBook::close() {
  if (!store_) return {};
  const auto store = std::move(store_);
  if (store->access != Access::write) return guarded([&] { store->db.close(); });
  return guarded([&] {
    Database& db = store->db;
    if (store->touched) {
      Transaction transaction(db);
      refresh_contents(db);
      transaction.commit();
    }
    const std::string mode = db.word("PRAGMA journal_mode=DELETE");
    db.close();
    if (mode == "wal") give_up(Code::failed, "error.file_still_open_elsewhere", store->db.path());
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
    Statement& statement = store_->db.again("SELECT " + select_list(table) + " FROM " +
                                            sql_name(table.name) + " ORDER BY fid");
    while (statement.step()) rows.push_back(row_of<Row>(stored_row(table, statement).cells));
    statement.reset();
    return rows;
  });
}

template <class Row>
horizon::Result<Row> FieldBook::get(const Id& id) const {
  return guarded([&] {
    const auto row = find_row(*store_, table_of<Row>(), id);
    if (!row) give_up(Code::not_found, "error.no_such_row", table_of<Row>().name + " " + id);
    return row_of<Row>(row->cells);
  });
}

template <class Row>
horizon::Result<std::vector<Row>> FieldBook::where(std::string_view column, const Id& id) const {
  return guarded([&] {
    std::vector<Row> rows;
    for (const Cells& cells : rows_where(*store_, table_of<Row>(), column, id))
      rows.push_back(row_of<Row>(cells));
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
