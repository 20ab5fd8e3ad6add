#include "plugins/notifiers/mqtt/broker_call.h"

#include <fmt/format.h>
#include <mqtt_protocol.h>
#include <poll.h>
#include <sys/socket.h>

#include <cerrno>
#include <cstring>
#include <mutex>

#include "plugins/notifiers/mqtt/host_lookup.h"

namespace coilward_plugins {
namespace {

constexpr int kLoopMs = 50;  // an interrupt is noticed this soon
constexpr int kKeepAliveS = 60;
constexpr int kQos = 1;  // at least once: the broker acknowledges

void start_library_once() {
  static std::once_flag once;
  std::call_once(once, [] { mosquitto_lib_init(); });
}

// MQTT 5.0 section 3.4.2.1: what a broker may think better of.
bool for_good(int reason) {
  return reason == MQTT_RC_NOT_AUTHORIZED || reason == MQTT_RC_TOPIC_NAME_INVALID ||
         reason == MQTT_RC_PAYLOAD_FORMAT_INVALID;
}

// MQTT 3.1.1 section 3.2.2.3 and MQTT 5.0 section 3.2.2.2.
bool login_refused(int code) {
  return code == 4 || code == 5 || code == MQTT_RC_BAD_USERNAME_OR_PASSWORD ||
         code == MQTT_RC_NOT_AUTHORIZED || code == MQTT_RC_BANNED;
}

}  // namespace

BrokerCall::BrokerCall(const BrokerPlace& place, const std::string& password,
                       const std::atomic<bool>& interrupted)
    : place_(place), interrupted_(interrupted) {
  start_library_once();
  client_.reset(mosquitto_new(place.client_id.empty() ? nullptr : place.client_id.c_str(), true, this));
  if (client_) prepare(password);
}

void BrokerCall::prepare(const std::string& password) {
  mosquitto* const client = client_.get();
  mosquitto_int_option(client, MOSQ_OPT_PROTOCOL_VERSION, place_.version);
  if (!place_.username.empty())
    mosquitto_username_pw_set(client, place_.username.c_str(), password.empty() ? nullptr : password.c_str());
  const auto or_null = [](const std::string& text) { return text.empty() ? nullptr : text.c_str(); };
  if (place_.tls)
    mosquitto_tls_set(client, or_null(place_.ca_file), place_.ca_file.empty() ? "/etc/ssl/certs" : nullptr,
                      or_null(place_.cert_file), or_null(place_.key_file), nullptr);
  mosquitto_log_callback_set(client, [](mosquitto*, void* self, int level, const char* line) {
    if (level == MOSQ_LOG_ERR) static_cast<BrokerCall*>(self)->log_ = line;
  });
  mosquitto_connect_v5_callback_set(client,
                                    [](mosquitto*, void* self, int code, int, const mosquitto_property*) {
                                      static_cast<BrokerCall*>(self)->heard_connect(code);
                                    });
  mosquitto_publish_v5_callback_set(
      client, [](mosquitto*, void* self, int id, int reason, const mosquitto_property*) {
        static_cast<BrokerCall*>(self)->heard_publish(id, reason);
      });
}

Reply BrokerCall::publish(const std::vector<BrokerMessage>& messages,
                          std::chrono::steady_clock::time_point deadline) {
  if (!client_) return {COILWARD_RETRY, "out of memory"};
  if (auto trouble = lookup_trouble(place_.host, deadline, interrupted_); !trouble.empty())
    return {COILWARD_RETRY, trouble};
  if (connect()) loop(messages, deadline);
  mosquitto_disconnect(client_.get());
  mosquitto_loop(client_.get(), 0, 1);  // so that it is said, and no will is sent
  return reply_;
}

bool BrokerCall::connect() {
  const int error = mosquitto_connect_async(client_.get(), place_.host.c_str(), place_.port, kKeepAliveS);
  if (error == MOSQ_ERR_SUCCESS) return true;
  fail({COILWARD_RETRY, failure_of(error)});
  return false;
}

void BrokerCall::loop(const std::vector<BrokerMessage>& messages,
                      std::chrono::steady_clock::time_point deadline) {
  bool sent = false;
  while (step_ == Step::connecting || step_ == Step::publishing) {
    if (interrupted_) return fail({COILWARD_RETRY, "interrupted"});
    if (std::chrono::steady_clock::now() >= deadline)
      return fail({COILWARD_RETRY, connected_
                                       ? "no answer in time: the broker did not acknowledge the message"
                                       : "no answer in time: the broker did not answer"});
    if (const std::string trouble = broken_socket(); !trouble.empty()) return fail({COILWARD_RETRY, trouble});
    const int error = mosquitto_loop(client_.get(), kLoopMs, 1);
    if (error != MOSQ_ERR_SUCCESS && step_ != Step::failed && step_ != Step::done)
      return fail({COILWARD_RETRY, failure_of(error)});
    if (connected_ && !sent) send(messages), sent = true;
  }
}

void BrokerCall::send(const std::vector<BrokerMessage>& messages) {
  step_ = Step::publishing;
  for (const auto& message : messages) {
    int id = 0;
    const int error = mosquitto_publish_v5(client_.get(), &id, message.topic.c_str(),
                                           static_cast<int>(message.payload.size()), message.payload.data(),
                                           kQos, message.retain, nullptr);
    if (error != MOSQ_ERR_SUCCESS)
      return fail({error == MOSQ_ERR_OVERSIZE_PACKET ? COILWARD_REFUSED : COILWARD_RETRY, failure_of(error)});
    waiting_.insert(id);
  }
}

void BrokerCall::fail(Reply reply) {
  step_ = Step::failed;
  reply_ = std::move(reply);
}

void BrokerCall::heard_connect(int code) {
  if (code == 0) {
    connected_ = true;
    return;
  }
  const std::string words =
      place_.version == 5 ? mosquitto_reason_string(code) : mosquitto_connack_string(code);
  fail({COILWARD_RETRY,
        fmt::format("{}: {}", login_refused(code) ? "login refused" : "the broker refused the connection",
                    words)});
}

void BrokerCall::heard_publish(int id, int reason) {
  waiting_.erase(id);
  if (step_ == Step::failed) return;
  const std::string words = mosquitto_reason_string(reason);
  if (reason >= MQTT_RC_UNSPECIFIED)
    return fail(
        {for_good(reason) ? COILWARD_REFUSED : COILWARD_RETRY, "the broker refused the message: " + words});
  if (reason == MQTT_RC_NO_MATCHING_SUBSCRIBERS) remark_ = "; nobody listens to the topic at the moment";
  if (!waiting_.empty()) return;
  step_ = Step::done;
  reply_ = {COILWARD_DONE, "the broker took it" + remark_};
}

// While TLS begins the library does not see that nobody is there.
std::string BrokerCall::broken_socket() const {
  pollfd look{mosquitto_socket(client_.get()), POLLIN, 0};
  if (connected_ || look.fd < 0 || ::poll(&look, 1, 0) <= 0) return {};
  if ((look.revents & (POLLERR | POLLHUP)) == 0) return {};
  char byte = 0;
  if (::recv(look.fd, &byte, 1, MSG_PEEK | MSG_DONTWAIT) > 0) return {};  // first what it said
  int error = 0;
  socklen_t size = sizeof error;
  ::getsockopt(look.fd, SOL_SOCKET, SO_ERROR, &error, &size);
  sockaddr_storage peer{};
  socklen_t peer_size = sizeof peer;
  const bool reached = ::getpeername(look.fd, reinterpret_cast<sockaddr*>(&peer), &peer_size) == 0;
  errno = error != 0 ? error : reached ? ECONNRESET : ECONNREFUSED;  // OpenSSL may have taken it already
  return failure_of(MOSQ_ERR_ERRNO);
}

std::string BrokerCall::failure_of(int error) const {
  const int number = errno;
  const std::string at = fmt::format("{}:{}", place_.host, place_.port);
  if (error == MOSQ_ERR_TLS || log_.find("OpenSSL") != std::string::npos)
    return fmt::format("TLS failed: {}", log_.empty() ? mosquitto_strerror(error) : log_);
  if (error == MOSQ_ERR_EAI) return "no such host (DNS): " + place_.host;
  if (error == MOSQ_ERR_ERRNO && number == ECONNREFUSED)
    return "connection refused: nothing listens at " + at;
  if (error == MOSQ_ERR_ERRNO) return fmt::format("no connection: {}: {}", at, std::strerror(number));
  if (error == MOSQ_ERR_CONN_LOST)
    return fmt::format("the broker at {} closed the connection{}", at, log_.empty() ? "" : ": " + log_);
  return fmt::format("{}{}", mosquitto_strerror(error), log_.empty() ? "" : ": " + log_);
}

}  // namespace coilward_plugins
