#include "plugins/exporters/csv/csv_store.h"

namespace {

constexpr const char* kSchema = R"json([
  {"key": "directory", "type": "text", "required": true, "help": "absolute path of a directory that exists"},
  {"key": "sync", "type": "boolean", "default": true,
   "help": "wait until each batch is on the disk; false leaves that to the system"}
])json";

class CsvExporter : public coilward_plugins::CsvStore {
 public:
  CsvExporter(std::string_view settings, coilward_plugins::Host)
      : CsvStore(nlohmann::json::parse(settings)) {}
  coilward_plugins::Reply store(std::string_view batch, double) { return CsvStore::store(batch); }
};

}  // namespace

COILWARD_EXPORTER(CsvExporter, "csv", "1.0", kSchema)
