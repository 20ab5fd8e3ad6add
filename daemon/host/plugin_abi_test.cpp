// Sizes and places of every field of plugin ABI 1 on a 64-bit and a 32-bit machine. Fields are only appended:
// a line here never changes, and a new ABI gets a test of its own.
#include <gtest/gtest.h>

#include <cstddef>

#include "plugins/plugin.h"

namespace {

constexpr std::size_t kPointer = sizeof(void*);
constexpr std::size_t kWord = sizeof(std::size_t);
// Where an int64 or double goes after an odd number of words: 32-bit ABIs differ (i386 packs them to 4).
constexpr std::size_t kEight = alignof(std::int64_t) > 4 ? 8 : 4;
constexpr std::size_t aligned(std::size_t at, std::size_t to) { return (at + to - 1) / to * to; }

TEST(PluginAbi1, Text) {
  EXPECT_EQ(offsetof(coilward_text, data), 0u);
  EXPECT_EQ(offsetof(coilward_text, size), kPointer);
  EXPECT_EQ(sizeof(coilward_text), 2 * kWord);
}

TEST(PluginAbi1, Host) {
  EXPECT_EQ(offsetof(coilward_host, size), 0u);
  EXPECT_EQ(offsetof(coilward_host, ctx), kWord);
  EXPECT_EQ(offsetof(coilward_host, log), 2 * kWord);
  EXPECT_EQ(offsetof(coilward_host, fail), 3 * kWord);
  EXPECT_EQ(sizeof(coilward_host), 4 * kWord);
}

TEST(PluginAbi1, Descriptor) {
  EXPECT_EQ(COILWARD_PLUGIN_ABI, 1u);
  EXPECT_EQ(offsetof(coilward_plugin, abi), 0u);
  EXPECT_EQ(offsetof(coilward_plugin, size), 4u);
  EXPECT_EQ(offsetof(coilward_plugin, kind), 8u);
  EXPECT_EQ(offsetof(coilward_plugin, name), 8 + kPointer);
  EXPECT_EQ(offsetof(coilward_plugin, version), 8 + 2 * kPointer);
  EXPECT_EQ(offsetof(coilward_plugin, config_schema), 8 + 3 * kPointer);
  EXPECT_EQ(offsetof(coilward_plugin, create), 8 + 4 * kPointer);
  EXPECT_EQ(offsetof(coilward_plugin, destroy), 8 + 5 * kPointer);
  EXPECT_EQ(offsetof(coilward_plugin, functions), 8 + 6 * kPointer);
  EXPECT_EQ(sizeof(coilward_plugin), 8 + 7 * kPointer);
}

TEST(PluginAbi1, Value) {
  const std::size_t value = aligned(kWord + 2 * sizeof(coilward_text), kEight);
  EXPECT_EQ(offsetof(coilward_value, size), 0u);
  EXPECT_EQ(offsetof(coilward_value, name), kWord);
  EXPECT_EQ(offsetof(coilward_value, unit), kWord + sizeof(coilward_text));
  EXPECT_EQ(offsetof(coilward_value, value), value);
  EXPECT_EQ(offsetof(coilward_value, time_kind), value + 8);
  EXPECT_EQ(offsetof(coilward_value, time_us), aligned(value + 12, kEight));
  EXPECT_EQ(sizeof(coilward_value), aligned(value + 12, kEight) + 8);
  EXPECT_EQ(COILWARD_TIME_NONE, 0);
  EXPECT_EQ(COILWARD_TIME_ABSOLUTE, 1);
  EXPECT_EQ(COILWARD_TIME_RELATIVE, 2);
}

TEST(PluginAbi1, Functions) {
  EXPECT_EQ(offsetof(coilward_decoder, size), 0u);
  EXPECT_EQ(offsetof(coilward_decoder, decode), kWord);
  EXPECT_EQ(sizeof(coilward_decoder), kWord + kPointer);
  EXPECT_EQ(offsetof(coilward_notifier, size), 0u);
  EXPECT_EQ(offsetof(coilward_notifier, deliver), kWord);
  EXPECT_EQ(offsetof(coilward_notifier, interrupt), kWord + kPointer);
  EXPECT_EQ(sizeof(coilward_notifier), kWord + 2 * kPointer);
  EXPECT_EQ(offsetof(coilward_exporter, size), 0u);
  EXPECT_EQ(offsetof(coilward_exporter, store), kWord);
  EXPECT_EQ(offsetof(coilward_exporter, interrupt), kWord + kPointer);
  EXPECT_EQ(sizeof(coilward_exporter), kWord + 2 * kPointer);
  EXPECT_EQ(COILWARD_DECODED, 0);
  EXPECT_EQ(COILWARD_REJECTED, 1);
  EXPECT_EQ(COILWARD_DONE, 0);
  EXPECT_EQ(COILWARD_RETRY, 1);
  EXPECT_EQ(COILWARD_REFUSED, 2);
}

}  // namespace
