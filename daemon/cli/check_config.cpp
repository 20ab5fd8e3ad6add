#include <fmt/format.h>

#include <nlohmann/json.hpp>

#include "daemon/cli/exit_code.h"
#include "daemon/cli/say.h"
#include "daemon/cli/site_stages.h"
#include "daemon/cli/verbs.h"
#include "daemon/config/config.h"
#include "daemon/config/fleet_server.h"

namespace coilward {
namespace {

Json summary(const Config& config) {
  return {{"good", true},
          {"file", config.file},
          {"site", config.site.id},
          {"zones", config.zones.size()},
          {"boxes", config.boxes.size()},
          {"notifiers", config.notifiers.size()},
          {"exporters", config.exporters.size()}};
}

// What is wrong with a file, as asked for.
int bad(const std::string& file, const Error& error, bool json) {
  if (json) print_json({{"good", false}, {"file", file}, {"error", error.what}});
  return fail(error);
}

int check_fleet_server(const std::string& file, bool json) {
  const auto config = load_fleet_server_config(file);
  if (!config) return bad(file, config.error(), json);
  if (json)
    print_json({{"good", true}, {"file", file}, {"role", "fleet"}});
  else
    print(fmt::format("{} is good: the server of many sites\n", file));
  return kExitDone;
}

}  // namespace

// Builds the stages too: a decoder or notifier that is not installed is an error of the configuration.
int check_config(const std::string& file, bool json) {
  if (is_fleet_server_config(file)) return check_fleet_server(file, json);
  const auto stages = SiteStages::build(file);
  const auto senders = stages ? (*stages)->check_senders() : Result<bool>(stages.error());
  if (!senders) return bad(file, senders.error(), json);
  const Config& config = (*stages)->config();
  if (json)
    print_json(summary(config));
  else
    print(fmt::format("{} is good: site {}, {} zones, {} boxes, {} notifiers\n", file, config.site.id,
                      config.zones.size(), config.boxes.size(), config.notifiers.size()));
  return kExitDone;
}

}  // namespace coilward
