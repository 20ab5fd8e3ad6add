// Prints what a message costs, for each kind of payload: nanoseconds, median of seven rounds.
#include <fmt/format.h>

#include <algorithm>
#include <chrono>
#include <cstdio>
#include <functional>

#include "daemon/intake/intake.h"

namespace coilward {
namespace {

constexpr int kMessages = 200000;
constexpr int kRounds = 7;

Config site() {
  std::string text = "[site]\nid = \"bench\"\n";
  for (int zone = 1; zone <= 24; ++zone) text += fmt::format("[[zone]]\nnumber = {}\n", zone);
  return parse_config(text, "bench.toml").value();
}

// payload(i): of the i-th message, one of 24 zones.
void measure(const char* name, const std::function<std::string(int)>& payload) {
  const Config config = site();
  PluginHost host(COILWARD_BINARY_DIR "/plugins");
  const auto intake = Intake::make(config, host).value();
  std::vector<std::string> topics, payloads;
  for (int i = 0; i < kMessages; ++i) {
    topics.push_back(fmt::format("coilward/bench/measure/zone/{}/current", 1 + i % 24));
    payloads.push_back(payload(i));
  }
  std::vector<double> rounds;
  std::int64_t now_ms = 1777875129000;
  for (int round = 0; round < kRounds; ++round) {
    const auto start = std::chrono::steady_clock::now();
    for (int i = 0; i < kMessages; ++i)
      intake->message(
          {topics[static_cast<std::size_t>(i)], payloads[static_cast<std::size_t>(i)], from_ms(now_ms++)});
    const std::chrono::duration<double, std::nano> took = std::chrono::steady_clock::now() - start;
    rounds.push_back(took.count() / kMessages);
  }
  std::sort(rounds.begin(), rounds.end());
  fmt::print("{:<34} {:6.0f} ns   stored {} of {}\n", name, rounds[kRounds / 2], intake->counters().stored,
             intake->counters().received);
}

void measure_all() {
  measure("number", [](int i) { return fmt::format("{:.3f}", 0.2 + i % 100 / 1000.0); });
  measure("senml, one reading", [](int i) {
    return fmt::format(R"([{{"n":"zone/{}/current","u":"A","v":{:.3f}}}])", 1 + i % 24,
                       0.2 + i % 100 / 1000.0);
  });
  measure("senml, one reading, own time", [](int i) {
    return fmt::format(R"([{{"n":"zone/{}/current","u":"A","t":{:.3f},"v":{:.3f}}}])", 1 + i % 24,
                       1777875129.0 + i / 24.0, 0.2 + i % 100 / 1000.0);
  });
  measure("json", [](int i) { return fmt::format(R"({{"value":{},"unit":"mA"}})", 200 + i % 100); });
  measure("refused", [](int) { return std::string("0,231"); });
}

}  // namespace
}  // namespace coilward

int main() { coilward::measure_all(); }
