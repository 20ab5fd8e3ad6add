// Forms with a file, as browsers send them, and as nobody should.
#include "daemon/web/multipart.h"

#include <gtest/gtest.h>

#include <random>

namespace coilward {
namespace {

constexpr const char* kType = "multipart/form-data; boundary=----edge42";

std::string part(const std::string& disposition, const std::string& content) {
  return "------edge42\r\nContent-Disposition: form-data; " + disposition + "\r\n\r\n" + content + "\r\n";
}
const std::string kEnd = "------edge42--\r\n";

TEST(Upload, FieldsAndTheFileComeApart) {
  const std::string body =
      part("name=\"token\"", "abc") + part("name=\"words\"", "Grünspan\r\n--not the edge") +
      part("name=\"photo\"; filename=\"a.jpg\"\r\nContent-Type: image/jpeg", "\xff\xd8\r\n\r\nbytes") + kEnd;
  const auto form = parse_upload(body, kType);
  ASSERT_TRUE(form) << form.error().what;
  EXPECT_EQ(form->fields.at("token"), "abc");
  EXPECT_EQ(form->fields.at("words"), "Grünspan\r\n--not the edge");
  EXPECT_EQ(form->file_field, "photo");
  EXPECT_EQ(form->file, "\xff\xd8\r\n\r\nbytes");
  EXPECT_TRUE(parse_upload(body, "multipart/form-data; boundary=\"----edge42\""));
}

// A file that was not chosen is an empty part; the other of two inputs may hold one.
TEST(Upload, AnInputWithoutAFileIsNone) {
  const std::string body = part("name=\"photo\"; filename=\"\"", "") +
                           part("name=\"chosen\"; filename=\"../../etc/passwd\"", "x") + kEnd;
  const auto form = parse_upload(body, kType);
  ASSERT_TRUE(form) << form.error().what;
  EXPECT_EQ(form->file_field, "chosen");
  EXPECT_EQ(form->file, "x");
  EXPECT_TRUE(parse_upload(part("name=\"photo\"; filename=\"\"", "") + kEnd, kType)->file.empty());
}

TEST(Upload, WhatIsNotSuchAFormIsRefused) {
  const std::string good = part("name=\"a\"", "1") + kEnd;
  EXPECT_FALSE(parse_upload(good, "multipart/form-data"));
  EXPECT_FALSE(parse_upload(good, "application/x-www-form-urlencoded"));
  EXPECT_FALSE(parse_upload("a=1", kType));
  EXPECT_FALSE(parse_upload("", kType));
  EXPECT_FALSE(parse_upload(part("name=\"a\"", "1") + part("name=\"a\"", "2") + kEnd, kType));
  EXPECT_FALSE(parse_upload(part("filename=\"x\"", "1") + kEnd, kType));
  EXPECT_FALSE(parse_upload(
      part("name=\"a\"; filename=\"x\"", "1") + part("name=\"b\"; filename=\"y\"", "2") + kEnd, kType));
  EXPECT_FALSE(parse_upload(part("name=\"a\"", std::string(kMostFieldBytes + 1, 'x')) + kEnd, kType));
  EXPECT_FALSE(parse_upload(part("name=\"" + std::string(kMostPartHead, 'n') + "\"", "1") + kEnd, kType));
  std::string many;
  for (std::size_t i = 0; i <= kMostParts; ++i) many += part("name=\"n" + std::to_string(i) + "\"", "1");
  EXPECT_FALSE(parse_upload(many + kEnd, kType));
}

TEST(Upload, CutAnywhereOrChangedItIsRefusedOrRead) {
  const std::string good = part("name=\"a\"", "1") + part("name=\"photo\"; filename=\"x\"", "bytes") + kEnd;
  for (std::size_t length = 0; length + 3 < good.size(); ++length)
    EXPECT_FALSE(parse_upload(good.substr(0, length), kType)) << length;
  std::mt19937 random(3);
  for (int round = 0; round < 3000; ++round) {
    std::string body = good;
    body[random() % body.size()] = static_cast<char>(random());
    (void)parse_upload(body, kType);
  }
}

}  // namespace
}  // namespace coilward
