// tests/survey/book/fault_vfs.h: SQLite's own file layer (sqlite3_vfs) with faults on demand, and a
// model of what a disk holds after a power cut: everything flushed, and of the rest any part.
#pragma once

#include <sqlite3.h>

#include <algorithm>
#include <cstring>
#include <filesystem>
#include <fstream>
#include <functional>
#include <map>
#include <memory>
#include <random>
#include <string>
#include <vector>

namespace fault {

enum class Act : unsigned char { none, read, write, flush, truncate, lock, open, remove };

// What the disk holds of one file: the flushed bytes, and writes that may or may not be there.
struct DiskFile {
  struct Pending {
    sqlite3_int64 at;
    std::string bytes;  // empty: truncated to `at`
  };
  std::string flushed;
  std::vector<Pending> pending;
};

struct State {
  Act act = Act::none;
  int at = -1;           // the how many-th such act fails; -1 none
  bool for_good = true;  // and all such acts after it
  int seen = 0, failed = 0;
  bool recording = false;
  std::map<std::string, DiskFile> disk;
  std::function<void()> before_act;  // a power cut may come here

  bool fails(Act what) {
    if (recording && before_act && what != Act::read && what != Act::lock) before_act();
    if (what != act) return false;
    const int number = seen++;
    const bool now = at >= 0 && (number == at || (for_good && number > at));
    failed += now;
    return now;
  }
};
inline State& state() {
  static State it;
  return it;
}

struct File {
  sqlite3_file base;
  sqlite3_file* real;
  std::string* name;
};
inline sqlite3_file* real(sqlite3_file* file) { return reinterpret_cast<File*>(file)->real; }
inline DiskFile* recorded(sqlite3_file* file) {
  const std::string* name = reinterpret_cast<File*>(file)->name;
  return state().recording && name ? &state().disk[*name] : nullptr;
}

inline int close(sqlite3_file* file) {
  File* own = reinterpret_cast<File*>(file);
  const int result = own->real->pMethods ? own->real->pMethods->xClose(own->real) : SQLITE_OK;
  sqlite3_free(own->real);
  delete own->name;
  own->real = nullptr;
  own->name = nullptr;
  return result;
}
inline int read(sqlite3_file* file, void* to, int size, sqlite3_int64 at) {
  if (state().fails(Act::read)) return SQLITE_IOERR_READ;
  return real(file)->pMethods->xRead(real(file), to, size, at);
}
inline int write(sqlite3_file* file, const void* from, int size, sqlite3_int64 at) {
  if (state().fails(Act::write)) return state().at % 2 ? SQLITE_FULL : SQLITE_IOERR_WRITE;
  if (DiskFile* disk = recorded(file))
    disk->pending.push_back({at, std::string(static_cast<const char*>(from), std::size_t(size))});
  return real(file)->pMethods->xWrite(real(file), from, size, at);
}
inline int truncate(sqlite3_file* file, sqlite3_int64 size) {
  if (state().fails(Act::truncate)) return SQLITE_IOERR_TRUNCATE;
  if (DiskFile* disk = recorded(file)) disk->pending.push_back({size, {}});
  return real(file)->pMethods->xTruncate(real(file), size);
}
inline void apply(std::string& bytes, const DiskFile::Pending& p, std::size_t sectors) {
  const auto at = std::size_t(p.at);
  if (p.bytes.empty()) {
    bytes.resize(std::min(bytes.size(), at));
    return;
  }
  const std::size_t size = std::min(p.bytes.size(), sectors * 512);
  if (bytes.size() < at + size) bytes.resize(at + size);
  std::memcpy(bytes.data() + at, p.bytes.data(), size);
}
inline int sync(sqlite3_file* file, int flags) {
  if (state().fails(Act::flush)) return SQLITE_IOERR_FSYNC;
  if (DiskFile* disk = recorded(file)) {
    for (const auto& p : disk->pending) apply(disk->flushed, p, std::size_t(-1) / 512);
    disk->pending.clear();
  }
  return real(file)->pMethods->xSync(real(file), flags);
}
inline int size(sqlite3_file* file, sqlite3_int64* out) {
  return real(file)->pMethods->xFileSize(real(file), out);
}
inline int lock(sqlite3_file* file, int level) {
  if (state().fails(Act::lock)) return SQLITE_BUSY;
  return real(file)->pMethods->xLock(real(file), level);
}
inline int unlock(sqlite3_file* file, int level) {
  return real(file)->pMethods->xUnlock(real(file), level);
}
inline int reserved(sqlite3_file* file, int* out) {
  return real(file)->pMethods->xCheckReservedLock(real(file), out);
}
inline int control(sqlite3_file* file, int op, void* argument) {
  return real(file)->pMethods->xFileControl(real(file), op, argument);
}
inline int sector(sqlite3_file* file) { return real(file)->pMethods->xSectorSize(real(file)); }
// No promise of any device is passed on: neither atomic nor ordered writes.
inline int promises(sqlite3_file*) { return 0; }
inline int shm_map(sqlite3_file* file, int page, int size, int extend, void volatile** out) {
  return real(file)->pMethods->xShmMap(real(file), page, size, extend, out);
}
inline int shm_lock(sqlite3_file* file, int offset, int n, int flags) {
  if (!(flags & SQLITE_SHM_UNLOCK) && state().fails(Act::lock)) return SQLITE_BUSY;
  return real(file)->pMethods->xShmLock(real(file), offset, n, flags);
}
inline void shm_barrier(sqlite3_file* file) { real(file)->pMethods->xShmBarrier(real(file)); }
inline int shm_unmap(sqlite3_file* file, int remove) {
  return real(file)->pMethods->xShmUnmap(real(file), remove);
}

inline const sqlite3_io_methods* methods() {
  static const sqlite3_io_methods it = {2,           close,     read,     write,   truncate,
                                        sync,        size,      lock,     unlock,  reserved,
                                        control,     sector,    promises, shm_map, shm_lock,
                                        shm_barrier, shm_unmap, nullptr,  nullptr};
  return &it;
}

inline sqlite3_vfs* plain() {
  static sqlite3_vfs* it = sqlite3_vfs_find(nullptr);
  return it;
}
inline int open(sqlite3_vfs*, const char* name, sqlite3_file* file, int flags, int* out) {
  File* own = reinterpret_cast<File*>(file);
  own->base.pMethods = nullptr;
  if (state().fails(Act::open)) return SQLITE_CANTOPEN;
  own->real = static_cast<sqlite3_file*>(sqlite3_malloc(plain()->szOsFile));
  if (!own->real) return SQLITE_NOMEM;
  std::memset(own->real, 0, std::size_t(plain()->szOsFile));
  const int result = plain()->xOpen(plain(), name, own->real, flags, out);
  if (result != SQLITE_OK) {
    sqlite3_free(own->real);
    return result;
  }
  own->name = name ? new std::string(name) : nullptr;
  own->base.pMethods = methods();
  return SQLITE_OK;
}
inline int remove(sqlite3_vfs*, const char* name, int sync_folder) {
  if (state().fails(Act::remove)) return SQLITE_IOERR_DELETE;
  if (state().recording) state().disk.erase(name);
  return plain()->xDelete(plain(), name, sync_folder);
}

// While one lives, every database of the program opens through it.
class Layer {
 public:
  Layer() : vfs_(*plain()) {
    vfs_.szOsFile = sizeof(File);
    vfs_.zName = "adret-fault";
    vfs_.pNext = nullptr;
    vfs_.xOpen = open;
    vfs_.xDelete = remove;
    vfs_.xSleep = [](sqlite3_vfs*, int microseconds) { return microseconds; };  // waits for nobody
    state() = {};
    sqlite3_vfs_register(&vfs_, 1);
  }
  ~Layer() {
    sqlite3_vfs_unregister(&vfs_);
    sqlite3_vfs_register(plain(), 1);
    state() = {};
  }
  Layer(const Layer&) = delete;
  Layer& operator=(const Layer&) = delete;

  void fail(Act act, int at, bool for_good) {
    state() = {};
    state().act = act;
    state().at = at;
    state().for_good = for_good;
  }
  void heal() { state() = {}; }
  // From now on the writes are kept; what lies at `path` (and its log) counts as flushed.
  void record(const std::string& path) {
    state() = {};
    state().recording = true;
    for (const char* end : {"", "-wal", "-journal"}) {
      std::ifstream in(path + end, std::ios::binary);
      if (in)
        state().disk[path + end].flushed =
            std::string(std::istreambuf_iterator<char>(in), std::istreambuf_iterator<char>());
    }
  }

 private:
  sqlite3_vfs vfs_;
};

// What a disk may hold when the power goes now: of each unflushed write all, nothing or its first
// sectors, in any combination.
inline void write_after_cut(const std::string& path, const std::string& to, std::mt19937& random) {
  for (const auto& [name, file] : state().disk) {
    if (!name.starts_with(path)) continue;
    std::string bytes = file.flushed;
    const unsigned style = random() % 3;  // a prefix in order, any of them, or none
    const std::size_t prefix = random() % (file.pending.size() + 1);
    for (std::size_t i = 0; i < file.pending.size(); ++i) {
      const auto& p = file.pending[i];
      if (style == 0 ? i > prefix : style == 1 ? random() % 2 : true) continue;
      const bool torn = style == 0 ? i == prefix : random() % 8 == 0;
      apply(bytes, p, torn ? random() % (p.bytes.size() / 512 + 1) : std::size_t(-1) / 512);
    }
    std::ofstream(to + name.substr(path.size()), std::ios::binary | std::ios::trunc) << bytes;
  }
}

}  // namespace fault
