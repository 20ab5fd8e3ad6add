// One decoded value held against what its channel may be.
#pragma once

#include <optional>
#include <string>

#include "daemon/intake/channel_rules.h"
#include "daemon/intake/intake.h"
#include "daemon/intake/topic_map.h"
#include "plugins/plugin.h"

namespace coilward {

// What is left of a value once its texts are gone.
struct Sample {
  std::optional<Channel> channel;
  double value = kNotMeasured;  // in the channel's unit, when the unit was one
  int time_kind = COILWARD_TIME_NONE;
  std::int64_t time_us = 0;
  std::optional<Reject> reject;
  std::string why;  // of the reject
};

Sample judged(const coilward_value& value, const TopicSource& source, const Config& config);

}  // namespace coilward
