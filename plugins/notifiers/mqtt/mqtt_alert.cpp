#include "plugins/notifiers/mqtt/mqtt_alert.h"

#include <charconv>
#include <stdexcept>

#include "plugins/common/secret_file.h"

namespace coilward_plugins {
namespace {

using Json = nlohmann::json;

constexpr int kAlertVersion = 1;  // as the webhook's

// mqtt://host[:port], mqtts://host[:port]; an IPv6 address in brackets.
BrokerPlace place_from(const std::string& url) {
  const auto wrong = [&] {
    return std::invalid_argument("url must be mqtt://host[:port] or mqtts://host[:port], found \"" + url +
                                 "\"");
  };
  BrokerPlace place;
  place.tls = url.starts_with("mqtts://");
  if (!place.tls && !url.starts_with("mqtt://")) throw wrong();
  std::string rest = url.substr(url.find("://") + 3);
  place.port = place.tls ? 8883 : 1883;
  if (rest.find_first_of("@/? ") != std::string::npos) throw wrong();
  const auto colon = rest.rfind(':');
  if (colon != std::string::npos && !rest.ends_with(']')) {
    const char* const end = rest.data() + rest.size();
    const auto read = std::from_chars(rest.data() + colon + 1, end, place.port);
    if (read.ec != std::errc() || read.ptr != end || place.port < 1 || place.port > 65535) throw wrong();
    rest.resize(colon);
  }
  if (rest.starts_with('[') && rest.ends_with(']')) rest = rest.substr(1, rest.size() - 2);
  if (rest.empty()) throw wrong();
  place.host = rest;
  return place;
}

void check_topic(const char* key, const std::string& topic, bool needed) {
  if (topic.empty() && !needed) return;
  if (mosquitto_pub_topic_check(topic.c_str()) != MOSQ_ERR_SUCCESS || topic.empty())
    throw std::invalid_argument(std::string(key) + " must be a topic without + and #, found \"" + topic +
                                "\"");
}

bool loopback(const std::string& host) {
  return host == "localhost" || host == "::1" || host.starts_with("127.");
}

}  // namespace

MqttAlert::MqttAlert(const Json& json)
    : place_(place_from(json.value("url", ""))),
      password_file_(json.value("password_file", "")),
      topic_(json.value("topic", "")),
      text_topic_(json.value("text_topic", "")),
      retain_(json.value("retain", false)) {
  place_.version = json.value("version", "5") == "5" ? 5 : 4;
  place_.client_id = json.value("client_id", "");
  place_.username = json.value("username", "");
  place_.ca_file = json.value("ca_file", "");
  place_.cert_file = json.value("cert_file", "");
  place_.key_file = json.value("key_file", "");
  check_topic("topic", topic_, true);
  check_topic("text_topic", text_topic_, false);
  if (place_.username.empty() && !password_file_.empty())
    throw std::invalid_argument("password_file needs username: give both");
  if (place_.cert_file.empty() != place_.key_file.empty())
    throw std::invalid_argument("cert_file and key_file belong together: give both or neither");
  if (!place_.tls && !password_file_.empty() && !loopback(place_.host))
    throw std::invalid_argument("a password is not sent without TLS: use mqtts://");
}

Reply MqttAlert::deliver(std::string_view alert_json, double timeout_s) {
  interrupted_ = false;
  const auto deadline =
      std::chrono::steady_clock::now() + std::chrono::milliseconds{static_cast<long>(timeout_s * 1000)};
  Json alert = Json::parse(alert_json, nullptr, false);
  if (!alert.is_object()) return {COILWARD_REFUSED, "the alert is not a JSON object"};
  Secret password;
  if (!password_file_.empty()) password = read_secret(password_file_);
  if (!password.wrong.empty()) return {COILWARD_RETRY, password.wrong};
  alert["version"] = kAlertVersion;
  std::vector<BrokerMessage> messages = {
      {topic_, alert.dump(-1, ' ', false, Json::error_handler_t::replace), retain_}};
  if (!text_topic_.empty())
    messages.push_back({text_topic_, alert.value("subject", "") + "\n\n" + alert.value("text", ""), retain_});
  Reply reply = BrokerCall(place_, password.value, interrupted_).publish(messages, deadline);
  reply.words = without_secret(std::move(reply.words), password.value);
  return reply;
}

}  // namespace coilward_plugins
