#include <nlohmann/json.hpp>

#include "daemon/alerts/alert_case.h"

namespace coilward {
namespace {

struct NamedTime {
  const char* key;
  UtcTime AlertCase::*field;
};
constexpr NamedTime kTimes[] = {{"seen", &AlertCase::seen},
                                {"gone", &AlertCase::gone},
                                {"acknowledged_at", &AlertCase::acknowledged_at},
                                {"repeats_from", &AlertCase::repeats_from},
                                {"news_at", &AlertCase::news_at},
                                {"last_gone", &AlertCase::last_gone},
                                {"quiet_since", &AlertCase::quiet_since},
                                {"quiet_until", &AlertCase::quiet_until}};

struct NamedFlag {
  const char* key;
  bool AlertCase::*field;
};
constexpr NamedFlag kFlags[] = {{"active", &AlertCase::active},
                                {"told", &AlertCase::told},
                                {"acknowledged", &AlertCase::acknowledged},
                                {"news_is_worse", &AlertCase::news_is_worse},
                                {"flapping", &AlertCase::flapping}};

struct NamedCount {
  const char* key;
  int AlertCase::*field;
};
constexpr NamedCount kCounts[] = {
    {"repeats", &AlertCase::repeats}, {"times", &AlertCase::times}, {"quiet_level", &AlertCase::quiet_level}};

UtcTime time_from(const Json& json) {
  return json.is_null() ? kNever : parse_rfc3339(json.get<std::string>()).value_or(kNever);
}

}  // namespace

Json alert_case_to_json(const AlertCase& c) {
  Json json = {{"finding", finding_to_json(c.finding, "")}, {"acknowledged_by", c.acknowledged_by}};
  for (const auto& time : kTimes) json[time.key] = time_or_null(c.*time.field);
  for (const auto& flag : kFlags) json[flag.key] = c.*flag.field;
  for (const auto& count : kCounts) json[count.key] = c.*count.field;
  json["told_severity"] = severity_name(c.told_severity);
  json["told_zones"] = c.told_zones;
  json["told_faults"] = Json::array();
  for (Fault fault : c.told_faults) json["told_faults"].push_back(fault_name(fault));
  json["told_not_repaired"] = c.told_not_repaired;
  json["said"] = Json::array();
  for (UtcTime at : c.said) json["said"].push_back(format_rfc3339(at));
  json["ordinals"] = c.ordinals;
  json["acknowledged_until"] = time_or_null(c.acknowledged_until);
  return json;
}

AlertCase alert_case_from_json(const Json& json) {
  AlertCase c;
  c.finding = finding_from_json(json.at("finding"));
  c.acknowledged_by = json.at("acknowledged_by").get<std::string>();
  for (const auto& time : kTimes) c.*time.field = time_from(json.at(time.key));
  for (const auto& flag : kFlags) c.*flag.field = json.at(flag.key).get<bool>();
  for (const auto& count : kCounts) c.*count.field = json.at(count.key).get<int>();
  c.told_severity = severity_from_name(json.at("told_severity").get<std::string>()).value_or(Severity::watch);
  c.told_zones = json.at("told_zones").get<std::vector<int>>();
  for (const auto& name : json.at("told_faults"))
    if (auto fault = fault_from_name(name.get<std::string>())) c.told_faults.push_back(*fault);
  c.told_not_repaired = json.value("told_not_repaired", false);  // older ones did not know it
  for (const auto& at : json.at("said")) c.said.push_back(time_from(at));
  c.ordinals = json.at("ordinals").get<std::array<int, 4>>();
  if (json.contains("acknowledged_until")) c.acknowledged_until = time_from(json["acknowledged_until"]);
  return c;
}

}  // namespace coilward
