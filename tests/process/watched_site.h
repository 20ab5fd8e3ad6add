// A daemon whose two zones' sensors speak several times a second, and what its people are told: Ben, who
// looks after it, and Ana, who lives there, by a broker of their own.
#pragma once

#include <fmt/format.h>
#include <sys/resource.h>

#include <atomic>
#include <set>

#include "daemon/mqtt/client_fixture.h"
#include "tests/process/one_zone.h"

namespace coilward {

// Publishes what two idle sensors say until it is ended; waits while the broker is away.
class Sensors {
 public:
  explicit Sensors(const Broker& broker)
      : url_(broker.url()), thread_([this](std::stop_token stop) { speak(stop); }) {}
  void silence(int zone) { (zone == 1 ? silent_1_ : silent_2_) = true; }
  void speak_again() { silent_1_ = silent_2_ = false; }

 private:
  void speak(std::stop_token stop) {
    std::unique_ptr<Publisher> publisher;
    for (int times = 0; !stop.stop_requested(); ++times) {
      if (!publisher)
        if (auto made = Publisher::connect(broker_config(url_), 100, std::chrono::seconds(1)))
          publisher = std::move(*made);
      const std::string value = fmt::format("{:.4f}", 0.001 + 0.0001 * (times % 7));
      for (const int zone : {1, 2})
        if (publisher && !(zone == 1 ? silent_1_ : silent_2_) &&
            !publisher->publish(fmt::format("coilward/juniper/measure/zone/{}/current", zone), value))
          publisher.reset();
      std::this_thread::sleep_for(std::chrono::milliseconds(200));  // how often a sensor speaks
    }
  }
  const std::string url_;
  std::atomic<bool> silent_1_ = false, silent_2_ = false;
  std::jthread thread_;  // last: it uses the others
};

class WatchedSite : public testing::Test {
 protected:
  // more: of the configuration. Starts everything.
  void start(const std::string& more = "", std::vector<std::string> environment = {}) {
    daemon.write(toml(more));
    told_.start();
    ASSERT_TRUE(told_.ready());
    daemon.start({}, std::move(environment));
    ASSERT_TRUE(daemon.ready()) << daemon.log();
    sensors.emplace(broker);
    ASSERT_TRUE(becomes_true([&] { return !kept_readings(daemon).empty(); })) << daemon.log();
  }
  // A text's first line, told to Ben.
  bool ben_hears(const std::string& line, std::chrono::seconds within = std::chrono::seconds(30)) {
    return becomes_true([&] { return count(kBen, line) > 0; }, within);
  }
  int count(const std::string& topic, const std::string& line) {
    int found = 0;
    for (const Received& message : told_.received())
      found += message.topic == topic && message.payload.find("\n\n" + line) != std::string::npos;
    return found;
  }
  std::string all(const std::string& topic) {
    return texts(topic) + daemon.log();
  }  // for a failure's message
  // Everything that was told on a topic.
  std::string texts(const std::string& topic) {
    std::string texts;
    for (const Received& message : told_.received())
      if (message.topic == topic) texts += message.payload + "\n---\n";
    return texts;
  }
  // Files cannot grow beyond so many bytes: a full disk, for this process alone. RLIM_INFINITY: they can.
  void let_files_grow_to(rlim_t bytes) {
    const rlimit limit{bytes, RLIM_INFINITY};
    ASSERT_EQ(::prlimit(daemon.process().pid(), RLIMIT_FSIZE, &limit, nullptr), 0);
  }

  static constexpr const char* kBen = "told/ben";
  static constexpr const char* kAna = "told/ana";
  Broker broker, people;
  DaemonProcess daemon{""};
  std::optional<Sensors> sensors;

 private:
  std::string toml(const std::string& more) const {
    std::string text = site_toml(broker.url(), "[[zone]]\nnumber = 2\n[alerts]\ntrouble_hold_s = 1\n");
    for (const int zone : {1, 2})
      text += fmt::format(
          "[[sensor]]\ntopic = \"coilward/juniper/measure/zone/{0}/current\"\nchannel = "
          "\"zone/{0}/current\"\n"
          "decoder = \"number\"\nunit = \"A\"\nevery_s = 1\n",
          zone);
    for (const auto& [name, audience] : {std::pair("ben", "technician"), std::pair("ana", "homeowner")})
      text += fmt::format(
          "[[notifier]]\nname = \"{0}\"\nplugin = \"mqtt\"\nurl = \"{1}\"\ntopic = \"json/{0}\"\n"
          "text_topic = \"told/{0}\"\n[[person]]\nname = \"The {0}\"\nby = [\"{0}\"]\naudience = \"{2}\"\n",
          name, people.url(), audience);
    return text + more;
  }
  static ClientOptions listener(const Broker& broker) {
    ClientOptions options = client_options(broker.url());
    options.filters = {"told/#"};
    return options;
  }
  Subscriber told_{listener(people)};
};

}  // namespace coilward
