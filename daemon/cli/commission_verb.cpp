// Walks a technician through a new site: commission. Words go to standard error, so that a script sees only
// where the configuration is.
#include <fmt/format.h>

#include <filesystem>
#include <fstream>
#include <iostream>
#include <nlohmann/json.hpp>
#include <sstream>
#include <thread>

#include "daemon/base/clock.h"
#include "daemon/cli/exit_code.h"
#include "daemon/cli/say.h"
#include "daemon/cli/verbs.h"
#include "daemon/commission/first_config.h"

namespace coilward {
namespace {

double number_in(const Json& json, const char* key) {
  return json.contains(key) && json[key].is_number() ? json[key].get<double>() : kNotMeasured;
}

UtcTime time_in(const Json& json, const char* key) {
  if (!json.contains(key) || !json[key].is_string()) return kNever;
  return parse_rfc3339(json[key].get<std::string>()).value_or(kNever);
}

// Values that the daemon refused as impossible are told by a finding about the sensor.
void add_refused(LiveZones& zones, const Json& findings) {
  for (const Json& finding : findings["findings"]) {
    if (finding["fault"] != "sensor_fault") continue;
    for (const Json& e : finding["evidence"])
      for (LiveZone& zone : zones)
        if (e["channel"] == fmt::format("zone/{}/current", zone.number) && e["low"].is_null())
          zone.refused = number_in(e, "observed");
  }
}

Result<LiveZones> live_zones(ApiCaller& caller) {
  const auto zones = caller.get("/api/v1/zones");
  if (!zones) return zones.error();
  LiveZones list;
  for (const Json& zone : (*zones)["zones"])
    if (zone["zone"].get<int>() != kMasterZone)
      list.push_back({zone["zone"].get<int>(), number_in(zone, "latest_amps"), time_in(zone, "latest_time")});
  const auto findings = caller.get("/api/v1/findings");
  if (!findings) return findings.error();
  add_refused(list, *findings);
  return list;
}

std::string text_in(const std::string& file) {
  std::ostringstream text;
  text << std::ifstream(file, std::ios::binary).rdbuf();
  return text.str();
}

// Whole or not at all.
Result<bool> write_file(const std::string& path, const std::string& text) {
  const std::string fresh = path + ".new";
  std::ofstream file(fresh, std::ios::binary | std::ios::trunc);
  file << text << std::flush;
  std::error_code error;
  if (file) std::filesystem::rename(fresh, path, error);
  if (file && !error) return true;
  return Error{Cause::world, fmt::format("{} cannot be written", path)};
}

// Where to, which is asked when something is there already. Empty: nowhere.
Result<std::string> place_for(Dialogue& dialogue, std::string path) {
  while (std::filesystem::exists(path)) {
    const auto replace = dialogue.yes(
        fmt::format("{} is there already. Replace it (it stays as {}.before)?", path, path), false);
    if (!replace) return replace.error();
    if (*replace) {
      std::error_code error;
      std::filesystem::copy_file(path, path + ".before", std::filesystem::copy_options::overwrite_existing,
                                 error);
      if (error)
        return Error{Cause::world, fmt::format("{}.before cannot be written: {}", path, error.message())};
      return path;
    }
    auto other = dialogue.ask("Write it where instead? (empty: nowhere)");
    if (!other || other->empty()) return other;
    path = *other;
  }
  return path;
}

int ended(const Error& error) { return fail(error); }

}  // namespace

int commission(const CommissionOptions& options) {
  auto config = load_config(options.site.config);
  if (!config) return fail(config.error());
  const auto caller = reach_site(options.site);
  if (!caller) return fail(caller.error());
  TerminalDialogue dialogue(std::cin, std::cerr);
  CommissionLinks links;
  links.live = [&] { return live_zones(**caller); };
  links.pause = [](Millis time) { std::this_thread::sleep_for(time); };
  links.wait_s = options.wait_s;
  links.settle_s = options.settle_s;
  const auto site = commission_site(dialogue, links, std::move(*config));
  if (!site) return ended(site.error());
  const auto text = commissioned_text(*site, text_in(options.site.config), SystemClock().utc());
  if (!text) return ended(text.error());
  const auto path = place_for(dialogue, options.out.empty() ? options.site.config : options.out);
  if (!path) return ended(path.error());
  if (path->empty()) return say("nothing was written"), kExitDone;
  if (const auto written = write_file(*path, *text); !written) return ended(written.error());
  say("the daemon takes it over with SIGHUP (systemctl reload coilwardd), or at its next start");
  print(*path + "\n");
  return kExitDone;
}

}  // namespace coilward
