#include "plugins/notifiers/email/mail.h"

namespace {

constexpr const char* kSchema = R"json([
  {"key": "url", "type": "text", "required": true,
   "help": "smtp://host[:port] (587 for sending, usually) or smtps://host[:port] (465)"},
  {"key": "starttls", "type": "boolean", "default": true,
   "help": "smtp:// only: TLS or nothing; false sends in the clear"},
  {"key": "username", "type": "text", "help": "login name; needs password_file"},
  {"key": "password_file", "type": "file", "secret_file": true, "help": "file that holds the password, private"},
  {"key": "from", "type": "text", "required": true, "help": "mail address of the sender"},
  {"key": "to", "type": "list", "required": true, "help": "mail addresses of the recipients"},
  {"key": "page", "type": "text", "default": "",
   "help": "address at which the recipients reach coilward's page, such as https://garden.example.org; without it mails have no links"},
  {"key": "ca_file", "type": "file", "help": "certificates to trust instead of the system's"}
])json";

class EmailNotifier : public coilward_plugins::Mail {
 public:
  EmailNotifier(std::string_view settings, coilward_plugins::Host) : Mail(nlohmann::json::parse(settings)) {}
};

}  // namespace

COILWARD_NOTIFIER(EmailNotifier, "email", "1.1", kSchema)
