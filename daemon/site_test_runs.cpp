// Zones switched on for a test: what goes out to the controller, what is kept of it, and that it is watched.
// A request is sent only while the broker is connected: one that waited would switch something on when nobody
// expects it any more.
#include <fmt/format.h>

#include <algorithm>
#include <nlohmann/json.hpp>

#include "daemon/base/log.h"
#include "daemon/history/state_directory.h"
#include "daemon/site.h"

namespace coilward {
namespace {

constexpr const char* kTestRunKeys = "test_run/";  // of state.db's settings; the id follows

}  // namespace

Result<bool> Site::may_ask() const {
  if (!test_runs_allowed())
    return Error{Cause::conflict, "switching on for a test is not allowed: [test_run] allow is not true"};
  for (const HealthStage& stage : health())
    if (stage.name == "broker" && !stage.ok)
      return Error{Cause::conflict, "not asked: the broker cannot be reached, and with it the controller"};
  return true;
}

Result<bool> Site::ask_test_run(int zone, int seconds, const std::string& who) {
  if (zone == kMasterZone || !config_.zone(zone))
    return Error{Cause::not_found, fmt::format("there is no zone {} to switch on", zone)};
  if (const auto may = may_ask(); !may) return may;
  const auto run = test_runs_.ask(zone, seconds, who, now());
  if (!run) return run.error();
  log::info("test run {}: {} asks for zone {} to be on for {} s", run->id, who, zone, seconds);
  send_request("run", run_request(*run, config_.site.id));
  keep(*run);
  return true;
}

Result<bool> Site::end_test_run(int zone, const std::string& who) {
  const auto run = test_runs_.ask_end(zone, who, now());
  if (!run) return run.error();
  log::info("test run {}: {} asks for zone {} to be off", run->id, who, zone);
  send_request("stop", stop_request(*run, config_.site.id));
  keep(*run);
  return true;
}

void Site::send_request(const char* what, const Json& request) {
  links_.publish(fmt::format("{}/{}/request/{}", config_.mqtt.prefix, config_.site.id, what),
                 request.dump(-1, ' ', false, Json::error_handler_t::replace), false);
}

void Site::keep(const TestRun& run) {
  unit_.values.emplace_back(kTestRunKeys + run.id,
                            test_run_to_json(run).dump(-1, ' ', false, Json::error_handler_t::replace));
  decided_ = true;
}

void Site::watch_test_runs() {
  const auto look = test_runs_.look(now(), [&](int number) {
    const auto zones = pipeline_.zones();
    return std::any_of(zones.begin(), zones.end(),
                       [&](const ZoneState& zone) { return zone.number == number && zone.on; });
  });
  for (const TestRun& run : look.ended) send_request("stop", stop_request(run, config_.site.id));
  for (const TestRun& run : look.changed) {
    log::info("test run {}: {}", run.id, test_run_words(run, now()));
    keep(run);
  }
}

// As they were kept, whatever became of the snapshot.
void Site::restore_test_runs() {
  auto store = StateStore::open(state_path(config_.paths.state), config_.site.id, {OpenMode::read_only});
  if (!store) return;
  const auto texts = store->values_under(kTestRunKeys, TestRuns::kRemembered);
  if (!texts) return;
  std::vector<TestRun> runs;
  for (const std::string& text : *texts)
    if (auto run = test_run_from_text(text)) runs.push_back(std::move(*run));
  test_runs_.restore(std::move(runs));
}

Result<std::vector<FindingChange>> Site::finding_changes(const std::string& finding) const {
  auto store = StateStore::open(state_path(config_.paths.state), config_.site.id, {OpenMode::read_only});
  if (store) return store->changes(finding);
  if (store.error().cause != Cause::not_found) return store.error();
  return std::vector<FindingChange>();
}

}  // namespace coilward
