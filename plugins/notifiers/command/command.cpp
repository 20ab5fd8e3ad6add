#include "plugins/common/entry.h"
#include "plugins/notifiers/command/command_call.h"

namespace {

constexpr const char* kSchema = R"json([
  {"key": "run", "type": "list", "required": true,
   "help": "the program and its arguments; no shell reads them"}
])json";

}  // namespace

extern "C" COILWARD_PLUGIN_EXPORT const coilward_plugin coilward_plugin_entry;
const coilward_plugin coilward_plugin_entry = coilward_plugins::describe<coilward_plugins::Command>(
    "notifier", "command", kSchema, &coilward_plugins::kNotifier<coilward_plugins::Command>);
