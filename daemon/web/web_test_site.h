// The site that the tests of this folder ask: real history in a temporary directory, findings and zones as
// given, and a note of what was done to it.
#pragma once

#include <gtest/gtest.h>

#include <cstdlib>
#include <filesystem>
#include <memory>
#include <optional>

#include "daemon/history/history_store.h"
#include "daemon/requests/test_runs.h"
#include "daemon/web/site_access.h"
#include "tests/support/temporary_directory.h"

namespace coilward {

inline UtcTime test_now() { return *parse_rfc3339("2026-05-04T12:00:00Z"); }

inline Config web_test_config() {
  Config config;
  config.site = {"juniper-row-12", "Juniper Row 12", "America/Boise"};
  config.commons.push_back({"main", {2.08, 14, false}});
  config.boxes.push_back({"A", "controller", 18, -1});
  for (const int number : {1, 4}) {
    ZoneConfig zone;
    zone.number = number;
    zone.name = number == 4 ? "East <hedge> & \"lawn\"" : "Zone 1";
    zone.box = 0;
    config.zones.push_back(zone);
  }
  return config;
}

inline Finding web_test_finding(const std::string& id = "20260504-061209-z4-open_circuit") {
  Finding f;
  f.id = id;
  f.zones = {4};
  f.severity = Severity::urgent;
  f.probability = 0.984;
  f.where = {{"controller", "A", 0.61}};
  f.opened = f.updated = *parse_rfc3339("2026-05-04T06:12:09.250Z");
  f.evidence = {{"zone/4/current", 0.002, 0.231, 0.214, 0.248, "A", f.opened}};
  f.summary = "Zone 4 took no current <when> it was switched on.";
  return f;
}

// Phones in memory.
class TestPhoneDesk final : public PhoneDesk {
 public:
  Result<std::string> key(const std::string&) override { return std::string("BPublic-Key_"); }
  Result<std::vector<PhoneView>> phones(const std::string&) override { return phones_; }
  Result<bool> add(const std::string& notifier, const PhoneSubscription& subscription) override {
    if (subscription.endpoint.empty()) return Error{Cause::bad_input, "the endpoint is no https address"};
    phones_.push_back({"0123456789abcdef", subscription.label, notifier, test_now()});
    return true;
  }
  Result<bool> remove(const std::string&, const std::string& id) override {
    if (std::erase_if(phones_, [&](const PhoneView& p) { return p.id == id; }) == 0)
      return Error{Cause::not_found, "there is no such phone"};
    return true;
  }
  std::vector<PhoneView> phones_;
};

// Notes in memory; `fails` stands for a disk that takes nothing.
class TestNotesDesk final : public NotesDesk {
 public:
  void add(FieldNote note, std::string picture, std::function<void(Result<std::int64_t>)> answer) override {
    if (fails) return answer(*fails);
    note.id = static_cast<std::int64_t>(notes.size()) + 1;
    notes.push_back(note);
    pictures.push_back(std::move(picture));
    answer(note.id);
  }
  void remove(std::string finding, std::int64_t id, std::function<void(Result<bool>)> answer) override {
    const auto gone =
        std::erase_if(notes, [&](const FieldNote& n) { return n.id == id && n.finding == finding; });
    answer(gone > 0 ? Result<bool>(true) : Error{Cause::not_found, "there is no such note"});
  }
  void picture(std::int64_t id, std::function<void(Result<PictureAnswer>)> answer) override {
    for (const FieldNote& n : notes)
      if (n.id == id && !n.mime.empty())
        return answer(PictureAnswer{n.mime, pictures[static_cast<std::size_t>(id - 1)]});
    answer(Error{Cause::not_found, "there is no such picture"});
  }
  std::vector<FieldNote> notes;
  std::vector<std::string> pictures;
  std::optional<Error> fails;
};

// A walk as the test says it stands.
class TestCommissionDesk final : public CommissionDesk {
 public:
  const WalkView* view() const override { return walk ? &*walk : nullptr; }
  Result<bool> begin() override {
    walk = WalkView{};
    return true;
  }
  Result<bool> answer(int step, const std::string& text, std::function<void()> then) override {
    if (!walk || walk->step != step) return Error{Cause::conflict, "that question was answered already"};
    answers.push_back(text);
    then();
    return true;
  }
  void end() override { walk.reset(); }
  std::optional<WalkView> walk;
  std::vector<std::string> answers;
};

class WebTestSite final : public SiteAccess {
 public:
  WebTestSite() {
    for (const ZoneConfig& zone : config_.zones) {
      ZoneState state;
      state.number = zone.number;
      state.name = zone.name;
      state.state = "normal";
      state.normal = {zone.number, 0.231, 0.214, 0.248, 0.4, 0.37, 0.43, 30, false};
      zones_.push_back(state);
    }
  }

  // Writes readings and runs as the daemon would.
  void keep(const std::vector<Reading>& readings, const std::vector<Run>& finished) {
    auto store = HistoryStore::open(directory / "history.db", ChannelNames(config_));
    ASSERT_TRUE(store) << store.error().what;
    const auto kept = store->commit({readings, finished, {}});
    ASSERT_TRUE(kept) << kept.error().what;
  }

  // What takes thought is done at once, or, when the test says so, by the test.
  void aside(std::function<void()> work, std::function<void()> then) override {
    if (!put_aside) return SiteAccess::aside(std::move(work), std::move(then));
    aside_work.push_back(std::move(work));
    aside_then.push_back(std::move(then));
  }

  const Config& config() const override { return config_; }
  UtcTime now() const override { return time; }
  Json about() const override { return {{"mode", "test"}}; }
  std::vector<ZoneState> zones() const override { return zones_; }
  Result<std::vector<Finding>> findings(bool closed_too) const override {
    std::vector<Finding> list;
    for (const Finding& f : findings_)
      if (closed_too || f.is_open()) list.push_back(f);
    return list;
  }
  Result<Finding> finding(const std::string& id) const override {
    for (const Finding& f : findings_)
      if (f.id == id) return f;
    return Error{Cause::not_found, "there is no finding '" + id + "'"};
  }
  std::string acknowledged_by(const std::string&) const override { return acknowledged_by_; }
  UtcTime acknowledged_until(const std::string&) const override { return acknowledged_until_; }
  std::vector<AlertPause> pauses() const override { return running_pauses; }
  Result<std::vector<TestReadingRow>> test_readings(const std::string& finding) const override {
    std::vector<TestReadingRow> list;
    for (const TestReadingRow& row : kept_rows)
      if (row.finding == finding) list.push_back(row);
    return list;
  }
  Result<bool> keep_test_reading(const std::string& finding, const std::string& json) override {
    kept_rows.push_back({finding, test_now(), json});
    return true;
  }
  Result<std::vector<FindingChange>> finding_changes(const std::string&) const override { return changes; }
  bool test_runs_allowed() const override { return runs_allowed; }
  std::vector<TestRun> test_runs() const override { return runs.all(); }
  Result<bool> ask_test_run(int zone, int seconds, const std::string& who) override {
    const auto asked = runs.ask(zone, seconds, who, time);
    return asked ? Result<bool>(true) : asked.error();
  }
  Result<bool> end_test_run(int zone, const std::string& who) override {
    const auto asked = runs.ask_end(zone, who, time);
    return asked ? Result<bool>(true) : asked.error();
  }
  Result<HistoryReader> open_history() const override {
    return HistoryReader::open(directory / "history.db", ChannelNames(config_));
  }
  std::vector<Reading> pending_readings(Channel channel) const override {
    std::vector<Reading> list;
    for (const Reading& r : pending)
      if (r.channel == channel) list.push_back(r);
    return list;
  }
  std::vector<Run> pending_runs() const override { return waiting_runs; }
  std::vector<NotifierView> notifiers() const override { return notifiers_; }
  PhoneDesk* phone_desk() override { return &desk; }
  Result<std::vector<FieldNote>> notes(const std::string& finding) const override {
    std::vector<FieldNote> list;
    for (const FieldNote& note : kept_notes.notes)
      if (note.finding == finding) list.push_back(note);
    return list;
  }
  NotesDesk* notes_desk() override { return &kept_notes; }
  CommissionDesk* commission_desk() override { return &commission; }
  int commission_step() const override { return commission.walk ? commission.walk->step : 0; }
  std::vector<HealthStage> health() const override { return stages; }
  std::vector<Metric> metrics() const override { return counters; }

  Result<bool> acknowledge(const std::string& finding_id, const std::string& who, UtcTime until) override {
    if (auto found = finding(finding_id); !found) return found.error();
    acknowledged_by_ = who;
    acknowledged_until_ = until;
    return true;
  }
  Result<bool> pause(UtcTime until, PauseScope scope, const std::string&, const std::string&) override {
    paused_until = until;
    paused_zone = scope.zone;
    return true;
  }
  Result<bool> resume(PauseScope, const std::string&) override {
    return Error{Cause::not_found, "not paused"};
  }
  Result<bool> repaired(const RepairTarget& target, bool new_coil, const std::string&) override {
    repaired_new_coil = new_coil;
    repaired_target = target;
    return true;
  }
  void test_alert(const std::string& notifier, JsonCallback answer) override {
    waiting_alert = [notifier, answer] {
      answer(json_result({{"notifier", notifier}, {"outcome", "done"}}));
    };
  }
  void backup(const std::string& target, JsonCallback answer) override {
    answer(Error{Cause::conflict, target + " exists already"});
  }

  Config& edit_config() { return config_; }
  std::vector<ZoneState>& edit_zones() { return zones_; }

  TemporaryDirectory directory;
  UtcTime time = test_now();
  std::vector<AlertPause> running_pauses;
  std::vector<Finding> findings_;
  bool put_aside = false;
  std::vector<std::function<void()>> aside_work, aside_then;
  std::vector<NotifierView> notifiers_;
  TestPhoneDesk desk;
  TestNotesDesk kept_notes;
  TestCommissionDesk commission;
  std::vector<HealthStage> stages = {{"broker", true, "", kNever}};
  std::vector<Metric> counters;
  std::vector<Reading> pending;
  std::vector<Run> waiting_runs;
  std::vector<TestReadingRow> kept_rows;
  std::vector<FindingChange> changes;
  bool runs_allowed = false;
  TestRuns runs;
  UtcTime paused_until = kNever;
  int paused_zone = -2;
  std::optional<RepairTarget> repaired_target;
  bool repaired_new_coil = false;
  std::function<void()> waiting_alert;  // answers the test alert when called

 private:
  Config config_ = web_test_config();
  std::vector<ZoneState> zones_;
  std::string acknowledged_by_;
  UtcTime acknowledged_until_ = kNever;
};

}  // namespace coilward
