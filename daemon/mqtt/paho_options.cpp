#include "daemon/mqtt/paho_options.h"

#include "daemon/mqtt/credentials.h"

namespace coilward {
namespace {

// How long an MQTT 5 broker keeps messages for a daemon that is away. (With 3.1.1 it is the broker's own
// choice.)
constexpr std::int32_t kSessionExpiryS = 7 * 24 * 3600;

void set_session(mqtt::connect_options& to, int version, bool keep) {
  to.set_mqtt_version(version);
  if (version < 5) {
    to.set_clean_session(!keep);
    return;
  }
  to.set_clean_start(!keep);
  mqtt::properties properties;
  properties.add({mqtt::property::SESSION_EXPIRY_INTERVAL, keep ? kSessionExpiryS : 0});
  to.set_properties(properties);
}

// No error handler: Paho C++ 1.2.0 calls it through a pointer to options that are gone (a crash; its issue
// 325).
mqtt::ssl_options make_tls(const MqttConfig& config) {
  mqtt::ssl_options tls;
  tls.set_trust_store(config.ca_file);
  tls.set_key_store(config.cert_file);
  tls.set_private_key(config.key_file);
  tls.set_enable_server_cert_auth(true);
  tls.set_verify(true);  // that the certificate is for the host we asked for
  return tls;
}

Result<bool> set_login(mqtt::connect_options& to, const MqttConfig& config) {
  if (!config.username.empty()) to.set_user_name(config.username);
  if (config.password_file.empty()) return true;
  auto password = read_secret(config.password_file);
  if (!password) return password.error();
  to.set_password(*password);
  return true;
}

}  // namespace

Result<bool> set_paho_options(mqtt::connect_options& to, const MqttConfig& config,
                              const PahoOptions& options) {
  set_session(to, config.version, options.keep_session);
  to.set_keep_alive_interval(config.keep_alive_s);
  to.set_connect_timeout(options.connect_timeout);
  to.set_automatic_reconnect(false);
  to.set_max_inflight(1000);
  if (!options.will_topic.empty()) {
    to.set_will(mqtt::will_options(options.will_topic, options.will_payload, 1, true));
  }
  if (auto login = set_login(to, config); !login) return login.error();
  if (!config.url.starts_with("mqtts://")) return true;
  if (auto readable = check_tls_files(config); !readable) return readable.error();
  to.set_ssl(make_tls(config));
  return true;
}

}  // namespace coilward
