#include "plugins/common/entry.h"
#include "plugins/exporters/csv/csv_store.h"

namespace {

constexpr const char* kSchema = R"json([
  {"key": "directory", "type": "text", "required": true, "help": "absolute path of a directory that exists"},
  {"key": "sync", "type": "boolean", "default": true,
   "help": "wait until each batch is on the disk; false leaves that to the system"}
])json";

}  // namespace

extern "C" COILWARD_PLUGIN_EXPORT const coilward_plugin coilward_plugin_entry;
const coilward_plugin coilward_plugin_entry = coilward_plugins::describe<coilward_plugins::CsvStore>(
    "exporter", "csv", kSchema, &coilward_plugins::kExporter<coilward_plugins::CsvStore>);
