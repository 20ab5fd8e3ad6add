// Sends an alert as a mail through one SMTP server.
#pragma once

#include <nlohmann/json.hpp>

#include <map>
#include <set>
#include <string>
#include <string_view>
#include <vector>

#include "plugins/common/curl_call.h"
#include "plugins/common/reply.h"

namespace coilward_plugins {

struct MailSettings {
  std::string url;       // smtp://host[:port] or smtps://host[:port]
  bool starttls = true;  // smtp:// only: TLS or nothing
  std::string username;
  std::string password_file;
  std::string from;
  std::vector<std::string> to;
  std::string ca_file;  // empty: the system's
  std::string page;     // https://..., where coilward's page is reached; empty: no links
};

inline constexpr std::size_t kAlertsInMind = 100;

class Mail {
 public:
  // Throws std::invalid_argument with a sentence when the settings cannot work.
  explicit Mail(const nlohmann::json& settings);

  // done: the server took it for at least one recipient, and put nobody off. refused: it said 5xx to the
  // sender, to every recipient or to the text. retry: everything else, a refused login included: someone can
  // put that right.
  Reply deliver(std::string_view alert_json, double timeout_s);  // [one thread at a time]
  void interrupt() noexcept { calls_.interrupt(); }              // [any thread]

 private:
  bool settled(const std::string& id, const std::string& recipient) const;
  void settle(const std::string& id, const std::set<std::string>& taken,
              const std::set<std::string>& refused);

  MailSettings settings_;
  CurlCalls calls_;
  std::map<std::string, std::set<std::string>> settled_;  // recipients, of alerts that some are still to get
};

}  // namespace coilward_plugins
