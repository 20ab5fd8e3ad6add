#include "plugins/notifiers/mqtt/mqtt_alert.h"

namespace {

constexpr const char* kSchema = R"json([
  {"key": "url", "type": "text", "required": true, "help": "mqtt://host[:port] (1883) or mqtts://host[:port] (8883)"},
  {"key": "topic", "type": "text", "required": true, "help": "where the alert is published as JSON"},
  {"key": "text_topic", "type": "text", "default": "",
   "help": "where it is published as plain text too; without it, it is not"},
  {"key": "retain", "type": "boolean", "default": false,
   "help": "the broker keeps the latest alert for those who subscribe later"},
  {"key": "version", "type": "text", "default": "5", "allowed": ["5", "3.1.1"],
   "help": "of MQTT; with 3.1.1 a broker cannot say that the topic is not allowed"},
  {"key": "client_id", "type": "text", "default": "", "help": "default: a random one each time"},
  {"key": "username", "type": "text", "help": "login name"},
  {"key": "password_file", "type": "file", "secret_file": true, "help": "file that holds the password, private"},
  {"key": "ca_file", "type": "file", "help": "certificates to trust instead of the system's"},
  {"key": "cert_file", "type": "file", "help": "certificate of our own, for a broker that wants one"},
  {"key": "key_file", "type": "file", "secret_file": true, "help": "private key of that certificate"}
])json";

class MqttNotifier : public coilward_plugins::MqttAlert {
 public:
  MqttNotifier(std::string_view settings, coilward_plugins::Host)
      : MqttAlert(nlohmann::json::parse(settings)) {}
};

}  // namespace

COILWARD_NOTIFIER(MqttNotifier, "mqtt", "1.0", kSchema)
