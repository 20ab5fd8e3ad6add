// How one channel is measured and published: what the sensor does to the true value, and what it makes of it.
#pragma once

#include <string>
#include <vector>

#include "daemon/pipeline.h"
#include "daemon/simulate/chance.h"

namespace coilward::simulate {

enum class PayloadForm { number, senml_json, senml_cbor, json };
// When a sensor is quick: always, while the controller's command is on, or while it sees current.
enum class QuickWhen { always, commanded, current };

struct SensorPlan {
  Channel channel;
  std::string topic;
  std::string senml_name;  // ends in the channel
  std::string unit;        // SenML
  PayloadForm form = PayloadForm::number;
  double unit_scale = 1;  // 1000 when it publishes mA or mV
  bool own_time = false;  // it dates its readings itself (not as plain numbers)
  int qos = 1;

  double gain = 1;
  double zero = 0;         // added, in the channel's unit
  double floor = 0;        // RMS noise that adds in squares, as with AC
  double noise_share = 0;  // of the value
  double noise = 0;        // in the channel's unit
  double quantum = 0.001;

  double quick_s = 1;  // interval
  double idle_s = 60;
  QuickWhen quick_when = QuickWhen::commanded;
  bool burst = false;       // the half cycles of each switch-on, as one pack
  double loss = 0;          // share of messages that never arrive
  double latency_s = 0.02;  // usual time from measuring to arrival
  double jitter_s = 0.01;
};

// What the sensor makes of a true value: gain, zero, noise and steps. Never below zero for a current or a
// voltage.
double sensed(const SensorPlan& plan, double true_value, Chance& chance);

// One reading as a payload. since_epoch_s is the sensor's own time and used when the form and plan have one.
std::string payload_of(const SensorPlan& plan, double value, double since_epoch_s);
// Several readings, relative times in seconds against arrival (or absolute when the plan has own time).
std::string burst_payload(const SensorPlan& plan, const std::vector<double>& values, double step_s,
                          double first_s, double since_epoch_s);
std::string command_payload(const SensorPlan& plan, bool on, double since_epoch_s);

}  // namespace coilward::simulate
