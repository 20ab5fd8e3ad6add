#include "plugins/common/secret_file.h"

#include <gtest/gtest.h>

#include "plugins/common/script_server.h"

namespace coilward_plugins {
namespace {

TEST(SecretFile, IsOnePrivateLine) {
  const TemporaryDirectory directory;
  EXPECT_EQ(read_secret(directory.write("a", "horse\n")).value, "horse");
  EXPECT_EQ(read_secret(directory.write("b", "horse", 0640)).value, "horse");
  for (const auto& bad :
       {directory.write("c", "horse", 0644), directory.write("d", "horse", 0602), directory.write("e", "\n"),
        directory.write("f", "horse\nsaddle\n"), directory.write("g", std::string(5000, 'x')),
        directory / "missing", directory / ""}) {
    const Secret secret = read_secret(bad);
    EXPECT_EQ(secret.value, "") << bad;
    EXPECT_NE(secret.wrong.find(bad), std::string::npos);
    EXPECT_EQ(secret.wrong.find("horse"), std::string::npos);
  }
}

TEST(SecretFile, IsTakenOutOfWords) {
  EXPECT_EQ(without_secret("no horse, no aG9yc2U=!", "horse"), "no ***, no ***!");
  EXPECT_EQ(without_secret("a b", ""), "a b");
}

TEST(Base64, MatchesRfc4648Section10) {
  EXPECT_EQ(base64(""), "");
  EXPECT_EQ(base64("f"), "Zg==");
  EXPECT_EQ(base64("fo"), "Zm8=");
  EXPECT_EQ(base64("foo"), "Zm9v");
  EXPECT_EQ(base64("foobar"), "Zm9vYmFy");
}

}  // namespace
}  // namespace coilward_plugins
