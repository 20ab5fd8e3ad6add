// README.md and DEVELOPERS.md against the program: samples parse, verbs exist, links and paths lead
// somewhere.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <algorithm>
#include <array>
#include <cstdio>
#include <filesystem>
#include <fstream>
#include <nlohmann/json.hpp>
#include <regex>
#include <set>
#include <sstream>

#include "daemon/alerts/alert_book.h"
#include "daemon/base/pipeline_json.h"
#include "daemon/config/config.h"
#include "daemon/config/fleet_server.h"

namespace coilward {
namespace {

namespace fs = std::filesystem;
const fs::path kSource = COILWARD_SOURCE_DIR;

std::string read(const fs::path& path) {
  std::ifstream file(path);
  std::ostringstream text;
  text << file.rdbuf();
  return text.str();
}

// The fenced blocks of one language, in order.
std::vector<std::string> blocks(const std::string& text, const std::string& language) {
  std::vector<std::string> out;
  const std::string fence = "```" + language + "\n";
  for (auto at = text.find(fence); at != std::string::npos; at = text.find(fence, at)) {
    at += fence.size();
    const auto end = text.find("```", at);
    out.push_back(text.substr(at, end - at));
    at = end;
  }
  return out;
}

std::vector<std::string> matches(const std::string& text, const std::string& pattern) {
  const std::regex regex(pattern);
  std::vector<std::string> out;
  for (std::sregex_iterator it(text.begin(), text.end(), regex), end; it != end; ++it)
    out.push_back((*it)[1].str());
  return out;
}

std::string output_of(const std::string& command) {
  FILE* pipe = ::popen(command.c_str(), "r");
  if (!pipe) return {};
  std::string out;
  std::array<char, 4096> buffer;
  for (std::size_t n = 0; (n = std::fread(buffer.data(), 1, buffer.size(), pipe)) > 0;)
    out.append(buffer.data(), n);
  return ::pclose(pipe) == 0 ? out : std::string();
}

const std::string kClient = COILWARD_BINARY_DIR "/bin/coilward";

TEST(Readme, FirstSiteIsTenGoodLines) {
  const auto toml = blocks(read(kSource / "README.md"), "toml");
  ASSERT_FALSE(toml.empty());
  EXPECT_EQ(std::count(toml[0].begin(), toml[0].end(), '\n'), 10);
  const auto config = parse_config(toml[0], "README.md");
  ASSERT_TRUE(config.has_value()) << config.error().what;
  EXPECT_EQ(config->zones.size(), 2U);
}

TEST(Readme, EveryFurtherBlockAddsToIt) {
  const auto toml = blocks(read(kSource / "README.md"), "toml");
  ASSERT_GE(toml.size(), 2U);
  for (std::size_t i = 1; i < toml.size(); ++i) {
    if (toml[i].starts_with("role = \"fleet\"")) {
      const auto server = parse_fleet_server_config(toml[i], "README.md");
      EXPECT_TRUE(server.has_value()) << toml[i] << server.error().what;
      continue;
    }
    const auto config = parse_config(toml[0] + "\n" + toml[i], "README.md");
    EXPECT_TRUE(config.has_value()) << toml[i] << config.error().what;
  }
}

TEST(Readme, FindingHasTheKeysOfAFinding) {
  const auto json = blocks(read(kSource / "README.md"), "json");
  ASSERT_EQ(json.size(), 1U);
  const auto shown = Json::parse(json[0]);
  const auto real = finding_to_json(Finding{}, "site");
  for (const auto& [key, value] : shown.items()) EXPECT_TRUE(real.contains(key)) << key;
}

TEST(Readme, AlertIsWhatThatFindingIsToldAs) {
  const std::string readme = read(kSource / "README.md");
  const auto config = load_config(kSource / "config/example.toml");
  ASSERT_TRUE(config.has_value()) << config.error().what;
  const Finding finding = finding_from_json(Json::parse(blocks(readme, "json").at(0)));
  AlertBook book(*config);
  book.finding(finding, finding.opened);
  const auto alerts = book.advance(finding.opened + std::chrono::seconds{10});
  ASSERT_EQ(alerts.size(), 1U);
  EXPECT_EQ(blocks(readme, "text").at(0), alerts[0].subject + "\n\n" + alerts[0].text);
}

TEST(Readme, NamesEveryFault) {
  const std::string text = read(kSource / "README.md");
  for (int i = 0; i < kFaults; ++i)
    EXPECT_THAT(text, testing::HasSubstr("`" + std::string(fault_name(static_cast<Fault>(i))) + "`"));
}

TEST(Readme, VerbsAreThoseOfTheProgram) {
  const auto rows = matches(read(kSource / "README.md"), "\n\\| `([a-z-]+)` \\|");
  const std::string help = output_of(kClient + " --help");
  const auto known = matches(help.substr(std::min(help.find("Subcommands:"), help.size())), "\n  ([a-z-]+) ");
  EXPECT_GE(known.size(), 10U) << help;
  EXPECT_EQ(std::set<std::string>(rows.begin(), rows.end()),
            std::set<std::string>(known.begin(), known.end()));
}

class Page : public testing::TestWithParam<const char*> {};

TEST_P(Page, LinksLeadSomewhere) {
  const auto links = matches(read(kSource / GetParam()), "\\]\\(([^)#:]+)\\)");
  EXPECT_FALSE(links.empty());
  for (const auto& link : links) EXPECT_TRUE(fs::exists(kSource / link)) << link;
}

TEST_P(Page, PathsAreThere) {
  for (const auto& path :
       matches(read(kSource / GetParam()), "`((?:daemon|plugins|tests|tools|config|\\.ci)/[\\w./-]*)`"))
    EXPECT_TRUE(fs::exists(kSource / path)) << path;
}

INSTANTIATE_TEST_SUITE_P(All, Page, testing::Values("README.md", "DEVELOPERS.md"),
                         [](const auto& page) { return fs::path(page.param).stem().string(); });

}  // namespace
}  // namespace coilward
