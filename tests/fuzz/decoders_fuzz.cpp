#include <cstdlib>
#include <nlohmann/json.hpp>
#include <string>

#include "daemon/host/plugin_host.h"
#include "tests/fuzz/fuzz_targets.h"

namespace coilward {
namespace {

using Settings = nlohmann::ordered_json;

Decoder make(const char* name, const Settings& settings) {
  const char* plugins = std::getenv("COILWARD_PLUGINS");
  static PluginHost host(plugins ? plugins : COILWARD_BINARY_DIR "/plugins");
  auto decoder = host.decoder(name, settings, {"fuzz.toml", 1, "[[sensor]]"});
  if (!decoder) std::fprintf(stderr, "%s\n", decoder.error().what.c_str());
  must_hold(decoder.has_value(), "the decoder is there");
  return std::move(*decoder);
}

void decode(Decoder& decoder, std::string_view payload) {
  std::size_t values = 0;
  auto count = [&](const coilward_value& value) noexcept {
    ++values;
    must_hold(value.name.size == 0 || value.name.data != nullptr, "a name has a place");
  };
  const bool taken = decoder.decode("coilward/s/measure/zone/1/current", payload, count);
  must_hold(taken || !decoder.why().empty(), "a refusal has a reason");
}

}  // namespace

void fuzz_number(std::string_view input) {
  static Decoder decoder = make("number", Settings::object());
  decode(decoder, input);
}

void fuzz_senml(std::string_view input) {
  static Decoder decoder = make("senml", Settings::object());
  decode(decoder, input);
}

void fuzz_json(std::string_view input) {
  static Decoder plain = make("json", {{"value", "/value"}});
  static Decoder timed = make("json", {{"value", "/a/0/value"}, {"time", "/time"}});
  if (input.empty()) return;
  decode(input[0] % 2 == 0 ? plain : timed, input.substr(1));
}

}  // namespace coilward
