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

std::unique_ptr<mqtt::ssl_options> make_tls(const MqttConfig& config, const PahoOptions& options) {
  auto made = std::make_unique<mqtt::ssl_options>();
  mqtt::ssl_options& tls = *made;
  tls.set_trust_store(config.ca_file);
  tls.set_key_store(config.cert_file);
  tls.set_private_key(config.key_file);
  tls.set_enable_server_cert_auth(true);
  tls.set_verify(true);  // that the certificate is for the host we asked for
  if (options.on_tls_words) tls.set_error_handler(options.on_tls_words);
  return made;
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

Result<PahoConnect> make_paho_options(const MqttConfig& config, const PahoOptions& options) {
  PahoConnect made;
  set_session(made.options, config.version, options.keep_session);
  made.options.set_keep_alive_interval(config.keep_alive_s);
  made.options.set_connect_timeout(options.connect_timeout);
  made.options.set_automatic_reconnect(false);
  made.options.set_max_inflight(1000);
  if (!options.will_topic.empty()) {
    made.options.set_will(mqtt::will_options(options.will_topic, options.will_payload, 1, true));
  }
  if (auto login = set_login(made.options, config); !login) return login.error();
  if (!config.url.starts_with("mqtts://")) return made;
  if (auto readable = check_tls_files(config); !readable) return readable.error();
  made.tls = make_tls(config, options);
  made.options.set_ssl(*made.tls);
  return made;
}

}  // namespace coilward
