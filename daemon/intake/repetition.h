// Tells a message or reading that was there before: from the broker's store, or delivered twice (facts A4,
// A6).
#pragma once

#include <memory>
#include <vector>

#include "daemon/base/pipeline_json.h"
#include "daemon/config/config.h"
#include "daemon/intake/seen_keys.h"
#include "daemon/pipeline.h"

namespace coilward {

// Thread: one at a time.
class Repetition {
 public:
  // DUP-flagged copies of the same payload on the same topic are told apart within this time of each other.
  static constexpr Millis kWindow = std::chrono::seconds{60};

  Repetition();

  // Begins a message: later questions are about it.
  void begin(const Message& message);
  // The DUP flag is set and the same was delivered before, within the window.
  bool message_repeated() const { return repeated_; }
  // To be called at its end when it gave readings without a time of their own.
  void remember_message(const Message& message);

  // A reading with a time of its own: true when it was there before, else it is remembered.
  bool reading_repeated(const Reading& reading, UtcTime arrival);

  // Newer than anything stored for its channel.
  bool is_news(const Reading& reading) const { return reading.time > newest_[channel_slot(reading.channel)]; }
  void stored(const Reading& reading) {
    UtcTime& newest = newest_[channel_slot(reading.channel)];
    if (reading.time > newest) newest = reading.time;
  }

  Json save(const Config& config) const;
  void restore(const Json& saved, const Config& config);  // throws nlohmann::json::exception

 private:
  std::vector<UtcTime> newest_;
  SeenKeys messages_;
  SeenKeys readings_;
  bool repeated_ = false;
  UtcTime latest_arrival_ = kNever;
};

}  // namespace coilward
