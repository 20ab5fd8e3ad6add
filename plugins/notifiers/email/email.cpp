#include "plugins/common/entry.h"
#include "plugins/notifiers/email/mail.h"

namespace {

constexpr const char* kSchema = R"json([
  {"key": "url", "type": "text", "required": true,
   "help": "smtp://host[:port] (587 for sending, usually) or smtps://host[:port] (465)"
},
  {"key": "starttls", "type": "boolean", "default": true,
   "help": "smtp:// only: TLS or nothing; false sends in the clear"},
  {"key": "username", "type": "text", "help": "login name; needs password_file"},
  {"key": "password_file", "type": "file", "secret_file": true, "help": "file that holds the password, private"},
  {"key": "from", "type": "text", "required": true, "help": "mail address of the sender"},
  {"key": "to", "type": "list", "required": true, "help": "mail addresses of the recipients"},
  {"key": "ca_file", "type": "file", "help": "certificates to trust instead of the system's"}
])json";

}  // namespace

extern "C" COILWARD_PLUGIN_EXPORT const coilward_plugin coilward_plugin_entry;
const coilward_plugin coilward_plugin_entry = coilward_plugins::describe<coilward_plugins::Mail>(
    "notifier", "email", kSchema, &coilward_plugins::kNotifier<coilward_plugins::Mail>);
