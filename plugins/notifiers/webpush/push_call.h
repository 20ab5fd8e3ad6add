// Tells an alert to every phone that asked, each through its own push service (RFC 8030).
#pragma once

#include <atomic>
#include <chrono>
#include <map>
#include <nlohmann/json.hpp>
#include <set>
#include <string>
#include <string_view>

#include "plugins/common/curl_call.h"
#include "plugins/common/reply.h"
#include "plugins/notifiers/webpush/phones.h"
#include "plugins/notifiers/webpush/push_key.h"

namespace coilward_plugins {

inline constexpr std::chrono::seconds kLongestPushWait{3600};  // a Retry-After beyond is taken as this
inline constexpr long kPushKeepS = 24 * 3600;  // how long the push service keeps it for a phone that is off

// What a phone is told, as JSON: id, title, body, url, severity and tag. At most kMostPlain bytes.
std::string push_words(const nlohmann::json& alert);

class WebPush {
 public:
  // Throws std::invalid_argument with a sentence when the settings cannot work.
  WebPush(const nlohmann::json& settings, Host host);

  // done: each phone was told, or is no more; at least one was told. retry: a phone is still to be told
  // (those that were are not told again), or there is none yet. refused: each push service refused it for
  // good.
  Reply deliver(std::string_view alert_json, double timeout_s);  // [one thread at a time]
  void interrupt() noexcept;                                     // [any thread]

 private:
  using SteadyTime = std::chrono::steady_clock::time_point;
  enum class Told { yes, later, never, gone };
  struct Answer {
    Told told = Told::later;
    std::string words;
  };
  struct Tally {
    int told = 0, later = 0, never = 0;
    std::string trouble;  // of the latest that went wrong, with the phone's name
    std::string words;    // of the latest that took it
  };
  Tally tell_all(const std::vector<Phone>& phones, const nlohmann::json& alert, double timeout_s);
  Answer tell(const Phone& phone, const nlohmann::json& alert, const PushKey& key, double timeout_s);
  Answer judge(CURL* handle, const CallResult& call, const Phone& phone, const std::string& answer);
  void settle(const Phone& phone, const Answer& answer, const std::string& id, Tally& tally);
  std::set<std::string>& settled_for(const std::string& id);

  Phones phones_;
  std::string key_file_, contact_, ca_file_;
  Host host_;
  CurlCalls calls_;
  std::atomic<bool> interrupted_{false};
  std::map<std::string, SteadyTime> not_before_;  // by phone
  std::vector<std::pair<std::string, std::set<std::string>>>
      settled_;  // alert, phones done with; latest last
};

}  // namespace coilward_plugins
