#include "daemon/delivery_line.h"

#include <fmt/format.h>

#include <map>
#include <mutex>
#include <nlohmann/json.hpp>

#include "daemon/alerts/routes.h"
#include "daemon/base/log.h"
#include "daemon/delivery/exporter_runner.h"
#include "daemon/delivery/history_batches.h"
#include "daemon/delivery/notifier_runner.h"
#include "daemon/delivery/plugin_receiver.h"
#include "daemon/delivery/store_outbox.h"
#include "daemon/host/plugin_place.h"
#include "daemon/metrics_of.h"

namespace coilward {
namespace {

std::string_view outcome_text(Outcome outcome) {
  return outcome == Outcome::done ? "done" : outcome == Outcome::retry ? "retry" : "refused";
}

bool sound(const DeliveryState& state) { return !state.stuck() && state.trouble.empty(); }

std::string trouble_of(const DeliveryState& state) {
  if (!state.trouble.empty() || state.failures == 0) return state.trouble;
  return fmt::format("{} failures in a row; it said: {}", state.failures, state.last_words);
}

}  // namespace

// What runners hand over to: known to their threads, emptied before the runners go.
class DeliveryLine::StandIns {
 public:
  void add(const std::string& name, NotifierRunner* runner) {
    std::lock_guard lock(mutex_);
    runners_[name] = runner;
  }
  void clear() {
    std::lock_guard lock(mutex_);
    runners_.clear();
  }
  // Queued in the file, where it is at most once; without the file from memory.
  void hand_over(const WaitingAlert& alert, const std::string& to, const std::string& state_file,
                 UtcTime now) {
    auto table = Outbox::open(state_file);
    const OutboxRow row{alert.alert, to, alert.json, now};
    const bool queued = table && table->queue(row);
    std::lock_guard lock(mutex_);
    const auto runner = runners_.find(to);
    if (runner == runners_.end()) return;
    if (queued)
      runner->second->wake();
    else
      runner->second->deliver_unsaved(waiting_alert(row));
  }

 private:
  std::mutex mutex_;
  std::map<std::string, NotifierRunner*> runners_;
};

class DeliveryLine::Parts {
 public:
  Parts(const Config& c, const Clock& k) : config(c), clock(k) {}
  const Config& config;
  const Clock& clock;
  std::vector<std::pair<const PluginUse*, std::unique_ptr<Receiver>>> notifiers, exporters;  // until started
  std::shared_ptr<StandIns> stand_in = std::make_shared<StandIns>();
  std::string state_file;
  std::map<std::string, std::unique_ptr<NotifierRunner>> running;
  std::map<std::string, std::unique_ptr<ExporterRunner>> exporting;
};

DeliveryLine::DeliveryLine(std::unique_ptr<Parts> parts) : parts_(std::move(parts)) {}
DeliveryLine::~DeliveryLine() { parts_->stand_in->clear(); }

Result<std::unique_ptr<DeliveryLine>> DeliveryLine::make(const Config& config, PluginHost& host,
                                                         const Clock& clock) {
  auto parts = std::make_unique<Parts>(config, clock);
  for (const auto& use : config.notifiers) {
    auto made = host.notifier(use.plugin, use.settings, place_of(config, use, "notifier"));
    if (!made) return made.error();
    parts->notifiers.emplace_back(&use, std::make_unique<NotifierReceiver>(std::move(*made)));
  }
  for (const auto& use : config.exporters) {
    auto made = host.exporter(use.plugin, use.settings, place_of(config, use, "exporter"));
    if (!made) return made.error();
    parts->exporters.emplace_back(&use, std::make_unique<ExporterReceiver>(std::move(*made)));
  }
  return std::unique_ptr<DeliveryLine>(new DeliveryLine(std::move(parts)));
}

void DeliveryLine::start(const std::string& state_file, const std::string& history_file) {
  const Config& config = parts_->config;
  parts_->state_file = state_file;
  for (auto& [use, receiver] : parts_->notifiers) {
    auto table = Outbox::open(state_file);
    if (!table) {
      log::error("notifier {} cannot start: {}", use->name, table.error().what);
      continue;
    }
    NotifierUse how{use->name, use->plugin, config.site.timezone, 0};
    if (const auto others = stand_ins(config, use->name); !others.empty())
      how.hand_over = [stand_in = parts_->stand_in, to = others.front(), state_file,
                       &clock = parts_->clock](const WaitingAlert& alert) {
        stand_in->hand_over(alert, to, state_file, clock.utc());
      };
    auto& runner = parts_->running[use->name];
    runner = std::make_unique<NotifierRunner>(
        how, std::move(receiver), std::make_unique<StoreOutbox>(std::move(*table), state_file, use->name),
        parts_->clock);
    parts_->stand_in->add(use->name, runner.get());
  }
  for (auto& [use, receiver] : parts_->exporters) {
    const Millis settle{static_cast<std::int64_t>(1000 * (config.history.commit_s + 60))};
    auto source = std::make_unique<HistoryBatches>(HistoryFiles{history_file, state_file}, config.site.id,
                                                   ChannelNames(config), use->name, settle);
    parts_->exporting[use->name] =
        std::make_unique<ExporterRunner>(use->name, use->plugin, std::move(receiver), std::move(source),
                                         parts_->clock, std::hash<std::string>{}(config.site.id + use->name));
  }
  parts_->notifiers.clear();
  parts_->exporters.clear();
}

void DeliveryLine::wake() {
  for (auto& [name, runner] : parts_->running) runner->wake();
  for (auto& [name, runner] : parts_->exporting) runner->wake();
}

void DeliveryLine::deliver_unsaved(const std::vector<OutboxRow>& rows) {
  for (const auto& row : rows)
    if (const auto it = parts_->running.find(row.notifier); it != parts_->running.end())
      it->second->deliver_unsaved(waiting_alert(row));
}

void DeliveryLine::test(const std::string& notifier, const std::string& alert_json,
                        std::function<void(Result<Json>)> answer) {
  const auto it = parts_->running.find(notifier);
  if (it == parts_->running.end()) {
    std::vector<std::string> names;
    for (const auto& [name, runner] : parts_->running) names.push_back(name);
    return answer(Error{Cause::not_found,
                        fmt::format("there is no notifier '{}'; configured: {}", notifier,
                                    names.empty() ? "none" : fmt::format("{}", fmt::join(names, ", ")))});
  }
  it->second->test(alert_json, [notifier, answer](const Delivered& result) {
    answer(json_result(
        {{"notifier", notifier}, {"outcome", outcome_text(result.outcome)}, {"words", result.words}}));
  });
}

std::vector<NotifierView> DeliveryLine::notifiers() const {
  std::vector<NotifierView> list;
  for (const auto& use : parts_->config.notifiers) {
    const auto it = parts_->running.find(use.name);
    if (it == parts_->running.end()) continue;
    const DeliveryState state = it->second->state();
    list.push_back({use.name, use.plugin, use.at_least, sound(state), trouble_of(state), state.done,
                    state.refused + state.given_up, state.last_attempt, state.last_words, state.tested,
                    state.test_taken, state.test_words});
  }
  return list;
}

void DeliveryLine::add_health(std::vector<HealthStage>& list) const {
  const auto add = [&](const char* kind, const DeliveryState& state) {
    list.push_back(
        {fmt::format("{} {}", kind, state.name), sound(state), trouble_of(state), state.failing_since});
  };
  for (const auto& [name, runner] : parts_->running) add("notifier", runner->state());
  for (const auto& [name, runner] : parts_->exporting) add("exporter", runner->state());
}

std::vector<DeliveryState> DeliveryLine::states() const {
  std::vector<DeliveryState> states;
  for (const auto& [name, runner] : parts_->running) states.push_back(runner->state());
  return states;
}

UtcTime DeliveryLine::oldest_waiting() const {
  auto table = Outbox::open(parts_->state_file);
  UtcTime oldest = kNever;
  if (!table) return oldest;
  for (const auto& [name, runner] : parts_->running)
    if (const auto counts = table->counts(name); counts && counts->oldest_pending != kNever)
      oldest = oldest == kNever ? counts->oldest_pending : std::min(oldest, counts->oldest_pending);
  return oldest;
}

void DeliveryLine::add_metrics(std::vector<Metric>& list) const {
  std::vector<DeliveryState> states;
  for (const auto& [name, runner] : parts_->running) states.push_back(runner->state());
  for (const auto& [name, runner] : parts_->exporting) states.push_back(runner->state());
  const auto each = [&](const char* name, const char* help, auto member) {
    for (const auto& state : states)
      add_counter(list, name, help, double(state.*member), {{"name", state.name}});
  };
  each("coilward_deliveries_done", "Alerts and batches delivered.", &DeliveryState::done);
  each("coilward_deliveries_retried", "Attempts that have to be made again.", &DeliveryState::retried);
  each("coilward_deliveries_refused", "Refused by the other side.", &DeliveryState::refused);
  each("coilward_deliveries_given_up", "Given up after a day.", &DeliveryState::given_up);
}

bool DeliveryLine::stop(std::chrono::milliseconds limit) {
  bool all = true;
  parts_->stand_in->clear();
  for (auto& [name, runner] : parts_->running) all = runner->stop(limit) && all;
  for (auto& [name, runner] : parts_->exporting) all = runner->stop(limit) && all;
  return all;
}

}  // namespace coilward
