// WebP: chunks in a RIFF file. RFC 9649, sections 2.3 to 2.7; the frame header of VP8 is RFC 6386,
// section 9.1.
#include <algorithm>
#include <array>

#include "daemon/web/picture.h"

namespace coilward {
namespace {

constexpr std::size_t kRiffHead = 12, kChunkHead = 8;
constexpr std::array<std::string_view, 7> kWebpNeeded = {"VP8 ", "VP8L", "VP8X", "ALPH",
                                                         "ANIM", "ANMF", "ICCP"};
constexpr unsigned kHasExif = 0x08, kHasXmp = 0x04;  // flags of VP8X

Error broken_webp(const char* what) {
  return {Cause::bad_input, std::string("the WebP is damaged: ") + what};
}

std::uint32_t little(std::string_view bytes, std::size_t at, std::size_t count) {
  std::uint32_t value = 0;
  for (std::size_t i = count; i-- > 0;) value = value << 8 | static_cast<unsigned char>(bytes[at + i]);
  return value;
}

void put_little32(std::string& bytes, std::size_t at, std::uint32_t value) {
  for (std::size_t i = 0; i < 4; ++i) bytes[at + i] = static_cast<char>(value >> (8 * i) & 0xff);
}

// Width and height from the chunk that says them; the first such one counts.
Result<bool> take_webp_size(std::string_view name, std::string_view content, Picture& out) {
  if (out.width != 0) return true;
  if (name == "VP8X" && content.size() >= 10) {
    out.width = little(content, 4, 3) + 1;
    out.height = little(content, 7, 3) + 1;
  } else if (name == "VP8 " && content.size() >= 10 && content.substr(3, 3) == "\x9d\x01\x2a") {
    out.width = little(content, 6, 2) & 0x3fff;
    out.height = little(content, 8, 2) & 0x3fff;
  } else if (name == "VP8L" && content.size() >= 5 && content[0] == '\x2f') {
    const std::uint32_t bits = little(content, 1, 4);
    out.width = (bits & 0x3fff) + 1;
    out.height = (bits >> 14 & 0x3fff) + 1;
  } else {
    return broken_webp("its size is not said");
  }
  return check_picture_size(out.width, out.height);
}

}  // namespace

Result<Picture> clean_webp(std::string_view bytes) {
  const std::size_t said = std::size_t{little(bytes, 4, 4)} + 8;
  if (said > bytes.size()) return broken_webp("it is cut off");
  bytes = bytes.substr(0, said);
  Picture out{PictureType::webp, 0, 0, std::string(bytes.substr(0, kRiffHead))};
  bool drawn = false;
  for (std::size_t at = kRiffHead; at < bytes.size();) {
    if (at + kChunkHead > bytes.size()) return broken_webp("it is cut off");
    const std::string_view name = bytes.substr(at, 4);
    const std::size_t length = little(bytes, at + 4, 4), padded = length + length % 2;
    if (padded > bytes.size() - at - kChunkHead) return broken_webp("it is cut off");
    const bool needed = std::find(kWebpNeeded.begin(), kWebpNeeded.end(), name) != kWebpNeeded.end();
    if (needed && name != "ICCP")
      if (auto taken = take_webp_size(name, bytes.substr(at + kChunkHead, length), out); !taken)
        return taken.error();
    drawn = drawn || name == "VP8 " || name == "VP8L" || name == "ANMF";
    if (needed) out.bytes += bytes.substr(at, kChunkHead + padded);
    if (name == "VP8X") {
      char& flags = out.bytes[out.bytes.size() - padded];
      flags = static_cast<char>(static_cast<unsigned char>(flags) & ~(kHasExif | kHasXmp));
    }
    at += kChunkHead + padded;
  }
  if (!drawn) return broken_webp("it has no picture in it");
  put_little32(out.bytes, 4, static_cast<std::uint32_t>(out.bytes.size() - 8));
  return out;
}

}  // namespace coilward
