// The inside of Simulation: a queue of what happens, and one of what is on its way to the broker.
#pragma once

#include <map>
#include <queue>
#include <set>

#include "daemon/simulate/electric_site.h"
#include "daemon/simulate/sensor_state.h"
#include "daemon/simulate/simulation.h"
#include "daemon/simulate/truth.h"

namespace coilward::simulate {

class Simulation::Impl {
 public:
  Impl(Scenario scenario, SimulationWatcher* watcher);

  bool next(SimulatedMessage& message);
  Json truth() const;
  std::uint64_t runs() const { return truth_.runs(); }
  const Scenario& scenario() const { return scenario_; }

 private:
  enum class Kind { fault_edge, day, command_off, command_on, trip, burst, sample, replace_coil, replace_sensor };
  struct Event {
    double time = 0;
    Kind kind = Kind::sample;
    int which = 0;          // zone, sensor, fault or day
    std::uint32_t age = 0;  // samples: of an older plan when it differs from the sensor's
    std::uint64_t order = 0;
    bool operator<(const Event& other) const {  // the earliest first
      if (time != other.time) return time > other.time;
      return kind != other.kind ? kind > other.kind : order > other.order;
    }
  };
  struct OnItsWay {
    std::int64_t ms = 0;
    std::uint64_t order = 0;
    SimulatedMessage message;
    bool operator<(const OnItsWay& other) const {
      return ms != other.ms ? ms > other.ms : order > other.order;
    }
  };

  void add(double time, Kind kind, int which, std::uint32_t age = 0);
  void plan_faults();
  void send_leftovers();
  void happen(const Event& event);
  void begin_day(int day);
  void note_missed(int day);
  void command(int output, bool on, double time);
  void switch_on(int output, bool commanded, double time);
  void plan_trip(int output, double time);
  void fault_edge(int which, double time);
  void stuck_on_edge(const FaultPlan& fault, bool active, double time);
  void replace_coil(int incident);
  void replace_sensor(int incident);

  void sample(SensorState& sensor, double time);
  void send_burst(SensorState& sensor, double time);
  void send_command(SensorState& sensor, double time);
  void wake(int output, double time);
  bool quick(const SensorState& sensor, double value) const;
  double true_value(const SensorState& sensor, double time);
  void publish(SensorState& sensor, std::string payload, double time);
  bool commanded(int output) const { return commanded_.contains(output); }
  double epoch_s(double time) const { return static_cast<double>(to_ms(scenario_.start)) / 1000 + time; }
  bool in_gap(double time) const;

  Scenario scenario_;
  SimulationWatcher* watcher_;
  Surroundings around_;
  ElectricSite electric_;
  Truth truth_;
  std::vector<SensorState> sensors_;
  std::set<int> commanded_;
  std::set<int> tripped_;
  std::priority_queue<Event> events_;
  std::priority_queue<OnItsWay> on_its_way_;
  std::uint64_t order_ = 0;
  double end_s_;
};

}  // namespace coilward::simulate
