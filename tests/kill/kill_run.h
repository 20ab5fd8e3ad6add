// Numbered QoS 1 messages through a real broker to a program that is killed again and again.
#pragma once

#include <functional>
#include <string>
#include <vector>

#include "tests/support/broker.h"

namespace coilward {

// The program under test and how to talk to it.
struct KillSubject {
  std::string site;
  std::vector<std::string> command;
  std::function<std::string(std::uint64_t number)> topic;
  std::function<std::string(std::uint64_t number)> payload;
};

struct KillPlan {
  std::uint64_t messages = 5'000;
  int kills = 8;
  std::uint32_t seed = 1;
};

struct KillReport {
  std::uint64_t acknowledged = 0;  // messages 1..acknowledged have their PUBACK from the broker
  int kills = 0;
  int killed_while_connecting = 0;
  double seconds = 0;
};

// Publishes while killing and restarting; returns with the subject running and every message acknowledged to
// the publisher. Throws std::runtime_error when something does not even start.
KillReport run_kills(Broker& broker, const KillSubject& subject, const KillPlan& plan, ChildProcess& process);

// Waits until the site's status report says `online`.
bool comes_online(Broker& broker, const std::string& site,
                  std::chrono::milliseconds within = std::chrono::seconds(30));

// The short form by default; the issue's, 100,000 messages and 50 kills, with COILWARD_LONG in the
// environment.
KillPlan kill_plan();

}  // namespace coilward
