#include "daemon/simulate/live.h"

#include <chrono>
#include <condition_variable>
#include <mutex>

#include "daemon/mqtt/publisher.h"

namespace coilward::simulate {
namespace {

using Steady = std::chrono::steady_clock;

// False: asked to stop while waiting.
bool wait_until(Steady::time_point when, std::stop_token stop) {
  std::mutex mutex;
  std::condition_variable_any never;
  std::unique_lock lock(mutex);
  never.wait_until(lock, stop, when, [] { return false; });
  return !stop.stop_requested();
}

}  // namespace

Result<std::uint64_t> publish_live(Simulation& simulation, const std::string& broker, double speed,
                                   std::stop_token stop) {
  MqttConfig mqtt = simulation.scenario().config.mqtt;
  if (!broker.empty()) mqtt.url = broker;
  mqtt.client_id.clear();
  auto publisher = Publisher::connect(mqtt);
  if (!publisher) return publisher.error();
  const auto began = Steady::now();
  const UtcTime start = simulation.scenario().start;
  std::uint64_t sent = 0;
  for (SimulatedMessage message; simulation.next(message); ++sent) {
    const std::chrono::duration<double> after(seconds_between(start, message.arrival) / speed);
    if (!wait_until(began + std::chrono::duration_cast<Steady::duration>(after), stop)) break;
    const auto done = (*publisher)->publish(message.topic, message.payload, message.retained);
    if (!done) return done.error();
  }
  if (const auto flushed = (*publisher)->flush(); !flushed) return flushed.error();
  return sent;
}

}  // namespace coilward::simulate
