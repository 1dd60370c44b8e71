#include "app/handover/zip.h"

#include <zip.h>

#include <algorithm>
#include <cstdio>
#include <filesystem>
#include <memory>

namespace app {
namespace {

using horizon::Code;
using horizon::fail;

// MS-DOS date and time of the UTC instant, so that the machine's zone does not matter.
std::pair<zip_uint16_t, zip_uint16_t> dos_time(double utc_s) {
  const horizon::Date date = horizon::date_of(utc_s);
  const int year = std::clamp(static_cast<int>(date.year()), 1980, 2107);
  const auto second = static_cast<unsigned>(utc_s - horizon::start_of_day_utc_s(date));
  const unsigned day = static_cast<unsigned>(year - 1980) << 9 |
                       static_cast<unsigned>(date.month()) << 5 | static_cast<unsigned>(date.day());
  const unsigned time = second / 3600 << 11 | second / 60 % 60 << 5 | second % 60 / 2;
  return {static_cast<zip_uint16_t>(time), static_cast<zip_uint16_t>(day)};
}

}  // namespace

horizon::Result<void> write_zip(const std::string& path, const std::vector<ZipEntry>& entries,
                                double time_utc_s, const Progress& progress,
                                const Cancelled& cancelled) {
  int code = 0;
  zip_t* archive = zip_open(path.c_str(), ZIP_CREATE | ZIP_TRUNCATE, &code);
  if (!archive) {
    zip_error_t error;
    zip_error_init_with_code(&error, code);
    std::string words = zip_error_strerror(&error);
    zip_error_fini(&error);
    return fail(Code::failed, {"error.package_not_begun", {words}}, path);
  }
  const auto [time, day] = dos_time(time_utc_s);
  const auto give_up = [&](const std::string& where) {
    const std::string words = zip_strerror(archive);
    zip_discard(archive);
    std::remove(path.c_str());
    return fail(Code::failed, {"error.package_not_written", {words}}, where);
  };
  // A table of a hundred thousand rows takes seconds to pack well, and hardly gets smaller by it.
  constexpr std::uintmax_t kLarge = 4'000'000;
  constexpr zip_uint32_t kWell = 6, kFast = 1;
  for (const auto& entry : entries) {
    std::error_code unreadable;  // told by what reads it
    const auto bytes = std::filesystem::file_size(entry.path, unreadable);
    const zip_uint32_t level = !unreadable && bytes > kLarge ? kFast : kWell;
    zip_source_t* source = zip_source_file(archive, entry.path.c_str(), 0, -1);
    if (!source) return give_up(entry.path);
    const zip_int64_t index = zip_file_add(archive, entry.name.c_str(), source, ZIP_FL_ENC_UTF_8);
    if (index < 0) {
      zip_source_free(source);
      return give_up(entry.name);
    }
    const auto at = static_cast<zip_uint64_t>(index);
    if (zip_file_set_dostime(archive, at, time, day, 0) < 0 ||
        zip_set_file_compression(archive, at, entry.packed_already ? ZIP_CM_STORE : ZIP_CM_DEFLATE,
                                 level) < 0 ||
        zip_file_set_external_attributes(archive, at, 0, ZIP_OPSYS_UNIX, 0100644u << 16) < 0) {
      return give_up(entry.name);
    }
  }
  struct Calls {
    const Progress& progress;
    const Cancelled& cancelled;
  } calls{progress, cancelled};
  zip_register_progress_callback_with_state(
      archive, 0.02,
      [](zip_t*, double part, void* state) {
        const auto& to = static_cast<Calls*>(state)->progress;
        if (to) to(part, "");
      },
      nullptr, &calls);
  zip_register_cancel_callback_with_state(
      archive,
      [](zip_t*, void* state) {
        const auto& ask = static_cast<Calls*>(state)->cancelled;
        return ask && ask() ? 1 : 0;
      },
      nullptr, &calls);
  if (zip_close(archive) < 0) {
    if (cancelled && cancelled()) {
      zip_discard(archive);
      std::remove(path.c_str());
      return tl::unexpected(cancelled_error());
    }
    return give_up(path);
  }
  return {};
}

horizon::Result<std::vector<Unzipped>> read_zip(
    std::span<const std::uint8_t> archive,
    const std::function<bool(const std::string& name)>& wanted) {
  constexpr zip_int64_t kMostEntries = 1000;
  constexpr zip_uint64_t kMostBytes = 1'000'000'000;
  const auto refused = [](const std::string& where) {
    return fail(Code::bad_input, "error.zip_not_read", where);
  };
  zip_error_t error;
  zip_error_init(&error);
  zip_source_t* source = zip_source_buffer_create(archive.data(), archive.size(), 0, &error);
  zip_t* const opened = source ? zip_open_from_source(source, ZIP_RDONLY, &error) : nullptr;
  zip_error_fini(&error);
  if (!opened) {
    if (source) zip_source_free(source);
    return refused("");
  }
  const std::unique_ptr<zip_t, decltype(&zip_discard)> zip(opened, zip_discard);
  const zip_int64_t count = zip_get_num_entries(zip.get(), 0);
  if (count > kMostEntries) return fail(Code::bad_input, "error.zip_too_large");
  std::vector<Unzipped> out;
  zip_uint64_t bytes = 0;
  for (zip_uint64_t i = 0; i < static_cast<zip_uint64_t>(count); ++i) {
    zip_stat_t about;
    if (zip_stat_index(zip.get(), i, 0, &about) != 0 || !(about.valid & ZIP_STAT_NAME) ||
        !(about.valid & ZIP_STAT_SIZE))
      return refused("");
    const std::string whole = about.name;
    const std::string name = whole.substr(whole.find_last_of("/\\") + 1);
    if (name.empty() || !wanted(name)) continue;
    bytes += about.size;
    if (about.size > kMostBytes || bytes > kMostBytes)
      return fail(Code::bad_input, "error.zip_too_large");
    const std::unique_ptr<zip_file_t, decltype(&zip_fclose)> file(zip_fopen_index(zip.get(), i, 0),
                                                                  zip_fclose);
    Unzipped one{name, std::vector<std::uint8_t>(about.size)};
    // To its end, where the checksum is compared.
    if (!file ||
        zip_fread(file.get(), one.bytes.data(), about.size) != static_cast<zip_int64_t>(about.size))
      return refused(name);
    std::uint8_t beyond = 0;
    if (zip_fread(file.get(), &beyond, 1) != 0) return refused(name);
    out.push_back(std::move(one));
  }
  return out;
}

}  // namespace app
