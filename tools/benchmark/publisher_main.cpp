// Publishes the stream, QoS 1, and waits for every acknowledgement.
//   bench-publisher PORT FORM COUNT RATE
// FORM: senml (with its own time, from three hours ago on), number, collectd (topics and values of collectd's
// mqtt plugin). RATE: messages a second; 0: as fast as the broker acknowledges.
#include <mosquitto.h>

#include <atomic>
#include <chrono>
#include <iostream>
#include <semaphore>
#include <string>
#include <thread>

#include "tools/benchmark/message_text.h"
#include "tools/benchmark/stream.h"

namespace coilward::bench {
namespace {

constexpr int kZones = 24;
constexpr int kWindow = 500;  // messages under way
std::counting_semaphore<kWindow> window{kWindow};

std::pair<std::string, std::string> message_of(const std::string& form, const Reading& reading) {
  if (form == "collectd")
    return {fmt::format("coilward/bench/zone-{}/current-holding", reading.channel.index),
            fmt::format("{:.3f}:{}", static_cast<double>(to_ms(reading.time)) / 1000, reading.value)};
  return {topic_of(reading), form == "number" ? number_of(reading) : senml_of(reading)};
}

int publish(int port, const std::string& form, int count, double rate) {
  mosquitto_lib_init();
  mosquitto* client = mosquitto_new(nullptr, true, nullptr);
  mosquitto_max_inflight_messages_set(client, kWindow);
  mosquitto_publish_callback_set(client, [](mosquitto*, void*, int) { window.release(); });
  if (mosquitto_connect(client, "127.0.0.1", port, 60) != MOSQ_ERR_SUCCESS) return 1;
  mosquitto_loop_start(client);
  const auto now = std::chrono::floor<Millis>(std::chrono::system_clock::now());
  ReadingStream stream(kZones, rate > 0 ? now : now - std::chrono::hours{3}, 20260504);
  std::vector<Reading> readings;
  const auto began = std::chrono::steady_clock::now();
  for (int i = 0; i < count; ++i) {
    if (i % kZones == 0) readings = stream.seconds(1);
    if (rate > 0) std::this_thread::sleep_until(began + std::chrono::duration<double>(i / rate));
    const auto [topic, payload] = message_of(form, readings[static_cast<std::size_t>(i % kZones)]);
    window.acquire();
    mosquitto_publish(client, nullptr, topic.c_str(), static_cast<int>(payload.size()), payload.data(), 1,
                      false);
  }
  for (int i = 0; i < kWindow; ++i) window.acquire();
  const std::chrono::duration<double> took = std::chrono::steady_clock::now() - began;
  fmt::print("rate {:.0f}\n", count / took.count());
  mosquitto_disconnect(client);
  mosquitto_loop_stop(client, false);
  return 0;
}

}  // namespace
}  // namespace coilward::bench

int main(int words, char** word) {
  if (words != 5) return 2;
  return coilward::bench::publish(std::stoi(word[1]), word[2], std::stoi(word[3]), std::stod(word[4]));
}
