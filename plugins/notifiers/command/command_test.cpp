#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <filesystem>
#include <future>

#include "plugins/common/plugin_under_test.h"
#include "plugins/common/script_server.h"

namespace coilward_plugins {
namespace {

using std::chrono::milliseconds;
using std::chrono::steady_clock;
using testing::HasSubstr;
using Json = nlohmann::json;

constexpr const char* kCases = COILWARD_SOURCE_DIR "/plugins/notifiers/command/cases/";

std::string alert(std::size_t text_size = 20) {
  return Json{{"id", "20260504-061209-z4-open_circuit.opened.1"},
              {"kind", "opened"},
              {"severity", "urgent"},
              {"site", "juniper-row-12"},
              {"subject", "[Juniper Row 12] Zone 4; $(touch /tmp/no) `id`"},
              {"text", std::string(text_size, 'x')}}
      .dump();
}

Reply run(const std::vector<std::string>& words, const std::string& json = alert(), double timeout_s = 10) {
  return PluginUnderTest("command.so", {{"run", words}}).deliver(json, timeout_s);
}

bool running(pid_t pid) { return ::kill(pid, 0) == 0; }

std::vector<std::string> all_cases() {
  std::vector<std::string> names;
  for (const auto& entry : std::filesystem::directory_iterator(kCases))
    names.push_back(entry.path().filename().string());
  std::sort(names.begin(), names.end());
  return names;
}

class CommandCase : public testing::TestWithParam<std::string> {};
INSTANTIATE_TEST_SUITE_P(Cases, CommandCase, testing::ValuesIn(all_cases()),
                         [](const auto& each) { return each.param; });

TEST_P(CommandCase, IsJudgedAsExpected) {
  const std::string folder = kCases + GetParam();
  const Json expected = Json::parse(file_text(folder + "/expected.json"));
  const Reply reply = run({folder + "/script.sh"});
  const char* const outcomes[] = {"done", "retry", "refused"};
  EXPECT_EQ(outcomes[reply.outcome], expected["outcome"].get<std::string>());
  EXPECT_EQ(reply.words, expected["words"].get<std::string>());
}

TEST(Command, GetsTheWholeAlertOnItsInputAndItsArgumentsUntouched) {
  const TemporaryDirectory directory;
  const std::string out = directory / "out", json = alert(300000);
  const Reply reply =
      run({"/bin/sh", "-c", "printf '%s\\n' \"$1\" > $0.args; cat > $0", out, "a b;'$(id)"}, json);
  ASSERT_EQ(reply.outcome, COILWARD_DONE) << reply.words;
  EXPECT_EQ(file_text(out), json);
  EXPECT_EQ(file_text(out + ".args"), "a b;'$(id)\n");
}

TEST(Command, IsFoundInThePath) { EXPECT_EQ(run({"true"}).outcome, COILWARD_DONE); }

TEST(Command, AProgramThatIsNotThereIsRefused) {
  const Reply reply = run({"/no/such/program"});
  EXPECT_EQ(reply.outcome, COILWARD_REFUSED);
  EXPECT_THAT(reply.words, HasSubstr("/no/such/program: No such file or directory"));
}

TEST(Command, WordsAreBoundedAndTheLastOnesAreKept) {
  const Reply reply = run({"/bin/sh", "-c", "yes word | head -c 1000000 >&2; echo the end >&2"});
  EXPECT_LT(reply.words.size(), 2100u);
  EXPECT_THAT(reply.words, HasSubstr("the end"));
}

TEST(Command, TimeOutKillsTheProgramAndItsChildren) {
  const TemporaryDirectory directory;
  const std::string pids = directory / "pids";
  const auto before = steady_clock::now();
  const Reply reply =
      run({"/bin/sh", "-c", "trap '' TERM; sleep 600 & echo $! > $0; echo $$ >> $0; wait; wait", pids},
          alert(), 1.5);
  EXPECT_EQ(reply.outcome, COILWARD_RETRY);
  EXPECT_THAT(reply.words, HasSubstr("ran out of time"));
  EXPECT_LT(steady_clock::now() - before, std::chrono::seconds{5});
  std::istringstream list(file_text(pids));
  int found = 0;
  for (pid_t pid; list >> pid; ++found) {
    const auto deadline = steady_clock::now() + std::chrono::seconds{5};
    while (running(pid) && steady_clock::now() < deadline) std::this_thread::yield();
    EXPECT_FALSE(running(pid)) << pid;
  }
  EXPECT_EQ(found, 2);
}

TEST(Command, AnInterruptEndsItAtOnce) {
  PluginUnderTest plugin("command.so", {{"run", {"sleep", "600"}}});
  const auto before = steady_clock::now();
  auto delivering = std::async(std::launch::async, [&] { return plugin.deliver(alert(), 60); });
  while (delivering.wait_for(milliseconds{20}) != std::future_status::ready) plugin.interrupt();
  EXPECT_EQ(delivering.get().words, "interrupted");
  EXPECT_LT(steady_clock::now() - before, std::chrono::seconds{5});
}

TEST(Command, AProgramThatLeavesSomethingRunningDoesNotHoldUsUp) {
  const auto before = steady_clock::now();
  EXPECT_EQ(run({"/bin/sh", "-c", "sleep 3 & exit 0"}).outcome, COILWARD_DONE);
  EXPECT_LT(steady_clock::now() - before, std::chrono::seconds{2});
}

TEST(Command, NothingToRunIsRefusedAtOnce) {
  EXPECT_THROW(PluginUnderTest("command.so", {{"run", Json::array()}}), std::runtime_error);
  EXPECT_THROW(PluginUnderTest("command.so", Json::object()), std::runtime_error);
}

}  // namespace
}  // namespace coilward_plugins
