// The one zone of site_toml(): its sensor's side of the broker, and what the daemon has kept of it.
#pragma once

#include "daemon/config/config.h"
#include "daemon/history/history_reader.h"
#include "daemon/history/state_directory.h"
#include "daemon/mqtt/publisher.h"
#include "tests/process/daemon_process.h"
#include "tests/support/broker.h"

namespace coilward {

inline constexpr const char* kTopic = "coilward/juniper/measure/zone/1/current";

inline std::unique_ptr<Publisher> sensor(const Broker& broker) {
  MqttConfig mqtt;
  mqtt.url = broker.url();
  auto publisher = Publisher::connect(mqtt);
  EXPECT_TRUE(publisher) << publisher.error().what;
  return publisher ? std::move(*publisher) : nullptr;
}

// Empty while there is no history yet.
inline std::vector<Reading> kept_readings(const DaemonProcess& daemon) {
  std::vector<Reading> kept;
  const auto config = load_config(daemon.config());
  if (!config) return kept;
  auto reader = HistoryReader::open(history_path(daemon.state()), ChannelNames(*config));
  if (!reader) return kept;
  const auto read = reader->each_reading({ChannelKind::zone_current, 1}, from_ms(0), UtcTime::max(), {},
                                         [&](std::span<const Reading> some) {
                                           kept.insert(kept.end(), some.begin(), some.end());
                                           return true;
                                         });
  EXPECT_TRUE(read) << read.error().what;
  return kept;
}

}  // namespace coilward
