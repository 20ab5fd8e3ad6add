// The kept inputs, whole, cut, and changed at random: what was found once stays found. With COILWARD_LONG in
// the environment 20,000 changes of each instead of 60.
#include <gtest/gtest.h>

#include <algorithm>
#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <iostream>
#include <iterator>
#include <random>
#include <string>
#include <vector>

#include "tests/fuzz/fuzz_targets.h"

namespace coilward {
namespace {

namespace fs = std::filesystem;
using Inputs = std::vector<std::string>;

Inputs kept(const std::string& target) {
  std::vector<fs::path> files;
  for (const auto& entry :
       fs::directory_iterator(fs::path(COILWARD_SOURCE_DIR) / "tests/fuzz/corpus" / target))
    files.push_back(entry.path());
  std::ranges::sort(files);
  Inputs inputs;
  for (const fs::path& file : files) {
    std::ifstream in(file, std::ios::binary);
    inputs.emplace_back(std::istreambuf_iterator<char>(in), std::istreambuf_iterator<char>());
  }
  return inputs;
}

// What parsers trip over, beside what is there already.
const std::string kPieces[] = {std::string(1, '\0'),
                               std::string(64, '['),
                               "\xff",
                               "\"",
                               "\\u",
                               "[",
                               "{",
                               "]",
                               "}",
                               "-",
                               "1e999",
                               "%",
                               "%00",
                               "=",
                               "&",
                               "/",
                               "+",
                               "#",
                               "\r\n",
                               "\n",
                               "99999999999999999999",
                               ".",
                               ":",
                               "NaN",
                               "\x9b",
                               "\xbf",
                               "\xfb",
                               "\x80",
                               "null",
                               "true",
                               "../",
                               "T",
                               "Z"};

class Changer {
 public:
  explicit Changer(const Inputs& inputs) : inputs_(inputs) {}

  std::string change(std::string text) {
    for (int times = 1 + below(4); times > 0; --times) change_once(text);
    return text;
  }

 private:
  int below(std::size_t limit) { return static_cast<int>(random_() % std::max<std::size_t>(limit, 1)); }
  std::size_t place(const std::string& text) { return static_cast<std::size_t>(below(text.size() + 1)); }

  void change_once(std::string& text) {
    const std::size_t at = place(text), size = place(text) / 4;
    switch (below(6)) {
      case 0:
        if (at < text.size()) text[at] = static_cast<char>(text[at] ^ (1 << below(8)));
        return;
      case 1:
        if (at < text.size()) text[at] = static_cast<char>(random_());
        return;
      case 2:
        return void(text.erase(at, size));
      case 3:
        return void(text.insert(at, kPieces[below(std::size(kPieces))]));
      case 4:
        return void(text.insert(at, text.substr(place(text), size)));
      default: {
        const std::string& other = inputs_[static_cast<std::size_t>(below(inputs_.size()))];
        text = text.substr(0, at) + other.substr(place(other));
      }
    }
    text.resize(std::min<std::size_t>(text.size(), 16'384));
  }

  const Inputs& inputs_;
  std::mt19937 random_{20'260'504};
};

class Corpus : public testing::TestWithParam<FuzzTarget> {};

TEST_P(Corpus, IsSurvived) {
  const Inputs inputs = kept(GetParam().name);
  ASSERT_GE(inputs.size(), 3u);
  const int changes = std::getenv("COILWARD_LONG") ? 20'000 : 60;
  Changer changer(inputs);
  for (const std::string& input : inputs) {
    GetParam().run(input);
    for (std::size_t cut = 0; cut < input.size(); cut += 1 + input.size() / 100)
      GetParam().run(std::string_view(input).substr(0, cut));
    std::string grown = input;
    for (int i = 0; i < changes; ++i) {
      std::string changed = changer.change(i % 2 == 0 ? input : grown);
      GetParam().run(changed);
      grown = i % 50 == 0 ? input : std::move(changed);
    }
  }
  std::cout << inputs.size() << " inputs, " << changes << " changes of each\n";
}

INSTANTIATE_TEST_SUITE_P(Fuzz, Corpus, testing::ValuesIn(fuzz_targets().begin(), fuzz_targets().end()),
                         [](const auto& p) { return std::string(p.param.name); });

TEST(CorpusDeathTest, WhatMustHoldEndsTheProgram) {
  EXPECT_DEATH(must_hold(false, "the sky is green"), "the sky is green");
}

}  // namespace
}  // namespace coilward
