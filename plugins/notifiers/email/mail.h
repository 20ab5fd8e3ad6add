// Sends an alert as a mail through one SMTP server.
#pragma once

#include <nlohmann/json.hpp>

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
};

class Mail {
 public:
  // Throws std::invalid_argument with a sentence when the settings cannot work.
  explicit Mail(const nlohmann::json& settings);

  // done: the server took it for at least one recipient. refused: it said 5xx to the sender, to every
  // recipient or to the text. retry: everything else, a refused login included: someone can put that right.
  Reply deliver(std::string_view alert_json, double timeout_s);  // [one thread at a time]
  void interrupt() noexcept { calls_.interrupt(); }              // [any thread]

 private:
  MailSettings settings_;
  CurlCalls calls_;
};

}  // namespace coilward_plugins
