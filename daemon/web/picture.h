// A picture as it comes from outside: what it really is, by its content alone, and the same without what is
// not needed to show it. Name and declared type are never asked. Nothing is decoded; nothing here draws.
// Thread: any.
//
// What is kept: of JPEG (ITU-T T.81) its tables, frame and scans, JFIF, Adobe and colour profile; of PNG
// (ISO/IEC 15948) its critical chunks, transparency and colour space; of WebP (RFC 9649) image, alpha,
// animation and colour profile. What goes: everything else, and so the place, the time and the maker that a
// camera writes into it, and whatever stands behind the picture's end. Of a JPEG's Exif the orientation
// stays, as a picture would lie on its side without.
#pragma once

#include <cstdint>
#include <string>
#include <string_view>

#include "daemon/base/result.h"

namespace coilward {

// Own choice: a telephone's largest usual picture, and what a page of several can be shown with.
inline constexpr std::size_t kMostPictureBytes = 8u << 20;
inline constexpr std::uint32_t kMostPictureSide = 12'000;
inline constexpr std::uint64_t kMostPicturePixels = 64'000'000;

enum class PictureType : std::uint8_t { jpeg, png, webp };
std::string_view picture_mime(PictureType type);    // "image/jpeg"
std::string_view picture_suffix(PictureType type);  // "jpg"

struct Picture {
  PictureType type = PictureType::jpeg;
  std::uint32_t width = 0, height = 0;  // as stored; a JPEG's orientation may swap them
  std::string bytes;
};

// bad_input, with the reason for a person: no picture of these kinds, cut off, damaged, too large.
Result<Picture> clean_picture(std::string_view bytes);

// By kind; the folder's own. They take what clean_picture has told apart.
Result<Picture> clean_jpeg(std::string_view bytes);
Result<Picture> clean_png(std::string_view bytes);
Result<Picture> clean_webp(std::string_view bytes);
// Too wide, too high, or nothing.
Result<bool> check_picture_size(std::uint32_t width, std::uint32_t height);

}  // namespace coilward
