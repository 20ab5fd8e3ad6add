// From message to readings: topic to source, payload through a decoder plugin, unit, plausibility, time,
// repetition. Whatever a payload holds, the worst that happens is that it is counted and kept in a small ring
// of rejects. No clock, thread, file or socket.
//
// What is counted, exactly. A sample is one value that a decoder found in a message; a message in which none
// was found (unknown topic, undecodable, nothing in it) counts as one sample, rejected. Two laws hold after
// every call:
//   messages = messages_decoded + messages_undecoded + messages_lost
//   received = stored + sum(rejected) + sum(dropped) + duplicates                      (in samples)
// `stored` are the readings handed on, all of which go to history and to the runs.
#pragma once

#include <array>
#include <cstdint>
#include <memory>
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "daemon/base/pipeline_json.h"
#include "daemon/base/result.h"
#include "daemon/config/config.h"
#include "daemon/host/plugin_host.h"
#include "daemon/pipeline.h"

namespace coilward {

enum class Reject : std::uint8_t {
  unknown_topic,  // neither under measure/ nor a [[sensor]]
  too_large,      // payload above Intake::kLargestPayload
  undecodable,    // the decoder does not understand it
  no_value,       // understood, but nothing in it is a number or on/off
  not_a_channel,  // neither the value's name nor the topic ends in a channel of this site
  wrong_unit,     // volts for a current, or a unit that is not known
  bad_value,      // not finite, or neither 0 nor 1 for a command
  implausible,    // far outside what the channel can be: mostly the unit is wrong by 1000
  retained,       // out of the broker's store, without a newer time of its own
};
inline constexpr std::size_t kRejects = 9;
std::string_view reject_name(Reject reason);  // "unknown_topic"

enum class Drop : std::uint8_t {
  before_intake,    // messages the spool had no room for: see Intake::lost_before
  too_many_values,  // beyond Intake::kMostValues in one message
};
inline constexpr std::size_t kDrops = 2;
std::string_view drop_name(Drop reason);

struct IntakeCounters {
  std::uint64_t messages = 0;
  std::uint64_t messages_decoded = 0;
  std::uint64_t messages_undecoded = 0;
  std::uint64_t messages_lost = 0;
  std::uint64_t received = 0;  // samples, as all below
  std::uint64_t stored = 0;
  std::array<std::uint64_t, kRejects> rejected{};
  std::array<std::uint64_t, kDrops> dropped{};
  std::uint64_t duplicates = 0;

  // Beside the law: of those stored, how many had their time replaced by the arrival, and why.
  std::uint64_t time_ahead = 0;   // more than an hour after the arrival
  std::uint64_t time_behind = 0;  // before 2020, or more than 400 days before the arrival
  std::uint64_t time_unsure = 0;  // stored with Reading::time_unsure

  std::uint64_t rejected_all() const;
  std::uint64_t dropped_all() const;
};

// For `health` and people who look for what is wrong with a sensor.
struct RejectedSample {
  UtcTime arrival = kNever;
  std::string reason;  // reject_name(), or "time_ahead", "time_behind": stored, but not with its own time
  std::string topic;
  std::string payload;             // its beginning, with anything unprintable as \xNN
  std::string why;                 // one sentence
  std::optional<Channel> channel;  // when it got that far
  double value = kNotMeasured;     // in the channel's unit
  std::string claimed_time;        // as the payload has it, RFC 3339 where it can be written so
};

// A value no such channel can have: the sensor or its unit is wrong, not the valve.
struct ImplausibleSample {
  Channel channel;
  double value = kNotMeasured;  // A, V or Cel
  UtcTime arrival = kNever;
};

// Thread: one at a time. `config` outlives it.
class Intake {
 public:
  // Bytes. A burst of 1000 readings in SenML is below 64 kB; "own judgement".
  static constexpr std::size_t kLargestPayload = 1u << 20;
  static constexpr std::size_t kMostValues = 16384;  // in one message
  static constexpr std::size_t kRejectsKept = 64;

  // Loads and creates the decoders. bad_config: a plugin that is not there or does not fit, its settings, a
  // topic filter that is none, or two [[sensor]] whose filters meet.
  static Result<std::unique_ptr<Intake>> make(const Config& config, PluginHost& host);
  ~Intake();

  // The readings of one message in order of time; good until the next call. Never fails.
  std::span<const Reading> message(const Message& message);
  std::span<const ImplausibleSample> implausible_in_last_message() const;

  // Messages that were received and lost before they came here (the spool was full).
  void lost_before(std::uint64_t messages);

  const IntakeCounters& counters() const;
  std::vector<RejectedSample> recent_rejects() const;  // newest first

  // Topic filters to subscribe to; no two cover the same topic.
  std::vector<std::string> subscriptions() const;

  // What has to survive a restart: the newest time of each channel (against retained copies) and the last
  // minute's messages and readings (against re-delivery). restore: bad_input when saved by something else;
  // the intake is then as new.
  Json save() const;
  Result<bool> restore(const Json& saved);

 private:
  class Impl;
  explicit Intake(std::unique_ptr<Impl> impl);
  std::unique_ptr<Impl> impl_;
};

}  // namespace coilward
