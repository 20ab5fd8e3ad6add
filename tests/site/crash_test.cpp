// What a crash says before it takes the daemon with it.
#include <gtest/gtest.h>

#include <csignal>

#include "daemon/crash_words.h"
#include "daemon/host/running_plugin.h"

namespace coilward {
namespace {

void crash_in(const char* plugin) {
  say_who_crashed();
  const RunningPlugin blamed(plugin);
  std::raise(SIGSEGV);
}

TEST(CrashDeathTest, OfAPluginNamesIt) {
  EXPECT_EXIT(crash_in("lines"), testing::KilledBySignal(SIGSEGV), "the plugin 'lines' crashed");
}

TEST(CrashDeathTest, OfOurOwnIsNotBlamedOnAPlugin) {
  EXPECT_EXIT(crash_in(nullptr), testing::KilledBySignal(SIGSEGV), "coilwardd: crashed");
}

}  // namespace
}  // namespace coilward
