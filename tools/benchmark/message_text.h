// A reading of the stream as sensors send it.
#pragma once

#include <fmt/format.h>

#include <string>

#include "daemon/pipeline.h"

namespace coilward::bench {

inline std::string topic_of(const Reading& reading) {
  return fmt::format("coilward/bench/measure/zone/{}/current", reading.channel.index);
}

// One SenML record with its own time (RFC 8428), about 75 bytes.
inline std::string senml_of(const Reading& reading) {
  const auto ms = to_ms(reading.time);
  return fmt::format(R"([{{"n":"zone/{}/current","u":"A","t":{}.{:03},"v":{}}}])", reading.channel.index,
                     ms / 1000, ms % 1000, reading.value);
}

// As a plain number, which takes the time of its arrival.
inline std::string number_of(const Reading& reading) { return fmt::format("{}", reading.value); }

}  // namespace coilward::bench
