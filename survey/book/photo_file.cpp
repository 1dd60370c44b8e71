#include "survey/book/photo_file.h"

#include <libexif/exif-data.h>

#include <cmath>
#include <cstdio>
#include <memory>

#include "horizon/angle.h"
#include "horizon/time.h"
#include "survey/book/store.h"
#include "survey/book/text.h"

namespace survey {

using horizon::Code;
using horizon::fail;

namespace {

unsigned byte_at(std::string_view bytes, std::size_t at) {
  return static_cast<unsigned char>(bytes[at]);
}
unsigned two_at(std::string_view bytes, std::size_t at) {
  return byte_at(bytes, at) << 8 | byte_at(bytes, at + 1);
}
std::uint32_t four_at(std::string_view bytes, std::size_t at) {
  return two_at(bytes, at) << 16 | two_at(bytes, at + 2);
}

struct Picture {
  int width = 0, height = 0;
  std::string_view exif;  // begins "Exif\0\0", or empty
};

horizon::Result<Picture> read_jpeg(std::string_view bytes) {
  Picture picture;
  std::size_t at = 2;
  while (at + 4 <= bytes.size()) {
    if (byte_at(bytes, at) != 0xff) break;
    const unsigned marker = byte_at(bytes, at + 1);
    if (marker == 0xff) {  // a fill byte
      ++at;
      continue;
    }
    const std::size_t length = two_at(bytes, at + 2);
    if (length < 2 || at + 2 + length > bytes.size()) break;
    const std::string_view body = bytes.substr(at + 4, length - 2);
    if (marker == 0xe1 && body.starts_with(std::string_view("Exif\0\0", 6)) && picture.exif.empty())
      picture.exif = body;
    // All starts of frame; c4, c8 and cc are tables.
    if (marker >= 0xc0 && marker <= 0xcf && marker != 0xc4 && marker != 0xc8 && marker != 0xcc) {
      if (body.size() < 5) break;
      picture.height = static_cast<int>(two_at(body, 1));
      picture.width = static_cast<int>(two_at(body, 3));
    }
    if (marker == 0xda) return picture;  // the picture itself begins
    at += 2 + length;
  }
  return fail(Code::bad_input, "error.jpeg_damaged");
}

horizon::Result<Picture> read_png(std::string_view bytes, std::string& exif_holder) {
  Picture picture;
  std::size_t at = 8;
  while (at + 12 <= bytes.size()) {
    const std::size_t length = four_at(bytes, at);
    if (length > bytes.size() - at - 12) break;
    const std::string_view type = bytes.substr(at + 4, 4);
    const std::string_view body = bytes.substr(at + 8, length);
    if (type == "IHDR" && length >= 8) {
      picture.width = static_cast<int>(four_at(body, 0) & 0x7fffffff);
      picture.height = static_cast<int>(four_at(body, 4) & 0x7fffffff);
    } else if (type == "eXIf") {
      exif_holder = std::string("Exif\0\0", 6) + std::string(body);
      picture.exif = exif_holder;
    } else if (type == "IEND") {
      return picture;
    }
    at += 12 + length;
  }
  return fail(Code::bad_input, "error.png_damaged");
}

struct Exif {
  explicit Exif(std::string_view bytes) : data(exif_data_new(), &exif_data_unref) {
    // As it was written: with tags younger than the library, and nothing "repaired".
    exif_data_unset_option(data.get(), EXIF_DATA_OPTION_IGNORE_UNKNOWN_TAGS);
    exif_data_unset_option(data.get(), EXIF_DATA_OPTION_FOLLOW_SPECIFICATION);
    exif_data_load_data(data.get(), reinterpret_cast<const unsigned char*>(bytes.data()),
                        static_cast<unsigned>(bytes.size()));
  }
  std::unique_ptr<ExifData, void (*)(ExifData*)> data;

  const ExifEntry* entry(ExifIfd ifd, int tag) const {
    if (!data) return nullptr;
    ExifEntry* found = exif_content_get_entry(data->ifd[ifd], static_cast<ExifTag>(tag));
    return found && found->data ? found : nullptr;
  }
  std::string text(ExifIfd ifd, int tag) const {
    const ExifEntry* found = entry(ifd, tag);
    if (!found || found->format != EXIF_FORMAT_ASCII) return {};
    std::string value(reinterpret_cast<const char*>(found->data), found->size);
    value.resize(std::min(value.size(), value.find('\0')));
    return valid_utf8(value) ? std::string(trimmed(value)) : std::string();
  }
  std::optional<double> rational(ExifIfd ifd, int tag, unsigned index = 0) const {
    const ExifEntry* found = entry(ifd, tag);
    if (!found || found->components <= index || found->size < 8 * (index + 1)) return std::nullopt;
    if (found->format == EXIF_FORMAT_SRATIONAL) {  // against the standard, but phones write it
      const ExifSRational value =
          exif_get_srational(found->data + 8 * index, exif_data_get_byte_order(data.get()));
      if (value.denominator == 0) return std::nullopt;
      return static_cast<double>(value.numerator) / value.denominator;
    }
    if (found->format != EXIF_FORMAT_RATIONAL) return std::nullopt;
    const ExifRational value =
        exif_get_rational(found->data + 8 * index, exif_data_get_byte_order(data.get()));
    if (value.denominator == 0) return std::nullopt;
    return static_cast<double>(value.numerator) / value.denominator;
  }
  std::optional<int> whole(ExifIfd ifd, int tag) const {
    const ExifEntry* found = entry(ifd, tag);
    if (!found || found->components < 1) return std::nullopt;
    const ExifByteOrder order = exif_data_get_byte_order(data.get());
    if (found->format == EXIF_FORMAT_SHORT && found->size >= 2)
      return exif_get_short(found->data, order);
    if (found->format == EXIF_FORMAT_BYTE && found->size >= 1) return found->data[0];
    return std::nullopt;
  }
  // Degrees, minutes, seconds.
  std::optional<double> sixty(int tag) const {
    const auto a = rational(EXIF_IFD_GPS, tag, 0), b = rational(EXIF_IFD_GPS, tag, 1),
               c = rational(EXIF_IFD_GPS, tag, 2);
    if (!a) return std::nullopt;
    return *a + b.value_or(0) / 60 + c.value_or(0) / 3600;
  }
};

// "2026:11:25 14:03:09"; some cameras write zeros or blanks.
std::optional<double> seconds_of(const std::string& text) {
  int y = 0, mo = 0, d = 0, h = 0, mi = 0, s = 0;
  if (std::sscanf(text.c_str(), "%4d:%2d:%2d %2d:%2d:%2d", &y, &mo, &d, &h, &mi, &s) < 3 ||
      y < 1600)
    return std::nullopt;
  char iso[64];
  std::snprintf(iso, sizeof iso, "%04d-%02d-%02dT%02d:%02d:%02dZ", y, mo, d, h, mi, s);
  const auto time = horizon::parse_utc_s(iso);
  return time ? std::optional(*time) : std::nullopt;
}

// "+01:00"
std::optional<double> offset_of(const std::string& text) {
  char sign = 0;
  int h = 0, m = 0;
  if (std::sscanf(text.c_str(), "%c%2d:%2d", &sign, &h, &m) != 3 || (sign != '+' && sign != '-') ||
      h > 14 || m > 59)
    return std::nullopt;
  return (sign == '-' ? -1 : 1) * (h + m / 60.0);
}

void read_place(const Exif& exif, PhotoFacts& facts) {
  auto latitude = exif.sixty(EXIF_TAG_GPS_LATITUDE), longitude = exif.sixty(EXIF_TAG_GPS_LONGITUDE);
  if (latitude && longitude) {
    if (exif.text(EXIF_IFD_GPS, EXIF_TAG_GPS_LATITUDE_REF) == "S") *latitude = -*latitude;
    if (exif.text(EXIF_IFD_GPS, EXIF_TAG_GPS_LONGITUDE_REF) == "W") *longitude = -*longitude;
    if (std::abs(*latitude) <= 90 && std::abs(*longitude) <= 180) {
      facts.position = Position{*latitude, *longitude, {}};
      if (auto height = exif.rational(EXIF_IFD_GPS, EXIF_TAG_GPS_ALTITUDE);
          height && *height < 20000)
        facts.position->height_m =
            exif.whole(EXIF_IFD_GPS, EXIF_TAG_GPS_ALTITUDE_REF) == 1 ? -*height : *height;
    }
  }
  if (const auto bearing = exif.rational(EXIF_IFD_GPS, EXIF_TAG_GPS_IMG_DIRECTION);
      bearing && *bearing <= 360) {
    facts.bearing_deg = horizon::wrap_360(*bearing);
    facts.bearing_magnetic = exif.text(EXIF_IFD_GPS, EXIF_TAG_GPS_IMG_DIRECTION_REF) == "M";
  }
  const std::string date = exif.text(EXIF_IFD_GPS, EXIF_TAG_GPS_DATE_STAMP);
  const auto hours = exif.sixty(EXIF_TAG_GPS_TIME_STAMP);
  if (const auto day = seconds_of(date); day && hours && *hours < 24.01)
    facts.satellite_utc_s = *day + *hours * 3600;
}

void read_lens(const Exif& exif, PhotoFacts& facts) {
  const auto equivalent = exif.whole(EXIF_IFD_EXIF, EXIF_TAG_FOCAL_LENGTH_IN_35MM_FILM);
  if (!equivalent || *equivalent <= 0 || facts.width_px == 0 || facts.height_px == 0) return;
  // CIPA DC-008: equivalent by the diagonal of 36 x 24 mm.
  const double longer = std::max(facts.width_px, facts.height_px);
  const double diagonal = std::hypot(facts.width_px, facts.height_px);
  const double half = std::hypot(36.0, 24.0) / 2 * longer / diagonal;
  facts.view_width_deg = 2 * std::atan(half / *equivalent) / horizon::kDegree;
}

}  // namespace

horizon::Result<PhotoFacts> photo_facts(std::string_view bytes) {
  if (bytes.size() > kMaxPhotoBytes) return fail(Code::bad_input, "error.photo_too_large");
  PhotoFacts facts;
  std::string holder;
  horizon::Result<Picture> picture = fail(Code::bad_input, "error.photo_neither_jpeg_nor_png");
  if (bytes.starts_with("\xff\xd8\xff")) {
    facts.media_type = "image/jpeg";
    picture = read_jpeg(bytes);
  } else if (bytes.starts_with("\x89PNG\r\n\x1a\n")) {
    facts.media_type = "image/png";
    picture = read_png(bytes, holder);
  }
  if (!picture) return tl::unexpected(picture.error());
  facts.width_px = picture->width;
  facts.height_px = picture->height;
  if (facts.width_px < 1 || facts.height_px < 1 || facts.width_px > 100000 ||
      facts.height_px > 100000)
    return fail(Code::bad_input, "error.picture_size_impossible");
  if (picture->exif.empty()) return facts;
  const Exif exif(picture->exif);
  const int orientation = exif.whole(EXIF_IFD_0, EXIF_TAG_ORIENTATION).value_or(1);
  facts.orientation = orientation >= 1 && orientation <= 8 ? orientation : 1;
  facts.local_s = seconds_of(exif.text(EXIF_IFD_EXIF, EXIF_TAG_DATE_TIME_ORIGINAL));
  if (!facts.local_s) facts.local_s = seconds_of(exif.text(EXIF_IFD_0, EXIF_TAG_DATE_TIME));
  facts.utc_offset_h = offset_of(exif.text(EXIF_IFD_EXIF, EXIF_TAG_OFFSET_TIME_ORIGINAL));
  const std::string make = exif.text(EXIF_IFD_0, EXIF_TAG_MAKE);
  facts.camera = make + (make.empty() ? "" : " ") + exif.text(EXIF_IFD_0, EXIF_TAG_MODEL);
  read_place(exif, facts);
  read_lens(exif, facts);
  return facts;
}

Photo photo_of(const PhotoFacts& facts, std::string file_name, double utc_offset_h) {
  Photo photo;
  photo.file_name = std::move(file_name);
  photo.time.utc_offset_h = facts.utc_offset_h.value_or(utc_offset_h);
  // The camera's clock dates the moment of the picture; a receiver's time may be minutes old.
  if (facts.local_s)
    photo.time.utc_s = *facts.local_s - photo.time.utc_offset_h * 3600;
  else
    photo.time.utc_s = facts.satellite_utc_s.value_or(0);
  photo.orientation = facts.orientation;
  photo.position = facts.position;
  photo.bearing_deg = facts.bearing_deg;
  photo.reference = facts.bearing_magnetic ? Reference::magnetic : Reference::true_north;
  if (!facts.bearing_deg) photo.reference = Reference::device;
  photo.view_width_deg = facts.view_width_deg;
  if (!facts.camera.empty()) photo.note = facts.camera;
  return photo;
}

}  // namespace survey
