#include "survey/book/durable.h"

#include <fcntl.h>
#include <sys/file.h>
#include <sys/stat.h>
#include <unistd.h>

#include <algorithm>
#include <cerrno>
#include <cstdio>
#include <cstring>
#include <filesystem>
#include <utility>

#include "survey/book/sql.h"

namespace survey {

namespace fs = std::filesystem;
using horizon::Code;
using horizon::Result;

namespace {

constexpr std::string_view kMark = ".adret-";  // then 12 hex digits, '~', the wanted name
constexpr std::size_t kMarkLength = 20;

std::string folder_of(const std::string& path) {
  const std::string folder = fs::path(path).parent_path().string();
  return folder.empty() ? "." : folder;
}

// Of a name that may be as long as the system allows.
std::string hidden_name(const std::string& wanted) {
  std::string name = fs::path(wanted).filename().string();
  if (name.size() > 200) {
    std::size_t end = 200;
    while (end > 0 && (name[end] & 0xc0) == 0x80) --end;
    name.resize(end);
  }
  return (fs::path(folder_of(wanted)) / (std::string(kMark) + random_hex(6) + "~" + name)).string();
}

bool is_hidden_name(const std::string& name) {
  return name.size() > kMarkLength && name.starts_with(kMark) && name[kMarkLength - 1] == '~';
}

bool is_beside(std::string_view end) { return end == "-wal" || end == "-shm" || end == "-journal"; }

tl::unexpected<horizon::Error> refused(const std::string& path, int number) {
  return tl::unexpected(disk_error(path, number));
}

int write_all(int file, std::string_view bytes) {
  while (!bytes.empty()) {
    const ssize_t done = ::write(file, bytes.data(), bytes.size());
    if (done < 0 && errno == EINTR) continue;
    if (done <= 0) return done < 0 ? errno : ENOSPC;
    bytes.remove_prefix(static_cast<std::size_t>(done));
  }
  return 0;
}

int flush_folder(const std::string& folder) {
  const int at = ::open(folder.c_str(), O_RDONLY | O_DIRECTORY | O_CLOEXEC);
  if (at < 0) return errno;
  const int number = ::fsync(at) == 0 ? 0 : errno;
  ::close(at);
  return number == EINVAL ? 0 : number;  // a file system that has no such thing
}

int rename_to(const std::string& from, const std::string& to, Existing existing) {
  if (existing == Existing::replace) return std::rename(from.c_str(), to.c_str()) == 0 ? 0 : errno;
#if defined(__linux__) && defined(RENAME_NOREPLACE)
  if (::renameat2(AT_FDCWD, from.c_str(), AT_FDCWD, to.c_str(), RENAME_NOREPLACE) == 0) return 0;
  if (errno != EINVAL && errno != ENOSYS) return errno;
#endif
  struct stat there;
  if (::lstat(to.c_str(), &there) == 0) return EEXIST;
  return std::rename(from.c_str(), to.c_str()) == 0 ? 0 : errno;
}

// The lock says that somebody is at work on it. The browser has one program and no locks.
bool hold(int file) {
#ifdef __EMSCRIPTEN__
  return file >= 0;
#else
  return file < 0 || ::flock(file, LOCK_EX | LOCK_NB) == 0 || errno != EWOULDBLOCK;
#endif
}

// Both files and folders; a folder's files were flushed by whoever wrote them.
int flush_one(const std::string& path) {
  const int at = ::open(path.c_str(), O_RDONLY | O_NOFOLLOW | O_CLOEXEC);
  if (at < 0) return errno;
  const int number = ::fsync(at) == 0 ? 0 : errno;
  ::close(at);
  return number == EINVAL ? 0 : number;
}

}  // namespace

horizon::Error disk_error(const std::string& path, int number) {
  switch (number) {
    case ENOSPC:
    case EFBIG:
    case EDQUOT:
      return {Code::failed, "error.disk_full_choose", path};
    case EACCES:
    case EROFS:
    case EPERM:
      return {Code::failed, "error.folder_not_writable", path};
    case EEXIST:
      return {Code::bad_input, "error.file_exists", path};
    default:
      return {Code::failed, {"error.not_written", {std::strerror(number)}}, path};
  }
}

Result<void> write_file(const std::string& path, std::string_view bytes, Existing existing) {
  auto place = Unfinished::file(path);
  if (!place) return tl::unexpected(place.error());
  const int file = ::open(place->path().c_str(), O_WRONLY | O_NOFOLLOW | O_CLOEXEC);
  if (file < 0) return refused(path, errno);
  int number = write_all(file, bytes);
  if (::close(file) != 0 && number == 0) number = errno;
  if (number != 0) return refused(path, number);
  return place->land(existing);
}

Result<void> write_scratch(const std::string& path, std::string_view bytes) {
  const int file = ::open(path.c_str(), O_WRONLY | O_CREAT | O_EXCL | O_NOFOLLOW | O_CLOEXEC, 0666);
  if (file < 0) return refused(path, errno);
  int number = write_all(file, bytes);
  if (::close(file) != 0 && number == 0) number = errno;
  if (number != 0) return refused(path, number);
  return {};
}

Result<Unfinished> Unfinished::file(const std::string& wanted) {
  return guarded([&] {
    Unfinished place;
    place.wanted_ = wanted;
    const std::string hidden = hidden_name(wanted);
    place.lock_ = ::open(hidden.c_str(), O_RDWR | O_CREAT | O_EXCL | O_NOFOLLOW | O_CLOEXEC, 0666);
    if (place.lock_ < 0) throw Failure{disk_error(wanted, errno)};
    place.path_ = hidden;
    hold(place.lock_);
    return place;
  });
}

Result<Unfinished> Unfinished::folder(const std::string& wanted) {
  return guarded([&] {
    Unfinished place;
    place.wanted_ = wanted;
    const std::string hidden = hidden_name(wanted);
    if (::mkdir(hidden.c_str(), 0777) != 0) throw Failure{disk_error(wanted, errno)};
    place.path_ = hidden;
    place.lock_ = ::open(hidden.c_str(), O_RDONLY | O_DIRECTORY | O_CLOEXEC);
    hold(place.lock_);
    return place;
  });
}

Unfinished::Unfinished(Unfinished&& other) noexcept
    : wanted_(std::move(other.wanted_)),
      path_(std::exchange(other.path_, {})),
      lock_(std::exchange(other.lock_, -1)) {}

Unfinished::~Unfinished() {
  std::error_code ignored;
  if (!path_.empty()) {
    fs::remove_all(path_, ignored);
    for (const char* end : {"-wal", "-shm", "-journal"}) fs::remove(path_ + end, ignored);
  }
  if (lock_ >= 0) ::close(lock_);
}

Result<void> Unfinished::land(Existing existing) {
  auto done = move_file(path_, wanted_, existing);
  if (done) path_.clear();
  return done;
}

Result<void> move_file(const std::string& from, const std::string& to, Existing existing) {
  if (const int number = flush_one(from)) return refused(to, number);
  if (const int number = rename_to(from, to, existing)) return refused(to, number);
  if (const int number = flush_folder(folder_of(to))) return refused(to, number);
  return {};
}

Result<void> flush_to_device(const std::string& path) {
  std::error_code ignored;
  const int number = fs::is_directory(path, ignored) ? flush_folder(path) : flush_one(path);
  if (number) return refused(path, number);
  return {};
}

std::vector<std::string> clear_leftovers(const std::string& folder) {
  std::vector<std::string> were;
  std::error_code error;
  std::vector<fs::path> found;
  for (fs::directory_iterator at(folder, error), end; !error && at != end; at.increment(error)) {
    const std::string name = at->path().filename().string();
    if (is_hidden_name(name) || name.starts_with(".unfinished-")) found.push_back(at->path());
  }
  std::ranges::sort(found);  // a database before what lies beside it
  for (const fs::path& path : found) {
    const std::string name = path.filename().string();
    // A journal goes when its database has gone.
    if (const auto dash = name.rfind('-');
        dash != std::string::npos && is_beside(name.substr(dash))) {
      if (!fs::exists(path.parent_path() / name.substr(0, dash), error)) fs::remove(path, error);
      continue;
    }
    const int at = ::open(path.c_str(), O_RDONLY | O_NOFOLLOW | O_NONBLOCK | O_CLOEXEC);
    if (hold(at)) {
      fs::remove_all(path, error);
      if (!error) were.push_back(is_hidden_name(name) ? name.substr(kMarkLength) : name);
    }
    if (at >= 0) ::close(at);
  }
  return were;
}

}  // namespace survey
