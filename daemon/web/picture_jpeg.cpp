// JPEG: segments up to the scans, the scans' own bytes, the end. ITU-T T.81 annex B; Exif 2.3, section 4.5.
#include <optional>

#include "daemon/web/picture.h"

namespace coilward {
namespace {

using namespace std::string_view_literals;

constexpr unsigned kStartOfScan = 0xda, kEnd = 0xd9, kApp0 = 0xe0, kApp1 = 0xe1, kApp2 = 0xe2, kApp14 = 0xee,
                   kComment = 0xfe, kArithmetic = 0xcc, kHuffman = 0xc4, kReservedJpg = 0xc8;
constexpr std::uint16_t kOrientationTag = 0x0112;

Error broken_jpeg(const char* what) {
  return {Cause::bad_input, std::string("the JPEG is damaged: ") + what};
}

unsigned byte_at(std::string_view bytes, std::size_t at) { return static_cast<unsigned char>(bytes[at]); }
unsigned big16(std::string_view bytes, std::size_t at) {
  return byte_at(bytes, at) << 8 | byte_at(bytes, at + 1);
}

bool starts_frame(unsigned marker) {
  return marker >= 0xc0 && marker <= 0xcf && marker != kHuffman && marker != kReservedJpg &&
         marker != kArithmetic;
}

// Stands alone, without a length: restarts and TEM.
bool stands_alone(unsigned marker) { return (marker >= 0xd0 && marker <= 0xd7) || marker == 0x01; }

// Whether a segment is needed to show the picture as it is.
bool is_needed(unsigned marker, std::string_view content) {
  if (marker == kApp0) return content.starts_with("JFIF\0"sv);
  if (marker == kApp2) return content.starts_with("ICC_PROFILE\0"sv);
  if (marker == kApp14) return content.starts_with("Adobe"sv);
  return marker != kComment && (marker < kApp0 || marker > 0xef);
}

// 1 to 8 from an Exif segment's first directory; nullopt: none, or not such a segment.
std::optional<unsigned> orientation_of(std::string_view content) {
  if (!content.starts_with("Exif\0\0"sv) || content.size() < 14) return std::nullopt;
  const std::string_view tiff = content.substr(6);
  const bool little = tiff.starts_with("II"sv);
  const auto u16 = [&](std::size_t at) -> unsigned {
    if (at + 2 > tiff.size()) return 0;
    return little ? byte_at(tiff, at) | byte_at(tiff, at + 1) << 8 : big16(tiff, at);
  };
  const std::size_t directory =
      little ? u16(4) | std::size_t{u16(6)} << 16 : std::size_t{u16(4)} << 16 | u16(6);
  if (directory >= tiff.size()) return std::nullopt;
  const unsigned entries = u16(directory);
  for (unsigned i = 0; i < entries; ++i) {
    const std::size_t entry = directory + 2 + 12 * std::size_t{i};
    if (entry + 12 > tiff.size()) return std::nullopt;
    if (u16(entry) == kOrientationTag) return u16(entry + 8);
  }
  return std::nullopt;
}

// An Exif segment that says nothing but how the picture is turned.
std::string orientation_segment(unsigned orientation) {
  std::string segment(
      "\xff\xe1\0\x22"
      "Exif\0\0"
      "MM\0\x2a\0\0\0\x08"
      "\0\x01"
      "\x01\x12\0\x03\0\0\0\x01"sv);
  segment += std::string("\0", 1) + static_cast<char>(orientation) +
             std::string(
                 "\0\0"
                 "\0\0\0\0",
                 6);
  return segment;
}

class JpegReader {
 public:
  explicit JpegReader(std::string_view bytes) : bytes_(bytes) { out_.bytes = bytes.substr(0, 2); }

  Result<Picture> read() {
    for (;;) {
      if (at_ + 2 > bytes_.size()) return broken_jpeg("it is cut off");
      if (byte_at(bytes_, at_) != 0xff) return broken_jpeg("a marker is missing");
      const unsigned marker = byte_at(bytes_, at_ + 1);
      if (marker == 0xff) {  // fill
        ++at_;
        continue;
      }
      at_ += 2;
      if (marker == kEnd) return ended();
      if (stands_alone(marker)) continue;
      if (auto taken = take_segment(marker); !taken) return taken.error();
    }
  }

 private:
  Result<Picture> ended() {
    if (!scanned_) return broken_jpeg("it has no picture in it");
    out_.bytes += "\xff\xd9";
    return std::move(out_);
  }

  Result<bool> take_segment(unsigned marker) {
    if (marker < 0xc0) return broken_jpeg("an unknown marker");
    if (at_ + 2 > bytes_.size()) return broken_jpeg("it is cut off");
    const std::size_t length = big16(bytes_, at_);
    if (length < 2 || at_ + length > bytes_.size()) return broken_jpeg("it is cut off");
    const std::string_view content = bytes_.substr(at_ + 2, length - 2);
    if (auto sound = look_at(marker, content); !sound) return sound;
    if (is_needed(marker, content)) out_.bytes += bytes_.substr(at_ - 2, length + 2);
    at_ += length;
    if (marker == kStartOfScan) take_scan();
    return true;
  }

  Result<bool> look_at(unsigned marker, std::string_view content) {
    if (marker == kApp1 && !turned_)
      if (const auto orientation = orientation_of(content);
          orientation && *orientation > 1 && *orientation <= 8) {
        out_.bytes += orientation_segment(*orientation);
        turned_ = true;
      }
    if (marker == kStartOfScan && out_.width == 0) return broken_jpeg("its size is not said");
    if (!starts_frame(marker)) return true;
    if (content.size() < 6 || out_.width != 0) return broken_jpeg("its size is not said, or twice");
    out_.height = big16(content, 1);
    out_.width = big16(content, 3);
    return check_picture_size(out_.width, out_.height);
  }

  // Up to the next marker that is neither a stuffed byte nor a restart.
  void take_scan() {
    scanned_ = true;
    const std::size_t from = at_;
    for (;;) {
      at_ = bytes_.find('\xff', at_);
      if (at_ == std::string_view::npos || at_ + 1 >= bytes_.size()) {
        at_ = bytes_.size();
        break;
      }
      const unsigned next = byte_at(bytes_, at_ + 1);
      if (next != 0 && !(next >= 0xd0 && next <= 0xd7)) break;
      at_ += 2;
    }
    out_.bytes += bytes_.substr(from, at_ - from);
  }

  const std::string_view bytes_;
  std::size_t at_ = 2;
  bool scanned_ = false, turned_ = false;
  Picture out_{PictureType::jpeg};
};

}  // namespace

Result<Picture> clean_jpeg(std::string_view bytes) { return JpegReader(bytes).read(); }

}  // namespace coilward
