// A small site and an intake on it, with the built decoders.
#pragma once

#include <fmt/format.h>
#include <gtest/gtest.h>

#include <string>
#include <vector>

#include "daemon/intake/intake.h"

namespace coilward {

inline constexpr const char* kIntakeSite = R"(
[site]
id = "juniper-row-12"
[[common]]
id = "main"
awg = 14
[[zone]]
number = 1
[[zone]]
number = 4
[master]
)";

inline UtcTime at(std::string_view rfc3339) { return parse_rfc3339(rfc3339).value(); }

class IntakeSite {
 public:
  explicit IntakeSite(const std::string& more = "")
      : config_(parse_config(kIntakeSite + more, "site.toml").value()),
        host_(COILWARD_BINARY_DIR "/plugins"),
        intake_(Intake::make(config_, host_).value()) {}

  // The refusal of a configuration, "" when it is accepted.
  static std::string refusal(const std::string& more) {
    const auto config = parse_config(kIntakeSite + more, "site.toml");
    if (!config) return config.error().what;
    PluginHost host(COILWARD_BINARY_DIR "/plugins");
    const auto made = Intake::make(*config, host);
    return made ? "" : made.error().what;
  }

  std::vector<Reading> send(Message message) {
    if (message.arrival == kNever) message.arrival = now;
    const auto readings = intake_->message(message);
    return {readings.begin(), readings.end()};
  }
  // Under measure/.
  std::vector<Reading> measure(const std::string& channel, std::string_view payload) {
    const std::string topic = "coilward/juniper-row-12/measure/" + channel;
    return send({.topic = topic, .payload = payload});
  }

  std::uint64_t rejected(Reject reason) const {
    return intake_->counters().rejected[static_cast<std::size_t>(reason)];
  }
  // Both laws of intake.h.
  void expect_laws() const {
    const IntakeCounters& c = intake_->counters();
    EXPECT_EQ(c.messages, c.messages_decoded + c.messages_undecoded + c.messages_lost);
    EXPECT_EQ(c.received, c.stored + c.rejected_all() + c.dropped_all() + c.duplicates);
  }

  Intake& intake() { return *intake_; }
  const Config& config() const { return config_; }

  UtcTime now = at("2026-05-04T06:12:09Z");

 private:
  Config config_;
  PluginHost host_;
  std::unique_ptr<Intake> intake_;
};

}  // namespace coilward
