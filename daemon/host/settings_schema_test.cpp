#include "daemon/host/settings_schema.h"

#include <gtest/gtest.h>
#include <sys/stat.h>

#include <fstream>

#include "tests/support/temporary_directory.h"

namespace coilward {
namespace {

using Json = nlohmann::ordered_json;

constexpr const char* kSchema = R"json([
  {"key": "url", "type": "text", "required": true, "help": "address"},
  {"key": "port", "type": "integer", "unit": "", "default": 25},
  {"key": "wait", "type": "number", "unit": "s", "default": 2.5},
  {"key": "tls", "type": "boolean", "default": true},
  {"key": "to", "type": "list"},
  {"key": "headers", "type": "table"},
  {"key": "value", "type": "pointer", "default": "/value"},
  {"key": "level", "type": "text", "allowed": ["low", "high"]},
  {"key": "key_file", "type": "file", "secret_file": true},
  {"key": "ca_file", "type": "file"}
])json";

SettingsSchema schema() { return SettingsSchema::parse(kSchema).value(); }

std::string refusal(const Json& settings) {
  const auto complete = schema().complete(settings);
  return complete ? "" : complete.error().what;
}

TEST(SettingsSchema, FillsDefaultsAndKeepsWhatIsGiven) {
  const Json complete = schema().complete({{"url", "x"}, {"port", 587}, {"to", {"a", "b"}}}).value();
  EXPECT_EQ(complete, (Json{{"url", "x"},
                            {"port", 587},
                            {"to", {"a", "b"}},
                            {"wait", 2.5},
                            {"tls", true},
                            {"value", "/value"}}));
}

TEST(SettingsSchema, EachMistakeIsNamedWithWhatIsAllowed) {
  const std::pair<Json, const char*> cases[] = {
      {Json::object(), "url: missing; needed is text in quotes"},
      {{{"url", 5}}, "url: found 5; allowed is text in quotes"},
      {{{"url", "x"}, {"prot", 1}}, "prot: unknown key; did you mean port?"},
      {{{"url", "x"}, {"entirely_else", 1}}, "entirely_else: unknown key; allowed are url, port"},
      {{{"url", "x"}, {"port", 25.5}}, "port: found 25.5; allowed is a whole number"},
      {{{"url", "x"}, {"port", "25"}}, "port: found \"25\""},
      {{{"url", "x"}, {"wait", "2"}}, "wait: found \"2\"; allowed is a number (s)"},
      {{{"url", "x"}, {"tls", 1}}, "tls: found 1; allowed is true or false"},
      {{{"url", "x"}, {"to", "a"}}, "to: found \"a\"; allowed is a list of texts"},
      {{{"url", "x"}, {"to", {1}}}, "to: found [1]"},
      {{{"url", "x"}, {"headers", {{"a", 1}}}}, "headers: found"},
      {{{"url", "x"}, {"value", "value"}}, "value: found \"value\"; allowed is a JSON pointer (RFC 6901)"},
      {{{"url", "x"}, {"value", "/a~"}}, "value: found"},
      {{{"url", "x"}, {"level", "mid"}}, "level: found \"mid\"; allowed is one of \"low\", \"high\""},
      {{{"url", "x"}, {"key_file", ""}}, "key_file: found"},
      {Json(5), "allowed is a table"}};
  for (const auto& [settings, expected] : cases)
    EXPECT_NE(refusal(settings).find(expected), std::string::npos) << settings << " -> " << refusal(settings);
  EXPECT_EQ(refusal({{"url", "x"}, {"value", ""}, {"level", "low"}}), "");
  EXPECT_EQ(refusal({{"prot", 1}, {"tlss", 1}}),
            "prot: unknown key; did you mean port?\ntlss: unknown key; did you mean tls?\n"
            "url: missing; needed is text in quotes");
}

TEST(SettingsSchema, ASchemaThatIsNoneIsRefused) {
  for (const char* wrong : {"", "{}", "[1]", "[{}]", R"([{"key":"a"}])", R"([{"key":"a","type":"int"}])",
                            R"([{"key":5,"type":"text"}])", R"([{"key":"a","type":"text","help":5}])",
                            R"([{"key":"a","type":"text","default":5}])",
                            R"([{"key":"a","type":"text"},{"key":"a","type":"text"}])"}) {
    const auto parsed = SettingsSchema::parse(wrong);
    ASSERT_FALSE(parsed) << wrong;
    EXPECT_NE(parsed.error().what.find("config_schema"), std::string::npos) << parsed.error().what;
  }
  EXPECT_TRUE(SettingsSchema::parse("[]"));
}

TEST(SettingsSchema, FilesAreLookedAt) {
  const TemporaryDirectory directory;
  const std::string path = directory / "key";
  const auto refused = [&](const char* key) {
    const auto checked = schema().check_files({{key, path}});
    return checked ? "" : checked.error().what;
  };
  EXPECT_NE(refused("key_file").find("No such file"), std::string::npos);
  std::ofstream(path) << "secret";
  ::chmod(path.c_str(), 0644);
  EXPECT_NE(refused("key_file").find("chmod 600"), std::string::npos);
  EXPECT_EQ(refused("ca_file"), "");
  ::chmod(path.c_str(), 0600);
  EXPECT_EQ(refused("key_file"), "");
  EXPECT_NE(schema().check_files({{"ca_file", directory.path()}}).error().what.find("no regular file"),
            std::string::npos);
}

}  // namespace
}  // namespace coilward
