#include "plugins/notifiers/webhook/webhook_call.h"

namespace {

constexpr const char* kSchema = R"json([
  {"key": "url", "type": "text", "required": true, "help": "https:// or http:// address that takes the POST"},
  {"key": "secret_file", "type": "file", "secret_file": true,
   "help": "file that holds the key of the HMAC-SHA256 signature; without it nothing is signed"},
  {"key": "token_file", "type": "file", "secret_file": true,
   "help": "file that holds a token, sent as Authorization: Bearer"},
  {"key": "ca_file", "type": "file", "help": "certificates to trust instead of the system's"}
])json";

class WebhookNotifier : public coilward_plugins::Webhook {
 public:
  WebhookNotifier(std::string_view settings, coilward_plugins::Host)
      : Webhook(nlohmann::json::parse(settings)) {}
};

}  // namespace

COILWARD_NOTIFIER(WebhookNotifier, "webhook", "1.0", kSchema)
