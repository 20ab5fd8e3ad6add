// What happens: days, commands, switch-ons, trips, faults.
#include <algorithm>
#include <cmath>

#include "daemon/simulate/simulation_impl.h"

namespace coilward::simulate {

Simulation::Impl::Impl(Scenario scenario, SimulationWatcher* watcher)
    : scenario_(std::move(scenario)),
      watcher_(watcher),
      around_(scenario_.surroundings, scenario_.seed, scenario_.start),
      electric_(scenario_.config, scenario_.site, scenario_.faults, around_, scenario_.seed),
      truth_(scenario_),
      end_s_(scenario_.days * 86400) {
  for (std::size_t i = 0; i < scenario_.sensors.size(); ++i) {
    sensors_.emplace_back(scenario_.sensors[i], scenario_.seed, i);
    add(sensors_[i].chance().between(0, std::min(2.0, sensors_[i].plan().idle_s)), Kind::sample,
        static_cast<int>(i));
  }
  plan_faults();
  send_leftovers();
  add(0, Kind::day, 0);
}

void Simulation::Impl::plan_faults() {
  for (std::size_t i = 0; i < scenario_.faults.size(); ++i) {
    add(std::max(0.0, scenario_.faults[i].begin_s), Kind::fault_edge, static_cast<int>(i));
    if (std::isfinite(scenario_.faults[i].end_s))
      add(scenario_.faults[i].end_s, Kind::fault_edge, static_cast<int>(i));
  }
  for (std::size_t i = 0; i < scenario_.incidents.size(); ++i) {
    const Incident& it = scenario_.incidents[i];
    if (it.kind == Incident::Kind::coil_replaced) add(it.begin_s, Kind::replace_coil, static_cast<int>(i));
    if (it.kind == Incident::Kind::sensor_replaced)
      add(it.begin_s, Kind::replace_sensor, static_cast<int>(i));
  }
}

void Simulation::Impl::add(double time, Kind kind, int which, std::uint32_t age) {
  events_.push({time, kind, which, age, order_++});
}

bool Simulation::Impl::next(SimulatedMessage& message) {
  while (true) {
    const bool more = !events_.empty() && events_.top().time < end_s_;
    const std::int64_t now_ms =
        more ? to_ms(scenario_.start) + std::llround(events_.top().time * 1000) : INT64_MAX;
    if (!on_its_way_.empty() && on_its_way_.top().ms < now_ms) {
      message = on_its_way_.top().message;
      on_its_way_.pop();
      return true;
    }
    if (!more) return false;
    const Event event = events_.top();
    events_.pop();
    happen(event);
  }
}

void Simulation::Impl::happen(const Event& event) {
  switch (event.kind) {
    case Kind::day:
      return begin_day(event.which);
    case Kind::command_on:
      return command(event.which, true, event.time);
    case Kind::command_off:
      return command(event.which, false, event.time);
    case Kind::fault_edge:
      return fault_edge(event.which, event.time);
    case Kind::replace_coil:
      return replace_coil(event.which);
    case Kind::replace_sensor:
      return replace_sensor(event.which);
    case Kind::burst:
      return send_burst(sensors_[static_cast<std::size_t>(event.which)], event.time);
    case Kind::sample: {
      SensorState& sensor = sensors_[static_cast<std::size_t>(event.which)];
      if (event.age == sensor.age) sample(sensor, event.time);
      return;
    }
    case Kind::trip:
      if (electric_.energised(event.which)) electric_.release(event.which, event.time);
      tripped_.insert(event.which);
      return;
  }
}

void Simulation::Impl::begin_day(int day) {
  const auto& zone = scenario_.config.site.timezone;
  for (const Command& it : commands_of_day(scenario_.programme, scenario_.faults, scenario_.start, zone, day))
    add(it.time, it.on ? Kind::command_on : Kind::command_off, it.output);
  note_missed(day);
  // A local day begins up to a day before the elapsed one of the same number, and is planned a day ahead of
  // that.
  add(day * 86400.0, Kind::day, day + 1);
}

// Turns that a fault takes away are known only by what would have been.
void Simulation::Impl::note_missed(int day) {
  const auto missing = [](const FaultPlan& fault) { return fault.fault == Fault::missed_run; };
  if (std::none_of(scenario_.faults.begin(), scenario_.faults.end(), missing)) return;
  const auto& zone = scenario_.config.site.timezone;
  for (const Command& it : commands_of_day(scenario_.programme, {}, scenario_.start, zone, day))
    for (const FaultPlan& fault : scenario_.faults)
      if (it.on && it.time < end_s_ && missing(fault) && fault.zone == it.output && is_active(fault, it.time))
        truth_.on_missed(it.output, it.time);
}

void Simulation::Impl::command(int output, bool on, double time) {
  if (watcher_ != nullptr) watcher_->on_command({time, output, on});
  if (on) {
    commanded_.insert(output);
    if (output != kMasterZone) truth_.on_turn(output, time);
    switch_on(output, true, time);
  } else {
    commanded_.erase(output);
    tripped_.erase(output);
    const bool stays =
        std::any_of(scenario_.faults.begin(), scenario_.faults.end(), [&](const FaultPlan& fault) {
          return fault.fault == Fault::stuck_on && fault.zone == output && is_active(fault, time);
        });
    if (electric_.energised(output)) electric_.release(output, time);
    if (stays) electric_.energise(output, false, time);
  }
  for (SensorState& sensor : sensors_) {
    const Channel channel = sensor.plan().channel;
    if ((channel.kind == ChannelKind::zone_command && channel.index == output) ||
        (channel.kind == ChannelKind::master_command && output == kMasterZone))
      send_command(sensor, time);
  }
  wake(output, time);
}

void Simulation::Impl::switch_on(int output, bool commanded, double time) {
  electric_.energise(output, commanded, time);
  plan_trip(output, time);
  for (std::size_t i = 0; i < sensors_.size(); ++i) {
    const SensorPlan& plan = sensors_[i].plan();
    const bool its = (plan.channel.kind == ChannelKind::zone_current && plan.channel.index == output) ||
                     (plan.channel.kind == ChannelKind::master_current && output == kMasterZone);
    if (its && plan.burst) add(time + ElectricSite::kTransient, Kind::burst, static_cast<int>(i));
  }
}

// A full short is ended by the controller's cut-out or a fuse, if its current is enough for that.
void Simulation::Impl::plan_trip(int output, double time) {
  for (const FaultPlan& fault : scenario_.faults) {
    if (fault.fault != Fault::shorted_coil || fault.turns > 0 || fault.zone != output) continue;
    if (fault.trip == Trip::none || !is_active(fault, time)) continue;
    const double amps = electric_.output_amps(output, time + 2 * ElectricSite::kTransient);
    const double rated = scenario_.config.supply.volt_amps / scenario_.config.supply.volts;
    if (amps < std::max(1.0, 0.8 * rated)) continue;
    const double after = 1 + Chance(scenario_.seed, "trip", static_cast<std::uint64_t>(time)).unit();
    if (fault.trip == Trip::fuse) electric_.blow_fuse();
    add(time + after, Kind::trip, output);
  }
}

void Simulation::Impl::fault_edge(int which, double time) {
  const FaultPlan& fault = scenario_.faults[static_cast<std::size_t>(which)];
  const bool begins = time < fault.end_s;
  if (watcher_ != nullptr) watcher_->on_fault(fault, begins);
  if (!begins && fault.trip == Trip::fuse) electric_.mend_fuse();
  if (fault.fault == Fault::stuck_on) stuck_on_edge(fault, begins, time);
}

void Simulation::Impl::stuck_on_edge(const FaultPlan& fault, bool active, double time) {
  if (commanded(fault.zone)) return;
  if (active && !electric_.energised(fault.zone)) switch_on(fault.zone, false, time);
  if (!active && electric_.energised(fault.zone)) electric_.release(fault.zone, time);
  wake(fault.zone, time);
}

void Simulation::Impl::replace_coil(int incident) {
  const Incident& it = scenario_.incidents[static_cast<std::size_t>(incident)];
  if (electric_.energised(it.zone)) return;
  for (TrueZone& zone : scenario_.site.zones) {
    if (zone.number != it.zone) continue;
    Chance chance(scenario_.seed, "new coil", static_cast<std::uint64_t>(it.zone));
    SolenoidRating rating;
    rating.volts = scenario_.config.supply.volts;
    rating.hertz = scenario_.config.supply.hertz;
    rating.hold_amps = chance.between(0.16, 0.42);
    rating.inrush_amps = rating.hold_amps * chance.between(1.35, 2.1);
    for (Solenoid& coil : zone.valves) coil = make_solenoid(rating, chance);
    electric_.rest(zone.number);
  }
}

void Simulation::Impl::replace_sensor(int incident) {
  const Incident& it = scenario_.incidents[static_cast<std::size_t>(incident)];
  for (SensorState& sensor : sensors_)
    if (sensor.plan().channel == Channel{ChannelKind::zone_current, static_cast<std::uint8_t>(it.zone)})
      sensor.replace(it.gain, it.zero);
}

Json Simulation::Impl::truth() const { return truth_.to_json(); }

}  // namespace coilward::simulate
