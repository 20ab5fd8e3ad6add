#include "daemon/simulate/simulate_command.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <unistd.h>

#include <cstdio>
#include <filesystem>
#include <fstream>
#include <nlohmann/json.hpp>
#include <thread>

#include "daemon/config/config.h"
#include "daemon/intake/recording_reader.h"
#include "tests/support/broker.h"
#include "tests/support/temporary_directory.h"

namespace coilward {
namespace {

std::string text_of(const std::string& path) {
  std::ifstream file(path);
  return {std::istreambuf_iterator<char>(file), {}};
}

class SimulateCommand : public testing::Test {
 protected:
  SimulateCommand() {
    options.random = 5;
    options.days = 1;
    options.recording = directory / "site.jsonl";
    options.truth = directory / "truth.json";
    options.config_out = directory / "site.toml";
  }
  TemporaryDirectory directory;
  SimulateOptions options;
};

TEST_F(SimulateCommand, WritesRecordingTruthAndConfiguration) {
  options.faults = {"supply_lost:at=3600"};
  const auto report = run_simulate(options, {}, {});
  ASSERT_TRUE(report) << report.error().what;
  EXPECT_EQ(std::filesystem::file_size(options.recording), report->bytes);
  auto reader = RecordingReader::open(options.recording);
  std::uint64_t messages = 0;
  for (Message message; reader->next(message);) ++messages;
  EXPECT_EQ(messages, report->messages);
  EXPECT_GT(messages, 100u);
  const auto truth = nlohmann::json::parse(text_of(options.truth));
  EXPECT_EQ(truth["faults"][0]["fault"], "supply_lost");
  EXPECT_EQ(truth["faults"][0]["onset"], "2026-05-04T01:00:00.000Z");
  const auto config = load_config(options.config_out);
  ASSERT_TRUE(config) << config.error().what;
  EXPECT_EQ(truth["zones"], config->zones.size());
}

TEST_F(SimulateCommand, TakesAConfigurationFile) {
  std::ofstream(directory / "mine.toml") << "[site]\nid = \"mine\"\n[[zone]]\nnumber = 4\n";
  options.random.reset();
  options.config = directory / "mine.toml";
  ASSERT_TRUE(run_simulate(options, {}, {}));
  EXPECT_THAT(text_of(options.recording), testing::HasSubstr("coilward/mine/measure/zone/4/current"));
}

TEST_F(SimulateCommand, SaysWhatIsWrong) {
  options.faults = {"open_circuit:zone=999"};
  EXPECT_EQ(run_simulate(options, {}, {}).error().cause, Cause::bad_input);
  options.faults.clear();
  options.recording = directory / "no/such/place.jsonl";
  EXPECT_EQ(run_simulate(options, {}, {}).error().cause, Cause::world);
  options.recording = directory / "site.jsonl";
  options.start = "yesterday";
  EXPECT_EQ(run_simulate(options, {}, {}).error().cause, Cause::bad_input);
  options.random.reset();
  options.start = "2026-05-04T00:00:00Z";
  std::ofstream(directory / "bad.toml") << "[site]\nidd = \"mine\"\n";
  options.config = directory / "bad.toml";
  EXPECT_EQ(run_simulate(options, {}, {}).error().cause, Cause::bad_config);
}

// The demonstration on a real broker, watched by a real recorder.
TEST_F(SimulateCommand, PublishesTheDemonstration) {
  if (std::system("command -v mosquitto mosquitto_sub >/dev/null 2>&1") != 0)
    GTEST_SKIP() << "mosquitto is not installed";
  Broker broker;
  SimulateOptions demo;
  demo.demo = true;
  demo.broker = broker.url();
  demo.speed = 8;
  std::jthread publisher([&](std::stop_token stop) {
    const auto report = run_simulate(demo, stop, {});
    EXPECT_TRUE(report) << report.error().what;
  });
  const std::string watch =
      "mosquitto_sub -h 127.0.0.1 -q 1 -t 'coilward/demo/measure/#' -F %j -C 80 -W 30 -p " +
      std::to_string(broker.port());
  std::FILE* watched = ::popen(watch.c_str(), "r");
  ASSERT_NE(watched, nullptr);
  RecordingReader reader(::dup(::fileno(watched)));
  int messages = 0;
  bool drew = false;
  for (Message message; reader.next(message); ++messages) {
    drew = drew || message.payload.find("\"bt\"") != std::string_view::npos;
    EXPECT_FALSE(message.retained);
  }
  EXPECT_EQ(::pclose(watched), 0);
  EXPECT_EQ(messages, 80);
  EXPECT_TRUE(drew);
}

TEST(SimulateLive, ABrokerThatIsNotThereIsSaid) {
  SimulateOptions demo;
  demo.demo = true;
  demo.broker = "mqtt://127.0.0.1:" + std::to_string(free_port());
  const auto report = run_simulate(demo, {}, {});
  ASSERT_FALSE(report);
  EXPECT_EQ(report.error().cause, Cause::world);
}

}  // namespace
}  // namespace coilward
