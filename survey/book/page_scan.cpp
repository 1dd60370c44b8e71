#include "survey/book/page_scan.h"

#include <bit>
#include <fstream>
#include <unordered_set>

namespace survey {

namespace {

constexpr std::uint64_t kLargestRecord = 64'000'000;

std::uint64_t big_endian(std::string_view bytes) {
  std::uint64_t value = 0;
  for (const char c : bytes) value = value << 8 | static_cast<unsigned char>(c);
  return value;
}

// Up to nine bytes, seven bits each, the ninth whole.
bool take_varint(std::string_view& bytes, std::uint64_t& value) {
  value = 0;
  for (int i = 0; i < 9; ++i) {
    if (bytes.empty()) return false;
    const auto byte = static_cast<unsigned char>(bytes.front());
    bytes.remove_prefix(1);
    if (i == 8) {
      value = value << 8 | byte;
      return true;
    }
    value = value << 7 | (byte & 0x7f);
    if (!(byte & 0x80)) return true;
  }
  return false;
}

class Pages {
 public:
  explicit Pages(const std::string& path) : file_(path, std::ios::binary) {
    file_.seekg(0, std::ios::end);
    bytes_ = file_ ? static_cast<std::uint64_t>(file_.tellg()) : 0;
    std::string header(100, '\0');
    file_.seekg(0);
    file_.read(header.data(), 100);
    file_.clear();
    std::uint64_t size = big_endian(std::string_view(header).substr(16, 2));
    if (size == 1) size = 65536;
    // A damaged header: this program writes SQLite's own default.
    size_ = std::has_single_bit(size) && size >= 512 ? size : 4096;
    reserved_ =
        static_cast<unsigned char>(header[20]) <= 32 ? static_cast<unsigned char>(header[20]) : 0;
  }
  std::uint64_t count() const { return (bytes_ + size_ - 1) / size_; }
  std::uint64_t usable() const { return size_ - reserved_; }
  std::string read(std::uint64_t number) {  // from 1
    std::string page(size_, '\0');
    file_.seekg(static_cast<std::streamoff>((number - 1) * size_));
    file_.read(page.data(), static_cast<std::streamsize>(size_));
    file_.clear();
    return page;
  }

 private:
  std::ifstream file_;
  std::uint64_t bytes_ = 0, size_ = 4096, reserved_ = 0;
};

bool read_record(std::string_view record, Cells& cells) {
  std::string_view header = record;
  std::uint64_t header_size = 0;
  if (!take_varint(header, header_size) || header_size > record.size() ||
      header_size < record.size() - header.size())
    return false;
  header = header.substr(0, header_size - (record.size() - header.size()));
  std::string_view body = record.substr(header_size);
  cells.clear();
  while (!header.empty()) {
    std::uint64_t type = 0;
    if (!take_varint(header, type)) return false;
    constexpr std::uint64_t kSizes[10] = {0, 1, 2, 3, 4, 6, 8, 8, 0, 0};
    if (type == 10 || type == 11) return false;
    const std::uint64_t size = type < 10 ? kSizes[type] : (type - 12) / 2;
    if (size > body.size()) return false;
    const std::string_view value = body.substr(0, size);
    body.remove_prefix(size);
    if (type == 0) {
      cells.emplace_back();
    } else if (type == 8 || type == 9) {
      cells.emplace_back(static_cast<std::int64_t>(type - 8));
    } else if (type == 7) {
      cells.emplace_back(std::bit_cast<double>(big_endian(value)));
    } else if (type < 7) {
      const int unused = 64 - 8 * static_cast<int>(size);
      cells.emplace_back(static_cast<std::int64_t>(big_endian(value) << unused) >> unused);
    } else if (type % 2 == 0) {
      cells.emplace_back(Blob{std::string(value)});
    } else {
      cells.emplace_back(std::string(value));
    }
  }
  return true;
}

// The record of a cell, its overflow pages followed.
bool read_cell(Pages& pages, std::string_view cell, std::string& record) {
  std::uint64_t length = 0, rowid = 0;
  if (!take_varint(cell, length) || !take_varint(cell, rowid) || length > kLargestRecord)
    return false;
  const std::uint64_t usable = pages.usable(), most = usable - 35;
  std::uint64_t local = length;
  if (length > most) {
    const std::uint64_t least = (usable - 12) * 32 / 255 - 23;
    local = least + (length - least) % (usable - 4);
    if (local > most) local = least;
  }
  if (local > cell.size()) return false;
  record = cell.substr(0, local);
  if (local == length) return true;
  if (cell.size() < local + 4) return false;
  std::uint64_t next = big_endian(cell.substr(local, 4));
  while (record.size() < length) {
    if (next < 1 || next > pages.count()) return false;
    const std::string page = pages.read(next);
    next = big_endian(std::string_view(page).substr(0, 4));
    record += std::string_view(page).substr(4, std::min(usable - 4, length - record.size()));
  }
  return true;
}

}  // namespace

void scan_pages(const std::string& path, const std::function<void(Cells&)>& found) {
  Pages pages(path);
  std::string record;
  Cells cells;
  for (std::uint64_t number = 1; number <= pages.count(); ++number) {
    const std::string page = pages.read(number);
    const std::string_view bytes(page);
    const std::size_t start = number == 1 ? 100 : 0;
    if (bytes[start] != 0x0d) continue;
    const std::uint64_t count = big_endian(bytes.substr(start + 3, 2));
    for (std::uint64_t i = 0; i < count && start + 10 + 2 * i <= bytes.size(); ++i) {
      const std::uint64_t at = big_endian(bytes.substr(start + 8 + 2 * i, 2));
      if (at >= pages.usable()) continue;
      if (read_cell(pages, bytes.substr(at, pages.usable() - at), record) &&
          read_record(record, cells))
        found(cells);
    }
  }
}

}  // namespace survey
