// Runs the built `coilward` as a person or script does, and a small site for it to work on. For the tests of
// this folder.
#pragma once

#include <fcntl.h>
#include <fmt/format.h>
#include <gtest/gtest.h>
#include <spawn.h>
#include <sys/wait.h>

#include <filesystem>
#include <fstream>
#include <sstream>
#include <string>
#include <vector>

#include "daemon/base/pipeline_json.h"
#include "daemon/web/web_test_site.h"

extern char** environ;

namespace coilward {

struct Ran {
  int status = -1;
  std::string out, err;
  // Each line of stdout as JSON.
  std::vector<Json> lines() const {
    std::vector<Json> all;
    std::istringstream in(out);
    for (std::string line; std::getline(in, line);) all.push_back(Json::parse(line, nullptr, false));
    return all;
  }
};

inline std::string text_of(const std::string& file) {
  std::ostringstream text;
  text << std::ifstream(file, std::ios::binary).rdbuf();
  return text.str();
}

inline Ran run_coilward(std::vector<std::string> args, const std::string& input = "") {
  const TemporaryDirectory directory;
  const std::string program = COILWARD_BINARY_DIR "/bin/coilward", in = directory / "in",
                    out = directory / "out", err = directory / "err";
  std::ofstream(in) << input;
  posix_spawn_file_actions_t files;
  posix_spawn_file_actions_init(&files);
  posix_spawn_file_actions_addopen(&files, 0, in.c_str(), O_RDONLY, 0);
  posix_spawn_file_actions_addopen(&files, 1, out.c_str(), O_WRONLY | O_CREAT, 0600);
  posix_spawn_file_actions_addopen(&files, 2, err.c_str(), O_WRONLY | O_CREAT, 0600);
  args.insert(args.begin(), program);
  std::vector<char*> argv;
  for (std::string& arg : args) argv.push_back(arg.data());
  argv.push_back(nullptr);
  pid_t child = 0;
  int status = 0;
  const int spawned = posix_spawn(&child, program.c_str(), &files, nullptr, argv.data(), environ);
  posix_spawn_file_actions_destroy(&files);
  EXPECT_EQ(spawned, 0) << program;
  if (spawned != 0) return {};
  ::waitpid(child, &status, 0);
  return {WIFEXITED(status) ? WEXITSTATUS(status) : 128 + WTERMSIG(status), text_of(out), text_of(err)};
}

// Three zones on one common along two boxes.
inline constexpr std::string_view kSiteToml = R"([site]
id = "juniper-row-12"
name = "Juniper Row 12"
timezone = "America/Boise"

[[box]]
id = "A"
from = "controller"
metres = 18
[[box]]
id = "B"
from = "A"
metres = 31

[[zone]]
number = 3
box = "A"
hold_amps = 0.23
[[zone]]
number = 4
name = "East hedge"
box = "B"
hold_amps = 0.23
[[zone]]
number = 5
box = "B"
hold_amps = 0.23
)";

// What mosquitto_sub -F '%j' would have printed: each day zones 3, 4 and 5 run five minutes each, one reading
// a second; on `broken_days` zone 4 takes no current.
class SiteRecording {
 public:
  SiteRecording(int days, int broken_days) {
    for (int day = 0; day < days; ++day)
      for (int zone : {3, 4, 5}) run(day, zone, zone == 4 && day >= days - broken_days);
  }
  const std::string& text() const { return text_; }

 private:
  void run(int day, int zone, bool broken) {
    const UtcTime start = *parse_rfc3339("2026-05-04T06:00:00Z") + std::chrono::hours{24 * day} +
                          std::chrono::minutes{6 * (zone - 3)};
    line(start, fmt::format("zone/{}/command", zone), "1");
    for (int s = 0; s < 300; ++s) {
      const double noise = 0.0005 * ((s * 7919 + day * 31) % 11 - 5) / 5;
      line(start + Millis{1000 * s + 500}, fmt::format("zone/{}/current", zone),
           fmt::format("{:.4f}", broken ? 0.001 + noise : 0.231 + noise));
    }
    line(start + Millis{300'000}, fmt::format("zone/{}/command", zone), "0");
    for (int s = 1; s < 20; ++s)
      line(start + Millis{300'000 + 1000 * s}, fmt::format("zone/{}/current", zone), "0.0005");
  }
  void line(UtcTime time, const std::string& channel, const std::string& payload) {
    text_ += fmt::format(
        R"({{"tst":"{}","topic":"coilward/juniper-row-12/measure/{}","qos":1,"retain":0,"payloadlen":{},"payload":"{}"}})"
        "\n",
        format_rfc3339(time), channel, payload.size(), payload);
  }
  std::string text_;
};

// Configuration, recording and, after replay_state(), the state that a replay left.
class TestFiles {
 public:
  TestFiles() { std::ofstream(config) << kSiteToml; }
  void record(int days, int broken_days) {
    std::ofstream(recording) << SiteRecording(days, broken_days).text();
  }
  Ran replay_state() {
    return run_coilward({"replay", recording, "--config", config, "--state", state, "--json"});
  }
  // A verb on the files alone.
  Ran offline(std::vector<std::string> args) const {
    for (const auto& more : {std::string("--state"), state, std::string("--config"), config})
      args.push_back(more);
    return run_coilward(std::move(args));
  }

  TemporaryDirectory directory;
  const std::string config = directory / "site.toml", recording = directory / "recording.jsonl",
                    state = directory / "state";
};

}  // namespace coilward
