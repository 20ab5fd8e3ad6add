// The kept inputs, whole, cut and with flipped bits: what was found once stays found.
#include <gtest/gtest.h>

#include <algorithm>
#include <filesystem>
#include <fstream>
#include <iterator>
#include <string>
#include <vector>

#include "tests/fuzz/fuzz_targets.h"

namespace coilward {
namespace {

namespace fs = std::filesystem;
constexpr std::size_t kChanges = 12;  // of each kept input, beside itself

std::vector<std::string> kept(const std::string& target) {
  std::vector<fs::path> files;
  for (const auto& entry :
       fs::directory_iterator(fs::path(COILWARD_SOURCE_DIR) / "tests/fuzz/corpus" / target))
    files.push_back(entry.path());
  std::ranges::sort(files);
  std::vector<std::string> inputs;
  for (const fs::path& file : files) {
    std::ifstream in(file, std::ios::binary);
    inputs.emplace_back(std::istreambuf_iterator<char>(in), std::istreambuf_iterator<char>());
  }
  return inputs;
}

void run_with_changes(const FuzzTarget& target, const std::string& input) {
  target.run(input);
  for (std::size_t i = 0; i < kChanges && !input.empty(); ++i) {
    const std::size_t at = i * input.size() / kChanges;
    target.run(std::string_view(input).substr(0, at));
    std::string flipped = input;
    flipped[at] = static_cast<char>(flipped[at] ^ (1 << (i % 8)));
    target.run(flipped);
  }
}

class Corpus : public testing::TestWithParam<FuzzTarget> {};

TEST_P(Corpus, IsSurvived) {
  const auto inputs = kept(GetParam().name);
  ASSERT_GE(inputs.size(), 3u);
  for (const std::string& input : inputs) run_with_changes(GetParam(), input);
}

INSTANTIATE_TEST_SUITE_P(Fuzz, Corpus, testing::ValuesIn(fuzz_targets().begin(), fuzz_targets().end()),
                         [](const auto& p) { return std::string(p.param.name); });

TEST(CorpusDeathTest, WhatMustHoldEndsTheProgram) {
  EXPECT_DEATH(must_hold(false, "the sky is green"), "the sky is green");
}

}  // namespace
}  // namespace coilward
