// A new site is walked through at the terminal: a technician who answers, sensors on a real broker of which
// two are swapped and one gives milliamps, the daemon on ten lines, and a configuration at the end that is
// accepted.
#include <gmock/gmock.h>
#include <sys/stat.h>

#include <atomic>
#include <fstream>
#include <thread>

#include "daemon/cli/run_coilward.h"
#include "daemon/config/config.h"
#include "daemon/mqtt/publisher.h"
#include "tests/process/daemon_process.h"
#include "tests/support/broker.h"

namespace coilward {
namespace {

using testing::HasSubstr;

std::string ten_lines(const std::string& broker) {
  std::string toml = "[site]\nid = \"birch\"\n[mqtt]\nurl = \"" + broker + "\"\n";
  for (const int zone : {1, 2, 3, 4}) toml += "[[zone]]\nnumber = " + std::to_string(zone) + "\n";
  return toml;
}

// What the sensors publish, twenty times a second; one of them may carry a current.
class Sensors {
 public:
  explicit Sensors(const Broker& broker) {
    MqttConfig mqtt;
    mqtt.url = broker.url();
    auto connected = Publisher::connect(mqtt);
    EXPECT_TRUE(connected) << connected.error().what;
    publisher_ = std::move(*connected);
    thread_ = std::jthread([this](const std::stop_token& stop) { publish(stop); });
  }
  void show(int sensor, double value) {
    value_ = value;
    sensor_ = sensor;
  }
  void rest() { sensor_ = 0; }

 private:
  void publish(const std::stop_token& stop) {
    while (!stop.stop_requested()) {
      for (const int zone : {1, 2, 3, 4})
        (void)publisher_->publish(fmt::format("coilward/birch/measure/zone/{}/current", zone),
                                  zone == sensor_ ? fmt::format("{:.4f}", value_.load()) : "0.0005");
      std::this_thread::sleep_for(std::chrono::milliseconds(50));
    }
  }
  std::unique_ptr<Publisher> publisher_;
  std::atomic<int> sensor_{0};
  std::atomic<double> value_{0};
  std::jthread thread_;
};

// `coilward commission` with somebody at its keyboard.
class Terminal {
 public:
  explicit Terminal(const DaemonProcess& daemon) {
    ::mkfifo(keys_.c_str(), 0600);
    child_ = ChildProcess(
        {"/bin/sh", "-c",
         fmt::format("exec {}/bin/coilward commission --config {} --out {} --socket {}/coilward.sock "
                     "--wait 15 --settle 0.3 < {} > {} 2> {}",
                     COILWARD_BINARY_DIR, daemon.config(), written(), daemon.run(), keys_, directory_ / "out",
                     words_)},
        "");
    keyboard_.open(keys_);  // waits until it is read
  }
  std::string written() const { return directory_ / "new.toml"; }
  std::string words() const { return text_of(words_); }

  // Waits for the words, from what was answered last on.
  bool asks(const std::string& what) {
    return becomes_true([&] { return words().find(what, seen_) != std::string::npos; });
  }
  void answer(const std::string& text) {
    seen_ = words().size();
    keyboard_ << text << std::endl;
  }
  // Name, box, valves, rating.
  void describe(const std::string& name) {
    for (const auto& [asked, answered] : {std::pair<std::string, std::string>{"its name", name},
                                          {"Its box", "A"},
                                          {"Valves", "1"},
                                          {"printed", "0.23"}}) {
      ASSERT_TRUE(asks(asked)) << words();
      answer(answered);
    }
  }
  int ends() { return child_.end(0, std::chrono::seconds(20)); }

 private:
  TemporaryDirectory directory_;
  const std::string keys_ = directory_ / "keys", words_ = directory_ / "words";
  ChildProcess child_;
  std::ofstream keyboard_;
  std::size_t seen_ = 0;
};

struct Walk : testing::Test {
  Broker broker;
  DaemonProcess daemon{ten_lines(broker.url())};
  void SetUp() override {
    daemon.start();
    ASSERT_TRUE(daemon.ready()) << daemon.log();
    ASSERT_TRUE(becomes_true([&] { return daemon.told.count("STATUS=watching") > 0; })) << daemon.log();
  }
};

TEST_F(Walk, FindsWhatIsSwappedAndWrongAndWritesWhatWasAnswered) {
  Sensors sensors(broker);
  Terminal terminal(daemon);
  ASSERT_TRUE(terminal.asks(">")) << terminal.words();
  terminal.answer("A controller 40");
  ASSERT_TRUE(terminal.asks(">"));
  terminal.answer("");
  for (const char* gauge : {"the common main", "the zone wires"}) {
    ASSERT_TRUE(terminal.asks(gauge)) << terminal.words();
    terminal.answer("");
  }
  // Zones 2 and 3 have each other's sensor; that of zone 4 gives milliamps.
  struct Zone {
    int number, sensor;
    double value;
    std::string asks, answer;
  };
  for (const Zone& zone :
       {Zone{1, 1, 0.23, "", ""}, Zone{2, 3, 0.231, "are swapped", "map"},
        Zone{3, 2, 0.228, "are swapped", "map"}, Zone{4, 4, 229, "as milliamps?", "yes"}}) {
    terminal.describe(fmt::format("Zone {}", zone.number));
    ASSERT_TRUE(terminal.asks(fmt::format("Switch zone {} on", zone.number))) << terminal.words();
    sensors.show(zone.sensor, zone.value);
    terminal.answer("");
    if (!zone.asks.empty()) {
      ASSERT_TRUE(terminal.asks(zone.asks)) << terminal.words();
      terminal.answer(zone.answer);
    }
    ASSERT_TRUE(terminal.asks(fmt::format("Switch zone {} off", zone.number))) << terminal.words();
    sensors.rest();
    terminal.answer("");
  }
  ASSERT_EQ(terminal.ends(), 0) << terminal.words();

  const Ran check = run_coilward({"check-config", terminal.written()});
  EXPECT_EQ(check.status, 0) << check.err;
  const auto config = load_config(terminal.written());
  ASSERT_TRUE(config) << config.error().what;
  EXPECT_EQ(config->boxes.size(), 1U);
  ASSERT_EQ(config->sensors.size(), 3U) << text_of(terminal.written());
  EXPECT_EQ(config->sensors[0].topic, "coilward/birch/measure/zone/3/current");
  EXPECT_EQ(config->sensors[0].channel, "zone/2/current");
  EXPECT_EQ(config->sensors[2].unit, "mA");
  EXPECT_THAT(text_of(terminal.written()), HasSubstr("0.229 A at commissioning"));
}

}  // namespace
}  // namespace coilward
