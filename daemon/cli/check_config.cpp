#include <fmt/format.h>

#include <nlohmann/json.hpp>

#include "daemon/cli/exit_code.h"
#include "daemon/cli/say.h"
#include "daemon/cli/site_stages.h"
#include "daemon/cli/verbs.h"
#include "daemon/config/config.h"

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

}  // namespace

// Builds the stages too: a decoder or notifier that is not installed is an error of the configuration.
int check_config(const std::string& file, bool json) {
  const auto stages = SiteStages::build(file);
  const auto senders = stages ? (*stages)->check_senders() : Result<bool>(stages.error());
  if (!senders) {
    if (json) print_json({{"good", false}, {"file", file}, {"error", senders.error().what}});
    return fail(senders.error());
  }
  const Config& config = (*stages)->config();
  if (json)
    print_json(summary(config));
  else
    print(fmt::format("{} is good: site {}, {} zones, {} boxes, {} notifiers\n", file, config.site.id,
                      config.zones.size(), config.boxes.size(), config.notifiers.size()));
  return kExitDone;
}

}  // namespace coilward
