// PNG: chunks with their sums, the header first, the end last. ISO/IEC 15948 (W3C PNG), sections 5 and 11.
#include <array>
#include <boost/crc.hpp>

#include "daemon/web/picture.h"

namespace coilward {
namespace {

constexpr std::size_t kPngSignature = 8, kPngFrame = 12;  // length, name and sum of a chunk
constexpr std::array<std::string_view, 9> kPngNeeded = {"IHDR", "PLTE", "IDAT", "IEND", "tRNS",
                                                        "gAMA", "cHRM", "sRGB", "iCCP"};

Error broken_png(const char* what) { return {Cause::bad_input, std::string("the PNG is damaged: ") + what}; }

std::uint32_t big32(std::string_view bytes, std::size_t at) {
  std::uint32_t value = 0;
  for (std::size_t i = 0; i < 4; ++i) value = value << 8 | static_cast<unsigned char>(bytes[at + i]);
  return value;
}

bool sum_is_right(std::string_view name_and_content, std::uint32_t sum) {
  boost::crc_32_type crc;
  crc.process_bytes(name_and_content.data(), name_and_content.size());
  return crc.checksum() == sum;
}

Result<bool> take_png_header(std::string_view content, Picture& out) {
  if (content.size() != 13) return broken_png("its header");
  out.width = big32(content, 0);
  out.height = big32(content, 4);
  return check_picture_size(out.width, out.height);
}

}  // namespace

Result<Picture> clean_png(std::string_view bytes) {
  Picture out{PictureType::png, 0, 0, std::string(bytes.substr(0, kPngSignature))};
  bool drawn = false;
  for (std::size_t at = kPngSignature; at + kPngFrame <= bytes.size();) {
    const std::size_t length = big32(bytes, at);
    if (length > bytes.size() - at - kPngFrame) return broken_png("it is cut off");
    const std::string_view name = bytes.substr(at + 4, 4), content = bytes.substr(at + 8, length);
    if (!sum_is_right(bytes.substr(at + 4, length + 4), big32(bytes, at + 8 + length)))
      return broken_png("a sum is wrong");
    if ((name == "IHDR") != (at == kPngSignature)) return broken_png("its header is not where it belongs");
    if (name == "IHDR")
      if (auto taken = take_png_header(content, out); !taken) return taken.error();
    drawn = drawn || name == "IDAT";
    if (std::find(kPngNeeded.begin(), kPngNeeded.end(), name) != kPngNeeded.end())
      out.bytes += bytes.substr(at, length + kPngFrame);
    else if (name[0] >= 'A' && name[0] <= 'Z')
      return broken_png("a part that is not known");
    if (name == "IEND")
      return drawn ? Result<Picture>(std::move(out)) : broken_png("it has no picture in it");
    at += length + kPngFrame;
  }
  return broken_png("it is cut off");
}

}  // namespace coilward
