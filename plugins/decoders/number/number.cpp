#include "plugins/decoders/number/number_payload.h"
#include "plugins/plugin.hpp"

namespace {

class Number {
 public:
  Number(std::string_view, coilward::plugin::Host) {}

  void decode(std::string_view, std::string_view payload, coilward::plugin::Values& out) {
    const auto found = coilward_plugins::parse_number_payload(payload);
    if (!found) return out.refuse("found neither a decimal number nor on, off, true or false");
    out.add({.value = found->value, .unit = found->word ? "boolean" : ""});
  }
};

}  // namespace

COILWARD_DECODER(Number, "number", "1.0", "[]")
