#include "plugins/notifiers/webpush/push_call.h"

namespace {

constexpr const char* kSchema = R"json([
  {"key": "contact", "type": "text", "required": true,
   "help": "mailto: or https:// address at which a push service reaches you; some refuse to serve without one"},
  {"key": "directory", "type": "text", "default": "",
   "help": "where the phones that asked to be told are kept; default: webpush/NAME in the state directory"},
  {"key": "key_file", "type": "text", "default": "",
   "help": "private key that messages are signed with, made when missing; default: vapid.pem beside the directory"},
  {"key": "ca_file", "type": "file", "help": "certificates to trust instead of the system's"}
])json";

class WebPushNotifier : public coilward_plugins::WebPush {
 public:
  WebPushNotifier(std::string_view settings, coilward_plugins::Host host)
      : WebPush(nlohmann::json::parse(settings), host) {}
};

}  // namespace

COILWARD_NOTIFIER(WebPushNotifier, "webpush", "1.0", kSchema)
