// Files that say they are pictures: sound ones without what they should not tell, hostile ones refused or
// made harmless.
#include "daemon/web/picture.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <random>

#include "daemon/web/test_pictures.h"

namespace coilward {
namespace {

using testing::HasSubstr;
using testing::Not;

TEST(Picture, KindAndSizeComeFromTheContent) {
  for (const auto& [bytes, type] : {std::pair{test_jpeg(), PictureType::jpeg},
                                    {test_png(), PictureType::png},
                                    {test_webp(), PictureType::webp}}) {
    const auto picture = clean_picture(bytes);
    ASSERT_TRUE(picture) << picture.error().what;
    EXPECT_EQ(picture->type, type);
    EXPECT_EQ(picture->width, 640U);
    EXPECT_EQ(picture->height, 480U);
  }
}

TEST(Picture, WhatIsNeededStaysAsItWas) {
  EXPECT_EQ(clean_picture(test_jpeg())->bytes, test_jpeg());
  EXPECT_EQ(clean_picture(test_png())->bytes, test_png());
  const auto again = clean_picture(clean_picture(test_webp())->bytes);
  ASSERT_TRUE(again);
  EXPECT_EQ(again->bytes, clean_picture(test_webp())->bytes);
}

TEST(Picture, PlaceTimeAndMakerGoAndTheOrientationStays) {
  const std::string more = jpeg_segment(0xe1, camera_exif()) +
                           jpeg_segment(0xe1, "http://ns.adobe.com/xap/1.0/ here") +
                           jpeg_segment(0xfe, "made by") + jpeg_segment(0xed, "Photoshop 3.0 town");
  const auto picture = clean_picture(test_jpeg(640, 480, more));
  ASSERT_TRUE(picture) << picture.error().what;
  for (const char* gone : {"GPS", "adobe", "made by", "town", "\x25\x88"})
    EXPECT_THAT(picture->bytes, Not(HasSubstr(gone)));
  const std::string exif("Exif\0\0MM\0\x2a\0\0\0\x08\0\1\1\x12\0\3\0\0\0\1\0\6\0\0\0\0\0\0"sv);
  EXPECT_THAT(picture->bytes, HasSubstr(exif));
  const auto again = clean_picture(picture->bytes);
  ASSERT_TRUE(again) << again.error().what;
  EXPECT_EQ(again->bytes, picture->bytes) << "the orientation is read back from what was written";
}

TEST(Picture, TextAndPlaceOfPngAndWebpGo) {
  const auto png =
      clean_picture(test_png(640, 480, png_chunk("tEXt", "Comment\0<script>"sv) + png_chunk("eXIf", "GPS")));
  ASSERT_TRUE(png);
  EXPECT_EQ(png->bytes, test_png());
  const auto webp = clean_picture(test_webp(webp_chunk("EXIF", "GPS here") + webp_chunk("XMP ", "town")));
  ASSERT_TRUE(webp);
  EXPECT_THAT(webp->bytes, Not(HasSubstr("GPS")));
  EXPECT_EQ(webp->bytes[20], '\0') << "it no longer says that there is any";
}

TEST(Picture, WhatStandsBehindItsEndGoes) {
  for (const std::string& tail :
       {std::string("<script>alert(1)</script>"), std::string("PK\3\4 a whole archive"), test_png()}) {
    EXPECT_EQ(clean_picture(test_jpeg() + tail)->bytes, test_jpeg());
    EXPECT_EQ(clean_picture(test_png() + tail)->bytes, test_png());
    EXPECT_THAT(clean_picture(test_webp() + tail)->bytes, Not(HasSubstr(tail)));
  }
}

TEST(Picture, CutAtAnyLengthItIsRefused) {
  for (const std::string& whole : {test_jpeg(), test_png(), test_webp()})
    for (std::size_t length = 0; length < whole.size(); ++length)
      EXPECT_FALSE(clean_picture(whole.substr(0, length))) << whole.substr(0, 4) << " at " << length;
}

TEST(Picture, OtherFilesAreRefusedWhateverTheyPretend) {
  for (const std::string& other : {std::string(), std::string("GIF89a"),
                                   std::string("<svg xmlns=\"http://www.w3.org/2000/svg\" onload=\"x\"/>"),
                                   std::string("<html><script>"), std::string("\xff\xd8\xff"),
                                   std::string("RIFF\0\0\0\0WEBP", 12), std::string("\x89PNG\r\n\x1a\n"),
                                   std::string("%PDF-1.7"), "\xff\xd8\xff\xe0" + std::string(100, '<')})
    EXPECT_FALSE(clean_picture(other)) << other;
}

TEST(Picture, MoreDotsThanAnyoneCanShowAreRefused) {
  EXPECT_FALSE(clean_picture(test_jpeg(65'500, 65'500)));
  EXPECT_FALSE(clean_picture(test_jpeg(9'000, 9'000)));
  EXPECT_FALSE(clean_picture(test_png(0x7fffffff, 1)));
  EXPECT_FALSE(clean_picture(test_png(0, 480)));
  const auto refused = clean_picture(test_png(60'000, 60'000));
  ASSERT_FALSE(refused);
  EXPECT_THAT(refused.error().what, HasSubstr("60000 by 60000"));
  EXPECT_FALSE(clean_picture("\xff\xd8\xff" + std::string(kMostPictureBytes, '\0')));
}

TEST(Picture, AWrongSumOrAPartThatIsNotKnownIsRefused) {
  std::string png = test_png();
  png[png.size() - 20] ^= 1;
  EXPECT_FALSE(clean_picture(png));
  EXPECT_FALSE(clean_picture(test_png(640, 480, png_chunk("EVIL", "must be understood"))));
  EXPECT_FALSE(clean_picture(test_png(640, 480, png_chunk("IHDR", std::string(13, '\1')))));
  EXPECT_FALSE(
      clean_picture(test_jpeg(640, 480, jpeg_segment(0xc0, std::string("\x08\0\x10\0\x10\1\1\x11\0"sv)))));
}

// Whatever is changed, it is refused or comes out as a picture of its kind; under the sanitizers nothing is
// read that is not there.
TEST(Picture, ChangedAtRandomItIsRefusedOrStaysAPicture) {
  std::mt19937 random(7);
  const std::string exif = jpeg_segment(0xe1, camera_exif());
  for (const std::string& whole :
       {test_jpeg(640, 480, exif), test_png(), test_webp(webp_chunk("EXIF", "GPS"))})
    for (int round = 0; round < 3000; ++round) {
      std::string bytes = whole;
      for (int n = 0; n <= round % 4; ++n) bytes[random() % bytes.size()] = static_cast<char>(random());
      const auto picture = clean_picture(bytes);
      if (picture) EXPECT_TRUE(clean_picture(picture->bytes)) << "what came out is not taken again";
    }
}

}  // namespace
}  // namespace coilward
