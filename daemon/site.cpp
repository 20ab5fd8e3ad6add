#include "daemon/site.h"

#include <fmt/format.h>

#include <algorithm>
#include <nlohmann/json.hpp>

#include "daemon/alerts/wording.h"
#include "daemon/base/log.h"
#include "daemon/history/state_directory.h"
#include "daemon/host/foreign_text.h"
#include "daemon/web/site_json.h"
#include "daemon/web/site_location.h"

namespace coilward {
namespace {

// Readings that wait for a commit: an hour of 24 zones at one a second would be 86,000; a flood must not fill
// memory or the spool before the clock says so.
constexpr std::size_t kMostWaiting = 20'000;
constexpr std::size_t kShownOfPayload = 80;
// Test readings kept in mind beside the file: more than anyone enters before the file has them.
constexpr std::size_t kMostEntered = 1000;

std::string named(const std::string& who) { return who.empty() ? "someone" : one_line(who, 60); }
std::string named(PauseScope scope) {
  return scope.is_site() ? "the site" : fmt::format("zone {}", scope.zone);
}

}  // namespace

Site::Site(const Config& config, Intake& intake, const Clock& clock, std::string version, SiteLinks links)
    : config_(config),
      clock_(clock),
      version_(std::move(version)),
      started_(clock.utc()),
      links_(std::move(links)),
      intake_(intake),
      pipeline_(config, intake, *this),
      book_(config),
      notices_(config),
      routes_(config),
      last_commit_(clock.steady()) {}
Site::~Site() = default;

Result<bool> Site::restore(const Snapshot& snapshot) {
  sequence_ = snapshot.mark;
  restore_test_runs();
  const auto parts = read_site_snapshot(snapshot.json);
  if (!parts) return parts.error();
  return restore_parts(*parts);
}

// Each goes on by itself: one that cannot be read does not take the others with it. The first error.
Result<bool> Site::restore_parts(const SiteSnapshot& parts) {
  Result<bool> all = true;
  const auto restore = [&](auto& stage, const Json& saved) {
    if (saved.is_null()) return;
    if (auto restored = stage.restore(saved); !restored && all) all = restored.error();
  };
  restore(intake_, parts.intake);
  restore(pipeline_, parts.pipeline);
  restore(book_, parts.alerts);
  restore(notices_, parts.notices);
  restore(routes_, parts.routes);
  return all;
}

std::string Site::topic(const std::string& rest) const {
  return fmt::format("{}/{}/report/{}", config_.mqtt.prefix, config_.site.id, rest);
}

void Site::message(const Message& message, bool keep) {
  keep_ = keep;
  pipeline_.message(message);
  sequence_ = std::max(sequence_, message.sequence);
}

void Site::leave_out(const Message& message) {
  sequence_ = std::max(sequence_, message.sequence);
  intake_.lost_before(1);
  const auto shown = [](std::string_view text, std::size_t longest) {
    return foreign_text({text.data(), text.size()}, longest);
  };
  const std::string text =
      fmt::format("A message of {} bytes on {} crashed coilwardd twice and was left out. It begins: {}",
                  message.payload.size(), shown(message.topic, 200), shown(message.payload, kShownOfPayload));
  log::error("{}", text);
  happened("left_out", Severity::soon, {{"why", text}});
}

void Site::on_reading(const Reading& reading) {
  last_reading_ = clock_.steady();
  if (keep_) unit_.readings.push_back(reading);
}

void Site::on_run(const Run& run) {
  book_.run(run);
  unit_.runs.push_back(run);
  decided_ = true;
  Json json = run_to_json(run);
  json["site"] = config_.site.id;
  links_.publish(topic("run"), json.dump(), false);
}

void Site::on_finding(const Finding& finding) {
  log::info("finding {} {} p={:.2f} {}: {}", finding.id, finding.is_open() ? "open" : "closed",
            finding.probability, severity_name(finding.severity),
            finding.is_open() ? finding.summary : finding.close_reason);
  unit_.findings.push_back(finding);
  decided_ = true;
  book_.finding(finding, now());
  report_finding(finding);
}

// No news by itself: it stands beside what is said of the finding from now on.
void Site::on_forecast(const Finding& finding) {
  unit_.findings.push_back(finding);
  decided_ = true;
  book_.finding(finding, now());
  report_finding(finding);
}

// Retained while open; at its end once more for those who listen, then cleared for those who come later.
void Site::report_finding(const Finding& finding) {
  const std::string where = topic("finding/" + finding.id);
  links_.publish(where, finding_to_json(finding, config_.site.id).dump(), finding.is_open());
  if (!finding.is_open()) links_.publish(where, "", true);
}

void Site::report_zones() {
  if (changed_zones_.empty()) return;
  for (const auto& zone : pipeline_.zones()) {
    if (!changed_zones_.contains(zone.number)) continue;
    const std::string name = zone.number == kMasterZone ? "master" : fmt::format("zone/{}", zone.number);
    links_.publish(topic(name), zone_to_json(zone, config_).dump(), true);
    unit_.draws.push_back(zone.normal);
  }
  changed_zones_.clear();
}

void Site::report_all() {
  for (const auto& finding : pipeline_.open_findings()) report_finding(finding);
  for (const auto& zone : pipeline_.zones()) changed_zones_.insert(zone.number);
  report_zones();
}

// Who is told, and when, is decided by the routes.
void Site::hear(const std::vector<Alert>& alerts) {
  for (const auto& alert : alerts) {
    log::info("alert {}: {}", alert.id, alert.subject);
    routes_.alert(alert, now());
    decided_ = true;
  }
}

void Site::queue(const std::vector<RoutedMessage>& messages) {
  for (const auto& message : messages) {
    log::info("to {}: {} {}", message.notifier, message.alert, message.subject);
    unit_.outbox.push_back({message.alert, message.notifier, message.json, now()});
    decided_ = true;
  }
}

void Site::tick(bool behind) {
  const UtcTime time = now();
  if (!behind) pipeline_.advance(time);
  if (!behind) caught_up_ = clock_.steady();
  hear(book_.advance(time));
  hear(notices_.advance(time));
  queue(routes_.advance(time, [this](const std::string& finding) { return book_.unanswered(finding); }));
  watch_test_runs();
  report_zones();
  const std::chrono::duration<double> since = clock_.steady() - last_commit_;
  const bool due = since.count() >= config_.history.commit_s && !unit_.readings.empty();
  if (decided_ || due || unit_.readings.size() >= kMostWaiting) commit();
}

void Site::commit() {
  last_commit_ = clock_.steady();
  if (!has_pending()) return;
  unit_.snapshot =
      site_snapshot_text({pipeline_.save(), book_.save(), intake_.save(), notices_.save(), routes_.save()});
  unit_.mark = sequence_;
  links_.commit(std::exchange(unit_, {}));
  decided_ = false;
}

void Site::happened(const std::string& key, Severity severity, Fields fields) {
  notices_.raise({key, severity, std::move(fields), false}, now());
}

Json Site::about() const {
  return {{"version", version_}, {"started", format_rfc3339(started_)}, {"mode", "daemon"}};
}

// Open ones as the pipeline has them, closed ones from the file: what is being committed is never missing.
Result<std::vector<Finding>> Site::findings(bool closed_too) const {
  std::vector<Finding> list = pipeline_.open_findings();
  if (closed_too) {
    auto store = StateStore::open(state_path(config_.paths.state), config_.site.id, {OpenMode::read_only});
    if (!store) return store.error();
    auto kept = store->findings(true);
    if (!kept) return kept.error();
    for (auto& finding : *kept)
      if (std::none_of(list.begin(), list.end(), [&](const Finding& f) { return f.id == finding.id; }))
        list.push_back(std::move(finding));
  }
  std::stable_sort(list.begin(), list.end(),
                   [](const Finding& a, const Finding& b) { return a.opened > b.opened; });
  return list;
}

Result<Finding> Site::finding(const std::string& id) const {
  auto all = findings(true);
  if (!all) return all.error();
  for (auto& finding : *all)
    if (finding.id == id) return std::move(finding);
  return Error{Cause::not_found, fmt::format("there is no finding '{}'", id)};
}

Result<HistoryReader> Site::open_history() const {
  return HistoryReader::open(history_path(config_.paths.state), ChannelNames(config_));
}

std::vector<Reading> Site::pending_readings(Channel channel) const {
  std::vector<Reading> list = links_.committing(channel);
  for (const auto& reading : unit_.readings)
    if (reading.channel == channel) list.push_back(reading);
  return list;
}

Result<bool> Site::acknowledge(const std::string& finding, const std::string& who, UtcTime until) {
  auto done = book_.acknowledge(finding, who, now(), until);
  if (!done) return done;
  log::info("{} acknowledges {}{}", named(who), finding,
            until == kNever ? "" : " until " + format_rfc3339(until));
  unit_.acknowledgements.push_back({finding, who, now()});
  decided_ = true;
  return true;
}

Result<bool> Site::pause(UtcTime until, PauseScope scope, const std::string& who, const std::string& reason) {
  auto done = book_.pause(until, scope, who, now());
  if (!done) return done;
  log::info("{} holds the alerts of {} until {}", named(who), named(scope), format_rfc3339(until));
  pipeline_.work_on_site(scope.zone, now(), until);
  unit_.pauses.push_back({now(), until, who, reason});
  decided_ = true;
  return true;
}

Result<bool> Site::resume(PauseScope scope, const std::string& who) {
  decided_ = true;
  auto done = book_.resume(scope, who, now());
  if (!done) return done;
  log::info("{} lets the alerts of {} go out again", named(who), named(scope));
  pipeline_.work_on_site(scope.zone, now(), now());
  return done;
}

void Site::keep(TestReadingRow row) {
  if (entered_.size() >= kMostEntered) entered_.erase(entered_.begin());
  entered_.push_back(row);
  unit_.test_readings.push_back(std::move(row));
  decided_ = true;
}

Result<bool> Site::keep_test_reading(const std::string& finding, const std::string& json) {
  log::info("test reading for {}: {}", finding, json);
  keep({finding, now(), json});
  return true;
}

// As the file has them, and what it may not have yet.
Result<std::vector<TestReadingRow>> Site::test_readings(const std::string& finding) const {
  std::vector<TestReadingRow> rows;
  auto store = StateStore::open(state_path(config_.paths.state), config_.site.id, {OpenMode::read_only});
  if (!store && store.error().cause != Cause::not_found) return store.error();
  if (store) {
    auto kept = store->test_readings(finding);
    if (!kept) return kept;
    rows = std::move(*kept);
  }
  const auto on_disk = rows;
  for (const TestReadingRow& row : entered_)
    if (row.finding == finding && std::none_of(on_disk.begin(), on_disk.end(), [&](const TestReadingRow& r) {
          return r.json == row.json && to_ms(r.at) == to_ms(row.at);
        }))
      rows.push_back(row);
  return rows;
}

Result<bool> Site::repaired(const RepairTarget& target, bool new_coil, const std::string& who) {
  log::info("{} says that {} is repaired{}", named(who),
            std::holds_alternative<int>(target) ? fmt::format("zone {}", std::get<int>(target))
                                                : "common " + std::get<std::string>(target),
            new_coil ? ", with a new coil" : "");
  decided_ = true;
  for (auto& mark : repair_marks(pipeline_.open_findings(), config_, target, who, now()))
    keep(std::move(mark));
  if (const int* zone = std::get_if<int>(&target)) return pipeline_.repaired_zone(*zone, new_coil, now());
  return pipeline_.repaired_common(std::get<std::string>(target), new_coil, now());
}

}  // namespace coilward
