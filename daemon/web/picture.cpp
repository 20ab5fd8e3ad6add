#include "daemon/web/picture.h"

#include <fmt/format.h>

namespace coilward {

std::string_view picture_mime(PictureType type) {
  switch (type) {
    case PictureType::jpeg:
      return "image/jpeg";
    case PictureType::png:
      return "image/png";
    case PictureType::webp:
      return "image/webp";
  }
  return "application/octet-stream";
}

std::string_view picture_suffix(PictureType type) {
  return type == PictureType::jpeg ? "jpg" : picture_mime(type).substr(6);
}

Result<bool> check_picture_size(std::uint32_t width, std::uint32_t height) {
  if (width == 0 || height == 0) return Error{Cause::bad_input, "the picture has no width or no height"};
  if (width > kMostPictureSide || height > kMostPictureSide ||
      std::uint64_t{width} * height > kMostPicturePixels)
    return Error{Cause::bad_input,
                 fmt::format("the picture has {} by {} dots: allowed are {} a side and {} million in all",
                             width, height, kMostPictureSide, kMostPicturePixels / 1'000'000)};
  return true;
}

Result<Picture> clean_picture(std::string_view bytes) {
  using namespace std::string_view_literals;
  if (bytes.size() > kMostPictureBytes)
    return Error{Cause::bad_input, fmt::format("the picture is {} MB: allowed are {}", bytes.size() >> 20,
                                               kMostPictureBytes >> 20)};
  if (bytes.starts_with("\xff\xd8\xff"sv)) return clean_jpeg(bytes);
  if (bytes.starts_with("\x89PNG\r\n\x1a\n"sv)) return clean_png(bytes);
  if (bytes.starts_with("RIFF"sv) && bytes.size() > 12 && bytes.substr(8, 4) == "WEBP"sv)
    return clean_webp(bytes);
  return Error{Cause::bad_input, "this is no JPEG, PNG or WebP picture, whatever its name says"};
}

}  // namespace coilward
