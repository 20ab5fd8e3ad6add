// Pictures made by hand for tests: sound in structure, with what a camera or somebody with other intentions
// puts in.
#pragma once

#include <boost/crc.hpp>
#include <string>
#include <string_view>

namespace coilward {

using namespace std::string_view_literals;

inline std::string big_endian(std::uint32_t value, int bytes) {
  std::string out;
  for (int shift = 8 * (bytes - 1); shift >= 0; shift -= 8)
    out.push_back(static_cast<char>(value >> shift & 0xff));
  return out;
}

inline std::string jpeg_segment(unsigned char marker, const std::string& content) {
  return std::string("\xff") + static_cast<char>(marker) +
         big_endian(static_cast<std::uint32_t>(content.size()) + 2, 2) + content;
}

// Turned as a telephone held upright has it (6), with a place in it, little end first.
inline std::string camera_exif() {
  std::string exif("Exif\0\0II\x2a\0\x08\0\0\0\x02\0"sv);
  exif += "\x12\x01\x03\0\x01\0\0\0\x06\0\0\0"sv;  // orientation
  exif += "\x25\x88\x04\0\x01\0\0\0\x30\0\0\0"sv;  // where GPS stands
  exif += "\0\0\0\0GPSLatitude 43.6150"sv;
  return exif;
}

inline std::string test_jpeg(int width = 640, int height = 480, const std::string& more = "") {
  std::string frame("\x08"sv);
  frame +=
      big_endian(static_cast<std::uint32_t>(height), 2) + big_endian(static_cast<std::uint32_t>(width), 2);
  frame += "\x01\x01\x11\0"sv;
  std::string picture("\xff\xd8"sv);
  picture += jpeg_segment(0xe0, std::string("JFIF\0\1\1\0\0\1\0\1\0\0"sv)) + more;
  picture += jpeg_segment(0xdb, std::string(65, '\1')) + jpeg_segment(0xc0, frame);
  picture += jpeg_segment(0xc4, std::string(20, '\0'));
  picture += jpeg_segment(0xda, std::string("\1\1\0\0\x3f\0"sv));
  picture += "scan\xff\0more\xff\xd0scan"sv;
  return picture + std::string("\xff\xd9"sv);
}

inline std::string png_chunk(std::string_view name, std::string_view content) {
  const std::string body = std::string(name) + std::string(content);
  boost::crc_32_type crc;
  crc.process_bytes(body.data(), body.size());
  return big_endian(static_cast<std::uint32_t>(content.size()), 4) + body + big_endian(crc.checksum(), 4);
}

inline std::string test_png(std::uint32_t width = 640, std::uint32_t height = 480,
                            const std::string& more = "") {
  return "\x89PNG\r\n\x1a\n" +
         png_chunk("IHDR", big_endian(width, 4) + big_endian(height, 4) + std::string("\x08\x02\0\0\0"sv)) +
         more + png_chunk("IDAT", "packed") + png_chunk("IEND", "");
}

inline std::string webp_chunk(std::string_view name, std::string content) {
  std::string size = big_endian(static_cast<std::uint32_t>(content.size()), 4);
  if (content.size() % 2) content.push_back('\0');
  return std::string(name) + std::string(size.rbegin(), size.rend()) + content;
}

inline std::string test_webp(const std::string& more = "") {
  std::string body = "WEBP";
  body += webp_chunk("VP8X", std::string("\x0c\0\0\0\x7f\x02\0\xdf\x01\0"sv));  // EXIF and XMP; 640 by 480
  body += webp_chunk("VP8 ", std::string("\0\0\0\x9d\x01\x2a\x80\x02\xe0\x01packed"sv)) + more;
  std::string size = big_endian(static_cast<std::uint32_t>(body.size()), 4);
  return "RIFF" + std::string(size.rbegin(), size.rend()) + body;
}

}  // namespace coilward
