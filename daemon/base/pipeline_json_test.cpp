#include "daemon/base/pipeline_json.h"

#include <gtest/gtest.h>

#include <nlohmann/json.hpp>

namespace coilward {
namespace {

Finding dead_zone() {
  Finding f;
  f.id = "20260504-061209-z4-open_circuit";
  f.fault = Fault::open_circuit;
  f.zones = {4};
  f.severity = Severity::urgent;
  f.probability = 0.984;
  f.alternatives = {{Fault::plunger_not_seated, 0.004}};
  f.where = {{"A", "B", 0.61}};
  f.opened = f.updated = *parse_rfc3339("2026-05-04T06:12:09.250Z");
  f.evidence = {
      {"zone/4/current", 0.002, 0.231, 0.214, 0.248, "A", *parse_rfc3339("2026-05-04T06:12:07.000Z")}};
  f.summary = "Zone 4 took no current when it was switched on; its neighbours are normal.";
  return f;
}

// The object of the contract, section 5, key by key and in its order.
TEST(PipelineJson, FindingIsTheContractsObject) {
  const char* expected =
      R"({"id":"20260504-061209-z4-open_circuit","site":"juniper-row-12","fault":"open_circuit","zones":[4],)"
      R"("severity":"urgent","probability":0.984,"alternatives":[{"fault":"plunger_not_seated","probability":0.004}],)"
      R"("where":[{"from":"A","to":"B","probability":0.61}],"opened":"2026-05-04T06:12:09.250Z",)"
      R"("updated":"2026-05-04T06:12:09.250Z","closed":null,"evidence":[{"channel":"zone/4/current",)"
      R"("observed":0.002,"expected":0.231,"low":0.214,"high":0.248,"unit":"A","run":"2026-05-04T06:12:07.000Z"}],)"
      R"("summary":"Zone 4 took no current when it was switched on; its neighbours are normal."})";
  EXPECT_EQ(finding_to_json(dead_zone(), "juniper-row-12").dump(), expected);
}

TEST(PipelineJson, FindingComesBack) {
  Finding f = dead_zone();
  f.closed = f.opened + Millis{5};
  f.close_reason = "repaired";
  f.common = "main";
  const Json json = finding_to_json(f, "s");
  EXPECT_EQ(finding_to_json(finding_from_json(json), "s"), json);
}

// Scripts read these names.
TEST(PipelineJson, ForecastIsAnObjectOfItsOwn) {
  Finding f = dead_zone();
  const auto day = [&](int days) { return f.opened + std::chrono::hours{24 * days}; };
  f.forecast = LiftForecast{4, {day(10), day(14), day(20)}, std::nullopt, 0.88, 31};
  const Json json = finding_to_json(f, "s");
  EXPECT_EQ(
      json["forecast"].dump(),
      R"({"zone":4,"no_longer_lifts":{"low":"2026-05-14T06:12:09.250Z","likely":"2026-05-18T06:12:09.250Z",)"
      R"("high":"2026-05-24T06:12:09.250Z"},"no_longer_holds":null,"interval":0.8,"share_now":0.88,"runs":31})");
  EXPECT_EQ(finding_to_json(finding_from_json(json), "s"), json);
  f.forecast->hold = ForecastTime{day(40), day(50), day(70)};
  const Json both = finding_to_json(f, "s");
  EXPECT_EQ(finding_to_json(finding_from_json(both), "s"), both);
}

TEST(PipelineJson, RunComesBackWithWhatWasNotMeasured) {
  coilward::Run run;
  run.zone = 7;
  run.start = from_ms(1'780'000'000'123);
  run.hold_amps = 0.2314159;
  run.ended = RunEnd::cut_out;
  run.shared_with = {1, 0};
  run.work_on_site = true;
  run.burst = {{10, 0.25F}, {20, 0.5F}};
  const Json json = run_to_json(run);
  EXPECT_TRUE(json.at("inrush_amps").is_null());
  EXPECT_EQ(run_to_json(run_from_json(json)), json);
}

TEST(PipelineJson, AlertComesBack) {
  Alert alert{"a1",          AlertKind::worse, Severity::urgent, "s",   "Site",
              {dead_zone()}, from_ms(0),       "subject",        "text"};
  const Json json = alert_to_json(alert);
  EXPECT_EQ(alert_to_json(alert_from_json(json)), json);
}

TEST(PipelineJson, NumbersAreRoundedToWhatASensorResolves) {
  EXPECT_EQ(number_or_null(0.1 + 0.2).dump(), "0.3");
  EXPECT_EQ(number_or_null(0.231).dump(), "0.231");
  EXPECT_EQ(number_or_null(-12345.678).dump(), "-12345.68");
  EXPECT_EQ(number_or_null(5e-310).dump(), Json(5e-310).dump());
  EXPECT_TRUE(number_or_null(kNotMeasured).is_null());
}

TEST(PipelineJson, EveryFaultNameComesBack) {
  for (int i = 0; i < kFaults; ++i)
    EXPECT_EQ(fault_from_name(fault_name(static_cast<Fault>(i))), static_cast<Fault>(i));
  EXPECT_FALSE(fault_from_name("valve_stuck"));
}

}  // namespace
}  // namespace coilward
