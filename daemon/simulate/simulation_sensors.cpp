// What the sensors make of it, and what arrives.
#include <algorithm>
#include <cmath>

#include "daemon/simulate/simulation_impl.h"

namespace coilward::simulate {
namespace {

constexpr double kNoticed = 0.03;  // amps from which a sensor that works by current calls an output on

bool is_command(const SensorState& sensor) {
  const ChannelKind kind = sensor.plan().channel.kind;
  return kind == ChannelKind::zone_command || kind == ChannelKind::master_command;
}

}  // namespace

double Simulation::Impl::true_value(const SensorState& sensor, double time) {
  const Channel channel = sensor.plan().channel;
  switch (channel.kind) {
    case ChannelKind::zone_current:
      return electric_.output_amps(channel.index, time);
    case ChannelKind::master_current:
      return electric_.output_amps(kMasterZone, time);
    case ChannelKind::zone_voltage:
      return electric_.output_volts(channel.index, time);
    case ChannelKind::common_current:
      return electric_.common_amps(channel.index, time);
    case ChannelKind::supply_voltage:
      return electric_.supply_volts(time);
    case ChannelKind::air_temperature:
      return around_.air_celsius(time);
    case ChannelKind::soil_temperature:
      return around_.soil_celsius(time);
    default:
      return commanded(channel.index) ? 1 : 0;
  }
}

bool Simulation::Impl::quick(const SensorState& sensor, double value) const {
  const Channel channel = sensor.plan().channel;
  const bool of_output = channel.kind == ChannelKind::zone_current ||
                         channel.kind == ChannelKind::zone_voltage ||
                         channel.kind == ChannelKind::master_current;
  const int output = channel.kind == ChannelKind::master_current ? kMasterZone : channel.index;
  switch (sensor.plan().quick_when) {
    case QuickWhen::always:
      return true;
    case QuickWhen::commanded:
      return of_output ? commanded(output) : !commanded_.empty();
    default:
      return of_output ? value > kNoticed : electric_.any_energised();
  }
}

void Simulation::Impl::sample(SensorState& sensor, double time) {
  const SensorPlan& plan = sensor.plan();
  double next_s = plan.idle_s;
  if (is_command(sensor)) {
    send_command(sensor, time);
  } else {
    const double value = sensor.shown(true_value(sensor, time), scenario_.faults, time);
    publish(sensor, payload_of(plan, value, epoch_s(time)), time);
    if (quick(sensor, value)) next_s = plan.quick_s;
  }
  const double drift = std::min(plan.jitter_s, next_s / 4);
  add(time + next_s + sensor.chance().between(-drift, drift), Kind::sample,
      static_cast<int>(&sensor - sensors_.data()), sensor.age);
}

// A switch-on or switch-off makes the sensors of that output, and those of the site, look sooner.
void Simulation::Impl::wake(int output, double time) {
  for (std::size_t i = 0; i < sensors_.size(); ++i) {
    SensorState& sensor = sensors_[i];
    const SensorPlan& plan = sensor.plan();
    if (is_command(sensor) || plan.quick_when == QuickWhen::always || plan.quick_s >= plan.idle_s) continue;
    const Channel channel = plan.channel;
    const bool of_zone =
        channel.kind == ChannelKind::zone_current || channel.kind == ChannelKind::zone_voltage;
    if (of_zone && channel.index != output) continue;
    if (channel.kind == ChannelKind::master_current && output != kMasterZone) continue;
    const double after = sensor.chance().between(0.05, std::min(1.0, plan.quick_s));
    add(time + after, Kind::sample, static_cast<int>(i), ++sensor.age);
  }
}

void Simulation::Impl::send_burst(SensorState& sensor, double time) {
  const Channel channel = sensor.plan().channel;
  const int output = channel.kind == ChannelKind::master_current ? kMasterZone : channel.index;
  if (!electric_.energised(output)) return;
  std::vector<double> values = electric_.burst(output);
  if (values.empty()) return;
  for (double& value : values) value = sensor.shown(value, scenario_.faults, time);
  const double step = electric_.half_cycle_s();
  const double first = -step * static_cast<double>(values.size() - 1);
  publish(sensor, burst_payload(sensor.plan(), values, step, first, epoch_s(time)), time);
}

void Simulation::Impl::send_command(SensorState& sensor, double time) {
  const Channel channel = sensor.plan().channel;
  const int output = channel.kind == ChannelKind::master_command ? kMasterZone : channel.index;
  publish(sensor, command_payload(sensor.plan(), commanded(output), epoch_s(time)), time);
}

bool Simulation::Impl::in_gap(double time) const {
  return std::any_of(scenario_.incidents.begin(), scenario_.incidents.end(), [&](const Incident& it) {
    return it.kind == Incident::Kind::gap && time >= it.begin_s && time < it.end_s;
  });
}

void Simulation::Impl::publish(SensorState& sensor, std::string payload, double time) {
  const SensorPlan& plan = sensor.plan();
  const double late = plan.latency_s + std::abs(sensor.chance().normal(plan.jitter_s));
  if (sensor.chance().happens(plan.loss) || in_gap(time) || sensor.silent(scenario_.faults, time)) return;
  OnItsWay it;
  it.ms = to_ms(scenario_.start) + std::llround((time + late) * 1000);
  it.order = order_++;
  it.message = {plan.topic, std::move(payload), from_ms(it.ms), false, plan.qos};
  on_its_way_.push(std::move(it));
}

// What the broker kept from long ago: delivered first, with the retain flag, and not to be taken for news.
void Simulation::Impl::send_leftovers() {
  const bool wanted = std::any_of(scenario_.incidents.begin(), scenario_.incidents.end(),
                                  [](const Incident& it) { return it.kind == Incident::Kind::retained; });
  for (std::size_t i = 0; wanted && i < sensors_.size(); ++i) {
    SensorState& sensor = sensors_[i];
    const SensorPlan& plan = sensor.plan();
    if (plan.channel.kind != ChannelKind::zone_current && !is_command(sensor)) continue;
    if (!sensor.chance().happens(0.5)) continue;
    OnItsWay it;
    it.ms = to_ms(scenario_.start);
    it.order = order_++;
    const double long_ago = epoch_s(-3 * 86400);
    it.message.topic = plan.topic;
    it.message.payload =
        is_command(sensor) ? command_payload(plan, true, long_ago) : payload_of(plan, 0.25, long_ago);
    it.message.arrival = scenario_.start;
    it.message.retained = true;
    on_its_way_.push(std::move(it));
  }
}

}  // namespace coilward::simulate
