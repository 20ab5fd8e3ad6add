#include "daemon/site_pipeline.h"

#include <algorithm>
#include <map>
#include <nlohmann/json.hpp>

#include "daemon/diagnosis/diagnosis.h"
#include "daemon/forecast/forecasts.h"
#include "daemon/runs/never_ran.h"
#include "daemon/runs/pause_watch.h"
#include "daemon/runs/run_tracker.h"
#include "daemon/runs/timetable.h"
#include "daemon/runs/work_on_site.h"

namespace coilward {
namespace {

// Raised when what is saved changes its shape; an older snapshot is then refused and the site learned anew.
constexpr int kSnapshotVersion = 9;

// A sensor or the supply's volts heard longer ago say nothing of now.
constexpr auto kHeardLately = std::chrono::hours(2);
// Zones that a programme leaves out by mistake; more is on purpose. Own judgement.
constexpr auto kMostLeftOut = 3;

bool concerns(const Finding& finding, int zone) {
  return std::find(finding.zones.begin(), finding.zones.end(), zone) != finding.zones.end();
}

}  // namespace

class Pipeline::Impl final : public RunListener {
 public:
  Impl(const Config& config, Intake& intake, PipelineListener& listener)
      : config_(config),
        intake_(intake),
        listener_(listener),
        diagnosis_(config, [this](const Finding& finding) { told(finding); }),
        runs_(config, *this),
        forecasts_(config, [this] { return normals(); }),
        never_ran_(zone_numbers(config)) {
    for (const auto& zone : config.zones) outputs_.push_back(zone.number);
    if (config.master.present) outputs_.push_back(kMasterZone);
  }

  void message(const Message& message) {
    for (const Reading& reading : intake_.message(message)) {
      listener_.on_reading(reading);
      runs_.reading(reading);
    }
    for (const auto& refused : intake_.implausible_in_last_message())
      if (!work_.covers(refused.channel.index, message.arrival))
        diagnosis_.implausible(refused.channel, refused.value,
                               std::max(message.arrival, runs_.context().now));
    advance(message.arrival);
  }

  void advance(UtcTime now) {
    runs_.advance(now);
    for (const IdleEvent& event : work_.due(now)) diagnosis_.idle(event);
    missed(timetable_.advance(now));
    watch_pause(now);
  }

  // ---- RunListener
  void on_look(const Run& as_read, Look look) override {
    Run run = as_read;
    run.work_on_site = work_.covers(run.zone, run.start, run.end);
    if (look == Look::finished) finished(run);
    if (!run.work_on_site) diagnosis_.look(run, look, runs_.context().now);
    if (look == Look::finished && !run.work_on_site) {
      forecast(run.zone);
      never_ran(never_ran_.overdue());
    }
    listener_.on_zone(run.zone);
  }

  void on_start(int zone, UtcTime start) override {
    if (zone == kMasterZone) return;
    if (!work_.covers(zone, start)) missed(timetable_.started(zone, start));
    listener_.on_zone(zone);
  }

  void on_idle(const IdleEvent& event) override {
    if (!work_.put_by(event)) diagnosis_.idle(event);
  }

  // ---- what can be asked
  ZoneState state_of(int number) const {
    const ZoneConfig& zone = *config_.zone(number);
    ZoneState state;
    state.number = number;
    state.name = zone.name;
    state.on = runs_.is_on(number);
    state.normal = diagnosis_.normal(number, runs_.context().supply_volts);
    if (const auto it = last_run_.find(number); it != last_run_.end()) state.last_run = it->second;
    state.latest_amps = runs_.latest_amps(number);
    state.latest_time = runs_.latest_time(number);
    bool silent = false;
    for (const auto& finding : diagnosis_.open_findings()) {
      if (!concerns(finding, number)) continue;
      state.findings.push_back(finding.id);
      silent = silent || finding.fault == Fault::sensor_fault;
    }
    state.state = !state.findings.empty()    ? silent && state.findings.size() == 1 ? "silent" : "fault"
                  : !state.last_run          ? "unseen"
                  : state.normal.provisional ? "learning"
                                             : "normal";
    return state;
  }

  void repaired(const std::vector<int>& zones, bool new_coil, UtcTime when) {
    forecasts_.repaired(zones);
    for (int zone : zones) work_.mended(zone, when);
    diagnosis_.repaired(zones, new_coil, when);
  }

  Json save() const {
    Json last = Json::array();
    for (const auto& [zone, run] : last_run_) last.push_back(run_to_json(run));
    return {
        {"version", kSnapshotVersion},    {"never_ran", never_ran_.save()}, {"runs", runs_.save()},
        {"timetable", timetable_.save()}, {"pauses", pauses_.save()},       {"diagnosis", diagnosis_.save()},
        {"forecasts", forecasts_.save()}, {"work", work_.save()},           {"last_runs", last}};
  }

  void restore(const Json& saved) {
    runs_.restore(saved.at("runs"));
    timetable_.restore(saved.at("timetable"));
    pauses_.restore(saved.at("pauses"));
    never_ran_.restore(saved.at("never_ran"));
    for (const auto& run : saved.at("last_runs")) {
      Run last = run_from_json(run);
      last_run_[last.zone] = std::move(last);
    }
    diagnosis_.restore(saved.at("diagnosis"));
    if (saved.contains("forecasts")) forecasts_.restore(saved["forecasts"]);
    if (saved.contains("work")) work_.restore(saved["work"]);
  }

  const Config& config_;
  Intake& intake_;
  PipelineListener& listener_;
  Diagnosis diagnosis_;
  RunTracker runs_;
  Forecasts forecasts_;
  Timetable timetable_;
  PauseWatch pauses_;
  NeverRan never_ran_;
  WorkOnSite work_;
  UtcTime next_pause_look_ = kNever;
  std::map<int, Run> last_run_;
  std::vector<int> outputs_;

 private:
  // The programme's turn when it began as one, whoever worked on it afterwards.
  void finished(const Run& run) {
    const bool in_programme = run.zone != kMasterZone && (run.readings > 0 || run.has_command) &&
                              !work_.covers(run.zone, run.start);
    if (in_programme) missed(timetable_.finished(run.zone, run.start, run.end));
    pauses_.ran(run.start, run.end);
    if (run.zone != kMasterZone && !run.work_on_site) never_ran_.ran(run.zone, run.start);
    last_run_[run.zone] = run;
    forecasts_.run(run);
    listener_.on_run(run);
  }

  void told(const Finding& finding) {
    listener_.on_finding(forecasts_.with(finding));
    for (int zone : finding.zones) listener_.on_zone(zone);
  }

  // A finding that was told within this run has been looked at.
  void forecast(int zone) {
    for (const Finding& finding : diagnosis_.open_findings())
      if (concerns(finding, zone) && forecasts_.look(finding))
        listener_.on_forecast(forecasts_.as_said(finding));
  }

  std::vector<NormalDraw> normals() const {
    std::vector<NormalDraw> list;
    for (int output : outputs_) list.push_back(diagnosis_.normal(output, runs_.context().supply_volts));
    return list;
  }

  // Silence counts while the sensors are heard, and nothing is on.
  void watch_pause(UtcTime now) {
    if (now < next_pause_look_) return;
    next_pause_look_ = now + std::chrono::minutes(1);
    const bool heard = std::any_of(outputs_.begin(), outputs_.end(),
                                   [&](int zone) { return runs_.latest_time(zone) > now - kHeardLately; });
    if (!heard || runs_.any_on() || work_.covers(WorkOnSite::kEverything, now)) return;
    const UtcTime since = pauses_.silent_since(now, runs_.heard_again());
    if (since == kNever) return;
    const bool commanded =
        std::any_of(outputs_.begin(), outputs_.end(), [&](int zone) { return runs_.has_command(zone); });
    const SiteContext& site = runs_.context();
    const bool fresh = site.supply_time != kNever && site.supply_time > now - kHeardLately;
    diagnosis_.all_silent(since, commanded, fresh ? site.supply_volts : kNotMeasured, now);
  }

  static std::vector<int> zone_numbers(const Config& config) {
    std::vector<int> numbers;
    for (const auto& zone : config.zones) numbers.push_back(zone.number);
    return numbers;
  }

  // Those whose switching is known were never switched on; of the others only that is known that they drew
  // nothing.
  void never_ran(const std::vector<int>& zones) {
    std::vector<int> silent;
    for (int zone : zones) {
      if (has_finding(zone)) continue;
      if (runs_.tells_switching(zone))
        diagnosis_.never_ran({zone}, true, runs_.context().now);
      else if (runs_.latest_time(zone) != kNever)
        silent.push_back(zone);
    }
    if (!silent.empty()) diagnosis_.never_ran(silent, false, runs_.context().now);
  }

  bool has_finding(int zone) const {
    const auto& open = diagnosis_.open_findings();
    return std::any_of(open.begin(), open.end(),
                       [&](const Finding& finding) { return concerns(finding, zone); });
  }

  // So many that were not switched on, all at once, are another programme.
  void missed(const std::vector<TurnMissed>& turns) {
    const auto left_out = std::count_if(
        turns.begin(), turns.end(), [&](const TurnMissed& turn) { return runs_.tells_switching(turn.zone); });
    for (const TurnMissed& turn : turns)
      if (left_out <= kMostLeftOut || !runs_.tells_switching(turn.zone)) missed(turn);
  }

  // Where its switching is known, it was not switched on. Where not, the zone is looked at as a run of what
  // its sensor said.
  void missed(const TurnMissed& turn) {
    const UtcTime now = runs_.context().now;
    if (work_.covers(turn.zone, turn.start, turn.end)) return;
    // What passed while nothing was heard of the site may well have run.
    if (turn.start < runs_.heard_again()) return;
    if (turn.skipped || runs_.tells_switching(turn.zone)) {
      const bool without_gap = turn.skipped || turn.beside;
      if (without_gap ? (turn.skipped || turn.again) && !has_finding(turn.zone) : turn.gap_seen)
        diagnosis_.missed(turn.zone, turn.start, !without_gap, now);
      return;
    }
    Run run;
    run.zone = turn.zone;
    run.start = turn.start;
    run.end = turn.end;
    run.inferred = true;
    run.ended = turn.gap_seen ? RunEnd::switched_off : RunEnd::silent;
    const double idle = runs_.idle_amps(turn.zone);
    run.hold_amps = run.idle_amps = measured(idle) ? idle : 0;
    run.hold_spread_amps = 0;
    run.common_amps = runs_.returned_unseen(turn.zone, turn.start, turn.end);
    diagnosis_.look(run, Look::finished, now);
    listener_.on_zone(turn.zone);
  }
};

Pipeline::Pipeline(const Config& config, Intake& intake, PipelineListener& listener)
    : impl_(std::make_unique<Impl>(config, intake, listener)) {}
Pipeline::~Pipeline() = default;
void Pipeline::message(const Message& message) { impl_->message(message); }
void Pipeline::advance(UtcTime now) { impl_->advance(now); }

std::vector<ZoneState> Pipeline::zones() const {
  std::vector<ZoneState> list;
  for (int output : impl_->outputs_) list.push_back(impl_->state_of(output));
  return list;
}

Silence Pipeline::silence() const { return impl_->runs_.silence(); }

std::vector<Finding> Pipeline::open_findings() const {
  std::vector<Finding> list;
  for (const Finding& finding : impl_->diagnosis_.open_findings())
    list.push_back(impl_->forecasts_.as_said(finding));
  return list;
}

Result<bool> Pipeline::repaired_zone(int zone, bool new_coil, UtcTime when) {
  if (!impl_->config_.zone(zone))
    return Error{Cause::not_found, "there is no zone " + std::to_string(zone) + " in the configuration"};
  impl_->repaired({zone}, new_coil, when);
  return true;
}

Result<bool> Pipeline::repaired_common(std::string_view common, bool new_coil, UtcTime when) {
  const int position = impl_->config_.common_by_id(common);
  if (position < 0)
    return Error{Cause::not_found, "there is no common '" + std::string(common) + "' in the configuration"};
  std::vector<int> zones;
  for (const auto& zone : impl_->diagnosis_.site().zones)
    if (zone.common == position) zones.push_back(zone.zone);
  impl_->repaired(zones, new_coil, when);
  return true;
}

void Pipeline::work_on_site(int zone, UtcTime from, UtcTime until) {
  impl_->work_.announce(zone, from, until);
}

Json Pipeline::save() const { return impl_->save(); }

Result<bool> Pipeline::restore(const Json& saved) {
  try {
    if (saved.at("version") != kSnapshotVersion)
      return Error{Cause::bad_input, "the saved state is of another version"};
    impl_->restore(saved);
    return true;
  } catch (const nlohmann::json::exception& wrong) {
    return Error{Cause::bad_input, std::string("the saved state cannot be read: ") + wrong.what()};
  }
}

}  // namespace coilward
