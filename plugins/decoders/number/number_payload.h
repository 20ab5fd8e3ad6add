// A payload that is one number or one switch word, and nothing else.
#pragma once

#include <optional>
#include <string_view>

namespace coilward_plugins {

struct NumberPayload {
  double value = 0;
  bool word = false;  // "on", "off", "true", "false": a switch, never an amount
};

// White space around it is passed over. nullopt: anything else, among it NaN, infinities, hexadecimal, a
// comma for a point, a second number, a zero byte at the end, and numbers too large for a double.
std::optional<NumberPayload> parse_number_payload(std::string_view payload);

}  // namespace coilward_plugins
