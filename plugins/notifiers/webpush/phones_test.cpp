#include "plugins/notifiers/webpush/phones.h"

#include <gtest/gtest.h>
#include <sys/stat.h>

#include <fstream>

#include "plugins/common/script_server.h"
#include "plugins/notifiers/webpush/base64url.h"
#include "plugins/notifiers/webpush/push_key.h"

namespace coilward_plugins {
namespace {

struct PhonesTest : testing::Test {
  TemporaryDirectory directory;
  std::string place = directory / "webpush/phones";
  Phones phones{place};
  std::string point = base64url(PushKey::make().point()), secret = base64url("0123456789abcdef");
  Phone add(std::string_view endpoint, std::string_view label = "Anna's phone") {
    return phones.add({endpoint, point, secret, label}, 1777875129);
  }
};

TEST_F(PhonesTest, AreKeptPrivatelyAndReadAgain) {
  EXPECT_TRUE(phones.all().empty());
  const Phone added = add("https://push.example.net/abc");
  const auto all = Phones(place).all();
  ASSERT_EQ(all.size(), 1u);
  EXPECT_EQ(all[0].id, added.id);
  EXPECT_EQ(all[0].endpoint, "https://push.example.net/abc");
  EXPECT_EQ(base64url(all[0].point), point);
  EXPECT_EQ(all[0].secret, "0123456789abcdef");
  EXPECT_EQ(all[0].label, "Anna's phone");
  EXPECT_EQ(all[0].since_s, 1777875129);
  struct stat info {};
  ASSERT_EQ(::stat((place + "/" + added.id + ".json").c_str(), &info), 0);
  EXPECT_EQ(info.st_mode & 0777, 0600u);
  ASSERT_EQ(::stat(place.c_str(), &info), 0);
  EXPECT_EQ(info.st_mode & 0777, 0700u);
}

TEST_F(PhonesTest, TheSamePhoneIsThereOnce) {
  const std::string first = add("https://push.example.net/abc", "old").id;
  EXPECT_EQ(add("https://push.example.net/abc", "new").id, first);
  EXPECT_NE(add("https://push.example.net/abd", "other").id, first);
  ASSERT_EQ(phones.all().size(), 2u);
  EXPECT_EQ(phones.all()[0].label, "new");
}

TEST_F(PhonesTest, AreTakenAway) {
  const std::string id = add("https://push.example.net/abc").id;
  EXPECT_TRUE(phones.remove(id));
  EXPECT_FALSE(phones.remove(id));
  const auto precious = directory.write("state.json", "{}");
  for (const char* wrong : {"", "..", "../../state", "0123456789abcdeg"})
    EXPECT_FALSE(phones.remove(wrong)) << wrong;
  EXPECT_EQ(file_text(precious), "{}");
}

TEST_F(PhonesTest, WhatCannotBeToldIsRefused) {
  EXPECT_THROW(add("http://push.example.net/abc"), std::invalid_argument);
  EXPECT_THROW(add("https://" + std::string(1000, 'x')), std::invalid_argument);
  EXPECT_THROW(phones.add({"https://a/", "AAAA", secret, ""}, 0), std::invalid_argument);
  EXPECT_THROW(phones.add({"https://a/", point, "AAAA", ""}, 0), std::invalid_argument);
  EXPECT_THROW(phones.add({"https://a/", point + "!", secret, ""}, 0), std::invalid_argument);
  for (std::size_t i = 0; i < kMostPhones; ++i) add("https://push.example.net/" + std::to_string(i));
  EXPECT_THROW(add("https://push.example.net/one-more"), std::invalid_argument);
  EXPECT_NO_THROW(add("https://push.example.net/7"));
  EXPECT_EQ(phones.all().size(), kMostPhones);
}

TEST_F(PhonesTest, ALabelIsOneShortLine) {
  EXPECT_EQ(add("https://a/1", "a\r\nb").label, "a  b");
  EXPECT_EQ(add("https://a/2", "").label, "a phone");
  std::string umlauts;
  for (int i = 0; i < 60; ++i) umlauts += "ü";
  const std::string label = add("https://a/3", umlauts).label;
  EXPECT_LE(label.size(), 60u);
  EXPECT_EQ(umlauts.substr(0, label.size()), label);
}

TEST_F(PhonesTest, ADamagedFileIsLeftOut) {
  const std::string id = add("https://push.example.net/abc").id;
  const std::string text = file_text(place + "/" + id + ".json");
  for (std::size_t size = 0; size < text.size() - 2; ++size) {
    std::ofstream(place + "/" + id + ".json", std::ios::trunc) << text.substr(0, size);
    EXPECT_TRUE(phones.all().empty()) << size;
  }
}

}  // namespace
}  // namespace coilward_plugins
