#include "plugins/common/entry.h"
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

}  // namespace

extern "C" COILWARD_PLUGIN_EXPORT const coilward_plugin coilward_plugin_entry;
const coilward_plugin coilward_plugin_entry = coilward_plugins::describe<coilward_plugins::Webhook>(
    "notifier", "webhook", kSchema, &coilward_plugins::kNotifier<coilward_plugins::Webhook>);
