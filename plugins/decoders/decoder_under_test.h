// A built decoder, loaded and called by the host's own code, for the tests of decoders.
#pragma once

#include <gtest/gtest.h>

#include <cmath>
#include <nlohmann/json.hpp>
#include <string>
#include <vector>

#include "daemon/host/plugin_host.h"

namespace coilward_plugins {

struct FoundValue {
  std::string name, unit;
  double value = 0;
  int time_kind = COILWARD_TIME_NONE;
  std::int64_t time_us = 0;
};

class DecoderUnderTest {
 public:
  explicit DecoderUnderTest(const std::string& name,
                            const nlohmann::ordered_json& settings = nlohmann::ordered_json::object())
      : decoder_(make(name, settings).value()) {}

  // Empty settings' complaint, "" when they are accepted.
  static std::string refusal(const std::string& name, const nlohmann::ordered_json& settings) {
    const auto made = make(name, settings);
    return made ? "" : made.error().what;
  }

  bool try_decode(std::string_view payload, std::string_view topic = "a/topic") {
    found_.clear();
    auto keep = [this](const coilward_value& v) noexcept {
      found_.push_back({std::string(coilward::view(v.name)), std::string(coilward::view(v.unit)), v.value,
                        v.time_kind, v.time_us});
    };
    return decoder_.decode(topic, payload, keep);
  }
  // Expects that the payload is understood.
  std::vector<FoundValue> decode(std::string_view payload) {
    EXPECT_TRUE(try_decode(payload)) << payload << ": " << why();
    return found_;
  }
  const std::string& why() const { return decoder_.why(); }

 private:
  static coilward::Result<coilward::Decoder> make(const std::string& name,
                                                  const nlohmann::ordered_json& settings) {
    return coilward::PluginHost(COILWARD_BINARY_DIR "/plugins")
        .decoder(name, settings, {"test.toml", 1, "[decoder]"});
  }

  coilward::Decoder decoder_;
  std::vector<FoundValue> found_;
};

}  // namespace coilward_plugins
