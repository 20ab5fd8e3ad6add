// The made pages and completions, asked by the programs that show them.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <algorithm>
#include <array>
#include <cstdio>
#include <cstdlib>
#include <filesystem>
#include <sstream>

#include "daemon/config/keys.h"
#include "tools/manual/pages.h"

namespace coilward {
namespace {

using testing::HasSubstr;
using testing::IsSupersetOf;

const std::string kMade = COILWARD_BINARY_DIR "/manual/";

struct Ran {
  int status = -1;
  std::string output;
  std::vector<std::string> words() const {
    std::istringstream in(output);
    return {std::istream_iterator<std::string>(in), {}};
  }
};

Ran run(const std::string& command) {
  FILE* pipe = ::popen(("(" + command + ") 2>&1").c_str(), "r");
  Ran ran;
  std::array<char, 4096> block;
  for (std::size_t n = 0; (n = std::fread(block.data(), 1, block.size(), pipe)) > 0;)
    ran.output.append(block.data(), n);
  ran.status = ::pclose(pipe);
  return ran;
}

bool there_is(const std::string& program) { return run("command -v " + program).status == 0; }

class Page : public testing::TestWithParam<const char*> {};
INSTANTIATE_TEST_SUITE_P(Manual, Page, testing::Values("coilward.1", "coilwardd.8", "coilward.toml.5"),
                         [](const auto& p) {
                           std::string name = p.param;
                           std::ranges::replace(name, '.', '_');
                           return name;
                         });

TEST_P(Page, IsShownWithoutAWarning) {
  if (!there_is("man")) GTEST_SKIP() << "there is no man";
  const Ran ran = run("LC_ALL=C.UTF-8 MANWIDTH=80 man --warnings -E UTF-8 -l -Tutf8 " + kMade + GetParam() +
                      " 2>&1 >/dev/null");
  EXPECT_EQ(ran.status, 0);
  EXPECT_EQ(ran.output, "");
}

TEST(Manual, NamesEveryVerbAndOption) {
  const ProgramHelp client = client_help();
  const std::string page = program_page(client, 1, "");
  EXPECT_GE(client.verbs.size(), 17u);
  for (const VerbHelp& verb : client.verbs) {
    EXPECT_THAT(page, HasSubstr(".SS " + verb.name + "\n"));
    for (const OptionHelp& option : verb.options)
      EXPECT_THAT(page, HasSubstr(roff(option.name))) << verb.name;
  }
  const std::string daemon = program_page(daemon_help(), 8, "");
  for (const OptionHelp& option : daemon_help().options) EXPECT_THAT(daemon, HasSubstr(roff(option.name)));
}

TEST(Manual, NamesEveryKey) {
  const std::string page = config_page("");
  for (const KeySpec& key : config_keys())
    EXPECT_THAT(page, HasSubstr(std::string("\n.B ") + key.key + "\n"));
}

TEST(Manual, TextIsNotTakenForCommands) { EXPECT_EQ(roff(".SH a\n'b\\c-d"), "\\&.SH a\n\\&'b\\ec\\-d"); }

// What a shell offers for the last word of a line.
std::vector<std::string> in_bash(const std::string& line) {
  std::istringstream in(line);
  const std::vector<std::string> words{std::istream_iterator<std::string>(in), {}};
  std::string array, last = line.ends_with(' ') ? " ''" : "";
  for (const std::string& word : words) array += " '" + word + "'";
  const auto at = words.size() - (last.empty() ? 1 : 0);
  return run("bash -c \"compopt() { :; }; . " + kMade + words[0] + ".bash; COMP_WORDS=(" + array + last +
             "); COMP_CWORD=" + std::to_string(at) + "; _" + words[0] + "; echo \\${COMPREPLY[*]}\"")
      .words();
}

std::vector<std::string> in_fish(const std::string& line) {
  return run("fish --no-config -c \"source " + kMade + "coilward.fish; complete -C '" + line +
             "'\" | cut -f1")
      .words();
}

TEST(Completion, OfBash) {
  std::vector<std::string> verbs;
  for (const VerbHelp& verb : client_help().verbs) verbs.push_back(verb.name);
  EXPECT_THAT(in_bash("coilward "), IsSupersetOf(verbs));
  EXPECT_EQ(in_bash("coilward loc"), std::vector<std::string>{"locate"});
  for (const VerbHelp& verb : client_help().verbs) {
    std::vector<std::string> names;
    for (const OptionHelp& option : verb.options)
      if (!option.positional) names.push_back(option.name);
    EXPECT_THAT(in_bash("coilward " + verb.name + " --"), testing::UnorderedElementsAreArray(names))
        << verb.name;
  }
  EXPECT_THAT(in_bash("coilward test-reading x --toward "), testing::ElementsAre("valve", "controller"));
  EXPECT_THAT(in_bash("coilwardd --log-format j"), testing::ElementsAre("journal", "json"));
}

TEST(Completion, OfFish) {
  if (!there_is("fish")) GTEST_SKIP() << "there is no fish";
  EXPECT_THAT(in_fish("coilward loc"), testing::Contains("locate"));
  EXPECT_THAT(in_fish("coilward test-reading --tow"), testing::Contains("--toward"));
  EXPECT_THAT(in_fish("coilward test-reading x --toward "), testing::IsSupersetOf({"valve", "controller"}));
}

TEST(Completion, OfZsh) {
  if (!there_is("zsh")) GTEST_SKIP() << "there is no zsh";
  for (const char* program : {"coilward", "coilwardd"}) {
    const Ran ran = run("zsh -n " + kMade + program + ".zsh");
    EXPECT_EQ(ran.status, 0) << ran.output;
  }
}

// systemd.exec(5): how exposed the service is, on systemd's own scale of 0 to 10.
TEST(Service, IsHardened) {
  if (!there_is("systemd-analyze")) GTEST_SKIP() << "there is no systemd-analyze";
  const Ran ran = run("systemd-analyze security --offline=true --threshold=20 --no-pager " COILWARD_SOURCE_DIR
                      "/config/coilwardd.service");
  EXPECT_EQ(ran.status, 0) << ran.output;
}

}  // namespace
}  // namespace coilward
