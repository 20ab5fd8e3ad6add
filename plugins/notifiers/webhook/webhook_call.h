// Posts an alert as JSON to one address, signed.
#pragma once

#include <chrono>
#include <nlohmann/json.hpp>
#include <string>
#include <string_view>

#include "plugins/common/curl_call.h"
#include "plugins/common/reply.h"

namespace coilward_plugins {

inline constexpr int kBodyVersion = 1;
inline constexpr std::chrono::seconds kLongestAskedWait{3600};  // a Retry-After beyond is taken as this

// Hex HMAC-SHA256 (RFC 2104) over "<timestamp>.<body>".
std::string signature(std::string_view key, std::string_view timestamp, std::string_view body);

class Webhook {
 public:
  // Throws std::invalid_argument with a sentence when the settings cannot work.
  explicit Webhook(const nlohmann::json& settings);

  // done: 2xx. retry: 408, 425, 429, 5xx, no answer. refused: any other answer, redirections included. After
  // a Retry-After nothing is sent until it is over: deliver answers retry by itself.
  Reply deliver(std::string_view alert_json, double timeout_s);  // [one thread at a time]
  void interrupt() noexcept { calls_.interrupt(); }              // [any thread]

 private:
  using SteadyTime = std::chrono::steady_clock::time_point;
  Reply post(const std::string& body, const std::string& id, double timeout_s);
  Reply judge(CURL* handle, const CallResult& call, const std::string& answer);

  std::string url_, secret_file_, token_file_, ca_file_;
  CurlCalls calls_;
  SteadyTime not_before_{};  // the clock's own start: not at all
};

}  // namespace coilward_plugins
