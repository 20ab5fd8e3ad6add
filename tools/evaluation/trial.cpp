#include "tools/evaluation/trial.h"

#include <chrono>
#include <nlohmann/json.hpp>
#include <optional>

#include "daemon/intake/intake.h"
#include "daemon/simulate/simulation.h"
#include "daemon/site_pipeline.h"
#include "tools/evaluation/rule_of_thumb.h"
#include "tools/evaluation/true_faults.h"

namespace coilward::evaluate {
namespace {

constexpr Millis kTick{1000};  // the daemon lets time pass once a second

class Stopwatch {
 public:
  explicit Stopwatch(double& sum) : sum_(sum), began_(std::chrono::steady_clock::now()) {}
  ~Stopwatch() { sum_ += std::chrono::duration<double>(std::chrono::steady_clock::now() - began_).count(); }
  Stopwatch(const Stopwatch&) = delete;
  Stopwatch& operator=(const Stopwatch&) = delete;

 private:
  double& sum_;
  std::chrono::steady_clock::time_point began_;
};

class Trial final : public PipelineListener, public simulate::SimulationWatcher {
 public:
  Trial(int index, simulate::Scenario scenario)
      : simulation_(std::move(scenario), this),
        config_(parse_config(simulate::config_text(simulation_.scenario().config), "simulated")) {
    record_.index = index;
    describe(simulation_.scenario(), record_);
  }

  SiteRecord run(bool time_intake) {
    if (!config_) return failed(config_.error().what);
    PluginHost host(config_->paths.plugins);
    auto intake = Intake::make(*config_, host), second = Intake::make(*config_, host);
    if (!intake || !second) return failed(intake ? second.error().what : intake.error().what);
    intake_ = std::move(*intake);
    pipeline_.emplace(*config_, *intake_, *this);
    for (const auto& it : simulation_.scenario().incidents)
      if (it.kind == simulate::Incident::Kind::restart) restarts_.push_back(it.begin_s);
    feed(time_intake ? second->get() : nullptr);
    record_.thumb = thumb_.take();
    record_.turns = simulation_.runs();
    record_.faults = true_faults(simulation_.scenario(), simulation_.truth(), turns_);
    note_amps(record_.faults, runs_);
    return std::move(record_);
  }

  void on_finding(const Finding& finding) override { record_.told.push_back({now_, finding}); }
  void on_run(const Run& run) override {
    runs_.push_back(run);
    thumb_.run(run, now_);
  }
  void on_command(const simulate::Command& command) override {
    if (command.on)
      turns_.push_back({command.output, command.time, -1});
    else
      for (auto it = turns_.rbegin(); it != turns_.rend(); ++it)
        if (it->output == command.output) return void(it->off_s = command.time);
  }

 private:
  SiteRecord failed(const std::string& why) {
    record_.error = why;
    return std::move(record_);
  }

  // A daemon that is stopped and started: a new pipeline goes on from what the old one saved.
  void restart_if_due() {
    if (restarts_.empty() || seconds_between(record_.start, now_) < restarts_.back()) return;
    restarts_.pop_back();
    const Json pipeline = pipeline_->save(), intake = intake_->save();
    pipeline_.emplace(*config_, *intake_, *this);
    if (const auto restored = pipeline_->restore(pipeline); !restored) record_.error = restored.error().what;
    if (const auto restored = intake_->restore(intake); !restored) record_.error = restored.error().what;
  }

  void feed(Intake* second) {
    UtcTime ticked = kNever;
    for (simulate::SimulatedMessage it; next(it); ++record_.messages) {
      const Message message{it.topic, it.payload, it.arrival, it.retained};
      if (second != nullptr) {
        const Stopwatch watch(record_.cost.intake_s);
        second->message(message);
      }
      const Stopwatch watch(record_.cost.pipeline_s);
      now_ = it.arrival;
      restart_if_due();
      if (ticked == kNever || it.arrival >= ticked + kTick) pipeline_->advance(ticked = it.arrival);
      pipeline_->message(message);
    }
    now_ = record_.end;
    pipeline_->advance(record_.end);
  }

  bool next(simulate::SimulatedMessage& message) {
    const Stopwatch watch(record_.cost.simulate_s);
    return simulation_.next(message);
  }

  SiteRecord record_;
  simulate::Simulation simulation_;
  const Result<Config> config_;
  std::unique_ptr<Intake> intake_;
  std::optional<Pipeline> pipeline_;
  std::vector<double> restarts_;
  RuleOfThumb thumb_;
  std::vector<Turn> turns_;
  std::vector<Run> runs_;
  UtcTime now_ = kNever;
};

}  // namespace

SiteRecord try_site(int index, simulate::Scenario scenario, bool time_intake) {
  return Trial(index, std::move(scenario)).run(time_intake);
}

}  // namespace coilward::evaluate
