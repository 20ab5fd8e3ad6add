#include "plugins/notifiers/command/command_call.h"

namespace {

constexpr const char* kSchema = R"json([
  {"key": "run", "type": "list", "required": true,
   "help": "the program and its arguments; no shell reads them"}
])json";

class CommandNotifier : public coilward_plugins::Command {
 public:
  CommandNotifier(std::string_view settings, coilward_plugins::Host)
      : Command(nlohmann::json::parse(settings)) {}
};

}  // namespace

COILWARD_NOTIFIER(CommandNotifier, "command", "1.0", kSchema)
