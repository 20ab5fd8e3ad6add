// For tests of the client: a spool, a client, and something that publishes, around a real broker.
#pragma once

#include <gtest/gtest.h>

#include <memory>
#include <string>
#include <vector>

#include "daemon/mqtt/client.h"
#include "daemon/mqtt/publisher.h"
#include "daemon/mqtt/spool.h"
#include "tests/support/broker.h"
#include "tests/support/child_process.h"
#include "tests/support/poll.h"
#include "tests/support/temporary_directory.h"

namespace coilward {

struct Received {
  std::string topic;
  std::string payload;
  bool retained = false;
  bool duplicate = false;
};

inline MqttConfig broker_config(const std::string& url, int version = 4) {
  MqttConfig config;
  config.url = url;
  config.version = version;
  config.keep_alive_s = 2;
  return config;
}

inline ClientOptions client_options(const std::string& url, int version = 4) {
  ClientOptions options;
  options.mqtt = broker_config(url, version);
  options.mqtt.client_id = "coilward-juniper-test";
  options.site = "juniper";
  options.version = "0.1.0";
  options.filters = {"coilward/juniper/measure/#"};
  options.first_delay = std::chrono::milliseconds(100);
  options.longest_delay = std::chrono::milliseconds(500);
  options.connect_timeout = std::chrono::seconds(3);
  return options;
}

// Another client with the same id, which comes again whenever it is thrown out. A process of its own: Paho's
// clients of one process share their threads, and hold each other up.
inline ChildProcess impostor(const Broker& broker, const std::string& client_id) {
  return ChildProcess({find_program("mosquitto_sub"), "-h", "127.0.0.1", "-p", std::to_string(broker.port()),
                       "-i", client_id, "-t", "elsewhere"},
                      "/dev/null");
}

// A client with its spool, as the daemon has them.
class Subscriber {
 public:
  explicit Subscriber(ClientOptions options) {
    auto opened = Spool::open(directory_ / "spool", 16 << 20);
    if (!opened) throw std::runtime_error(opened.error().what);
    spool_ = std::move(*opened);
    auto made = Client::create(std::move(options), spool_, clock());
    if (!made) throw std::runtime_error(made.error().what);
    client_ = std::move(*made);
  }

  Client& client() { return *client_; }
  Spool& spool() { return *spool_; }
  ClientStatus status() { return client_->status(); }

  Subscriber& start() {
    client_->start();
    return *this;
  }
  bool ready(std::chrono::milliseconds within = std::chrono::seconds(30)) {
    return becomes_true([this] { return status().subscribed; }, within);
  }
  bool troubled_by(Trouble trouble) {
    return becomes_true([&] { return status().trouble == trouble; });
  }

  std::vector<Received> received() {
    spool_->read(last_, 1'000'000, [this](const Message& m) {
      received_.push_back({std::string(m.topic), std::string(m.payload), m.retained, m.duplicate});
      last_ = m.sequence;
    });
    return received_;
  }
  bool receives(const std::string& topic, const std::string& payload) {
    return becomes_true([&] {
      for (const Received& r : received()) {
        if (r.topic == topic && r.payload == payload) return true;
      }
      return false;
    });
  }

 private:
  // A client that was stopped while it connected goes on for a while, and looks at its clock.
  static const Clock& clock() {
    static const SystemClock system;
    return system;
  }

  TemporaryDirectory directory_;
  std::shared_ptr<Spool> spool_;
  std::unique_ptr<Client> client_;
  std::uint64_t last_ = 0;
  std::vector<Received> received_;
};

// One message from outside, acknowledged by the broker.
inline void publish_once(const MqttConfig& config, const std::string& topic, const std::string& payload,
                         bool retained = false) {
  auto publisher = Publisher::connect(config);
  ASSERT_TRUE(publisher) << publisher.error().what;
  ASSERT_TRUE((*publisher)->publish(topic, payload, retained));
  ASSERT_TRUE((*publisher)->flush());
}

inline bool long_tests() { return std::getenv("COILWARD_LONG") != nullptr; }

}  // namespace coilward
