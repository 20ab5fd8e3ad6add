// What a channel may be: units, conversions, plausible range, and how a name says which channel it is.
#pragma once

#include <optional>
#include <string>
#include <string_view>

#include "daemon/config/config.h"

namespace coilward {

enum class Quantity : std::uint8_t { amps, volts, celsius, boolean };
Quantity quantity_of(ChannelKind kind);

// value * factor + offset is in the canonical unit.
struct UnitRule {
  std::string_view name;
  Quantity quantity;
  double factor = 1;
  double offset = 0;
};

// A, mA, V, mV, Cel, K (RFC 8428 and RFC 8798), degF, boolean; also "/" (RFC 8428: a switch), degC, °C, °F.
// nullptr: none of them.
const UnitRule* find_unit(std::string_view name);
std::string units_of(Quantity quantity);  // "A, mA": what is allowed

struct Range {
  double low, high;
};
// What no healthy or faulty irrigation circuit leaves, so that beyond it the sensor or its unit is wrong:
// -  -0.5..30 A: a controller's output has a fuse or cut-out of 1 to 5 A and a transformer of 40 VA gives
// about
//    15 A into a dead short; a clamp-on sensor's zero is off by less than 0.5 A. (common practice)
// -  -1..400 V: the circuit is 24 V, but mains that came across (230 V + 10 %, 400 V between phases) must be
//    seen, not thrown away; 24 V read as millivolts would be 24000.
// -  -60..90 Cel: sensors' own range (-55..125 for common one-wire parts, 85 their power-on value) cut at
// what
//    air and soil can be. (common practice)
Range plausible(Quantity quantity);

// The channel a resolved SenML name ends in: "urn:dev:ow:10e2073a01080063:zone/4/current" -> zone/4/current.
// Before it stands nothing or a character that is neither a letter nor a digit.
std::optional<Channel> channel_at_end(std::string_view name, const Config& config);

}  // namespace coilward
