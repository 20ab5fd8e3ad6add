#include "daemon/base/pipeline_json.h"

#include <nlohmann/json.hpp>

namespace coilward {
namespace {

double double_or_nan(const Json& json, const char* key) {
  const auto it = json.find(key);
  return it == json.end() || it->is_null() ? kNotMeasured : it->get<double>();
}

UtcTime time_or_never(const Json& json, const char* key) {
  const auto it = json.find(key);
  if (it == json.end() || it->is_null()) return kNever;
  return parse_rfc3339(it->get<std::string>()).value_or(kNever);
}

template <class T>
T value_or(const Json& json, const char* key, T otherwise) {
  const auto it = json.find(key);
  return it == json.end() || it->is_null() ? otherwise : it->get<T>();
}

Json evidence_to_json(const Evidence& e) {
  return {{"channel", e.channel},
          {"observed", number_or_null(e.observed)},
          {"expected", number_or_null(e.expected)},
          {"low", number_or_null(e.low)},
          {"high", number_or_null(e.high)},
          {"unit", e.unit},
          {"run", time_or_null(e.run)}};
}

Evidence evidence_from_json(const Json& j) {
  return {value_or<std::string>(j, "channel", ""),
          double_or_nan(j, "observed"),
          double_or_nan(j, "expected"),
          double_or_nan(j, "low"),
          double_or_nan(j, "high"),
          value_or<std::string>(j, "unit", ""),
          time_or_never(j, "run")};
}

RunEnd run_end_from_name(const std::string& name) {
  for (RunEnd end : {RunEnd::running, RunEnd::switched_off, RunEnd::cut_out, RunEnd::silent})
    if (run_end_name(end) == name) return end;
  return RunEnd::switched_off;
}

AlertKind alert_kind_from_name(const std::string& name) {
  for (AlertKind kind : {AlertKind::opened, AlertKind::worse, AlertKind::repeat, AlertKind::closed,
                         AlertKind::installation, AlertKind::test, AlertKind::digest})
    if (alert_kind_name(kind) == name) return kind;
  return AlertKind::opened;
}

Json detail_to_json(const AlertDetail& d) {
  return {{"worse", d.worse}, {"times", d.times}, {"comes_and_goes", d.comes_and_goes}};
}

AlertDetail detail_from_json(const Json& j) {
  return {value_or(j, "worse", false), value_or(j, "times", 0), value_or(j, "comes_and_goes", false)};
}

Json draw_to_json(const AlertDraw& d) {
  Json amps = Json::array();
  for (double value : d.amps) amps.push_back(number_or_null(value));
  return {{"zone", d.zone}, {"amps", amps}, {"low", number_or_null(d.low)}, {"high", number_or_null(d.high)}};
}

AlertDraw draw_from_json(const Json& j) {
  AlertDraw d{j.at("zone").get<int>(), {}, double_or_nan(j, "low"), double_or_nan(j, "high")};
  for (const auto& value : j.at("amps"))
    d.amps.push_back(value.is_null() ? kNotMeasured : value.get<double>());
  return d;
}

Json trouble_to_json(const AlertTrouble& t) {
  Json fields = Json::object();
  for (const auto& [name, value] : t.fields) fields[name] = value;
  return {{"key", t.key},
          {"since", time_or_null(t.since)},
          {"lasting", t.lasting},
          {"still", t.still},
          {"fields", fields}};
}

AlertTrouble trouble_from_json(const Json& j) {
  AlertTrouble t{j.at("key").get<std::string>(),
                 {},
                 time_or_never(j, "since"),
                 value_or(j, "lasting", true),
                 value_or(j, "still", false)};
  for (const auto& [name, value] : j.at("fields").items())
    t.fields.emplace_back(name, value.get<std::string>());
  return t;
}

// The measured numbers of a run, by their JSON names.
struct RunNumber {
  const char* key;
  double Run::*field;
};
constexpr RunNumber kRunNumbers[] = {{"inrush_amps", &Run::inrush_amps},
                                     {"seat_ms", &Run::seat_ms},
                                     {"hold_amps", &Run::hold_amps},
                                     {"hold_spread_amps", &Run::hold_spread_amps},
                                     {"warm_up_per_minute", &Run::warm_up_per_minute},
                                     {"last_amps", &Run::last_amps},
                                     {"lowest_amps", &Run::lowest_amps},
                                     {"highest_amps", &Run::highest_amps},
                                     {"idle_amps", &Run::idle_amps},
                                     {"zone_volts", &Run::zone_volts},
                                     {"supply_volts", &Run::supply_volts},
                                     {"supply_volts_idle", &Run::supply_volts_idle},
                                     {"common_amps", &Run::common_amps},
                                     {"soil_celsius", &Run::soil_celsius},
                                     {"air_celsius", &Run::air_celsius}};

struct RepairNumber {
  const char* key;
  double RepairedZone::*field;
};

Json forecast_time_to_json(const ForecastTime& time) {
  return {{"low", time_or_null(time.low)},
          {"likely", time_or_null(time.likely)},
          {"high", time_or_null(time.high)}};
}

ForecastTime forecast_time_from_json(const Json& j) {
  return {time_or_never(j, "low"), time_or_never(j, "likely"), time_or_never(j, "high")};
}

constexpr RepairNumber kRepairNumbers[] = {
    {"before_amps", &RepairedZone::before_amps}, {"fault_amps", &RepairedZone::fault_amps},
    {"after_amps", &RepairedZone::after_amps},   {"low_amps", &RepairedZone::low_amps},
    {"high_amps", &RepairedZone::high_amps},     {"fault_ohms", &RepairedZone::fault_ohms},
    {"left_ohms", &RepairedZone::left_ohms}};

}  // namespace

// Seven digits are more than any sensor resolves, and keep files free of 0.23100000000000001.
Json number_or_null(double value) {
  if (!std::isfinite(value)) return nullptr;
  if (value == 0) return 0.0;
  const double scale = std::pow(10.0, 6 - std::floor(std::log10(std::abs(value))));
  const double rounded = std::round(value * scale) / scale;
  return std::isfinite(rounded) ? rounded : value;
}

Json time_or_null(UtcTime time) { return time == kNever ? Json(nullptr) : Json(format_rfc3339(time)); }

Json repaired_zone_to_json(const RepairedZone& z) {
  Json json = {
      {"zone", z.zone}, {"run", time_or_null(z.run)}, {"by_circuit", z.by_circuit}, {"cut_out", z.cut_out}};
  for (const auto& number : kRepairNumbers) json[number.key] = number_or_null(z.*number.field);
  return json;
}

RepairedZone repaired_zone_from_json(const Json& j) {
  RepairedZone z;
  z.zone = j.at("zone").get<int>();
  z.run = time_or_never(j, "run");
  z.by_circuit = value_or(j, "by_circuit", false);
  z.cut_out = value_or(j, "cut_out", false);
  for (const auto& number : kRepairNumbers) z.*number.field = double_or_nan(j, number.key);
  return z;
}

Json repair_to_json(const RepairProof& r) {
  Json zones = Json::array();
  for (const auto& zone : r.zones) zones.push_back(repaired_zone_to_json(zone));
  return {{"marked", time_or_null(r.marked)},
          {"new_coil", r.new_coil},
          {"proved", r.proved ? Json(*r.proved) : Json(nullptr)},
          {"zones", zones},
          {"words", r.words}};
}

RepairProof repair_from_json(const Json& j) {
  RepairProof r;
  r.marked = time_or_never(j, "marked");
  r.new_coil = value_or(j, "new_coil", false);
  if (const auto it = j.find("proved"); it != j.end() && it->is_boolean()) r.proved = it->get<bool>();
  for (const auto& zone : j.at("zones")) r.zones.push_back(repaired_zone_from_json(zone));
  r.words = value_or<std::string>(j, "words", "");
  return r;
}

Json forecast_to_json(const LiftForecast& f) {
  return {{"zone", f.zone},
          {"no_longer_lifts", forecast_time_to_json(f.lift)},
          {"no_longer_holds", f.hold ? forecast_time_to_json(*f.hold) : Json(nullptr)},
          {"interval", 0.8},
          {"share_now", number_or_null(f.share_now)},
          {"runs", f.runs}};
}

LiftForecast forecast_from_json(const Json& j) {
  LiftForecast f;
  f.zone = j.at("zone").get<int>();
  f.lift = forecast_time_from_json(j.at("no_longer_lifts"));
  if (const Json& hold = j.at("no_longer_holds"); hold.is_object()) f.hold = forecast_time_from_json(hold);
  f.share_now = double_or_nan(j, "share_now");
  f.runs = value_or(j, "runs", 0);
  return f;
}

Json finding_to_json(const Finding& f, std::string_view site) {
  Json alternatives = Json::array(), where = Json::array(), evidence = Json::array();
  for (const auto& a : f.alternatives)
    alternatives.push_back({{"fault", fault_name(a.fault)}, {"probability", number_or_null(a.probability)}});
  for (const auto& w : f.where)
    where.push_back({{"from", w.from}, {"to", w.to}, {"probability", number_or_null(w.probability)}});
  for (const auto& e : f.evidence) evidence.push_back(evidence_to_json(e));
  Json json = {{"id", f.id},
               {"site", site},
               {"fault", fault_name(f.fault)},
               {"zones", f.zones},
               {"severity", severity_name(f.severity)},
               {"probability", number_or_null(f.probability)},
               {"alternatives", alternatives},
               {"where", where},
               {"opened", time_or_null(f.opened)},
               {"updated", time_or_null(f.updated)},
               {"closed", time_or_null(f.closed)},
               {"evidence", evidence},
               {"summary", f.summary}};
  if (!f.common.empty()) json["common"] = f.common;
  if (!f.close_reason.empty()) json["close_reason"] = f.close_reason;
  if (f.repair) json["repair"] = repair_to_json(*f.repair);
  if (f.forecast) json["forecast"] = forecast_to_json(*f.forecast);
  return json;
}

Finding finding_from_json(const Json& j) {
  Finding f;
  f.id = j.at("id").get<std::string>();
  f.fault = fault_from_name(j.at("fault").get<std::string>()).value_or(Fault::sensor_fault);
  f.zones = j.at("zones").get<std::vector<int>>();
  f.severity = severity_from_name(j.at("severity").get<std::string>()).value_or(Severity::watch);
  f.probability = double_or_nan(j, "probability");
  for (const auto& a : j.at("alternatives"))
    f.alternatives.push_back({fault_from_name(a.at("fault").get<std::string>()).value_or(Fault::sensor_fault),
                              double_or_nan(a, "probability")});
  for (const auto& w : j.at("where"))
    f.where.push_back(
        {w.at("from").get<std::string>(), w.at("to").get<std::string>(), double_or_nan(w, "probability")});
  for (const auto& e : j.at("evidence")) f.evidence.push_back(evidence_from_json(e));
  f.opened = time_or_never(j, "opened");
  f.updated = time_or_never(j, "updated");
  f.closed = time_or_never(j, "closed");
  f.summary = value_or<std::string>(j, "summary", "");
  f.common = value_or<std::string>(j, "common", "");
  f.close_reason = value_or<std::string>(j, "close_reason", "");
  if (const auto it = j.find("repair"); it != j.end() && it->is_object()) f.repair = repair_from_json(*it);
  if (const auto it = j.find("forecast"); it != j.end() && it->is_object())
    f.forecast = forecast_from_json(*it);
  return f;
}

Json run_to_json(const Run& r) {
  Json json = {{"zone", r.zone},
               {"start", time_or_null(r.start)},
               {"end", time_or_null(r.end)},
               {"ended", run_end_name(r.ended)},
               {"commanded", r.commanded},
               {"has_command", r.has_command},
               {"inferred", r.inferred},
               {"work_on_site", r.work_on_site},
               {"readings", r.readings},
               {"dips", r.dips}};
  for (const auto& number : kRunNumbers) json[number.key] = number_or_null(r.*number.field);
  json["shared_with"] = r.shared_with;
  Json burst = Json::array();
  for (const auto& point : r.burst) burst.push_back(Json::array({point.ms, number_or_null(point.amps)}));
  json["burst"] = std::move(burst);
  return json;
}

Run run_from_json(const Json& j) {
  Run r;
  r.zone = j.at("zone").get<int>();
  r.start = time_or_never(j, "start");
  r.end = time_or_never(j, "end");
  r.ended = run_end_from_name(j.at("ended").get<std::string>());
  r.commanded = value_or(j, "commanded", false);
  r.has_command = value_or(j, "has_command", false);
  r.inferred = value_or(j, "inferred", false);
  r.work_on_site = value_or(j, "work_on_site", false);
  r.readings = value_or<std::uint32_t>(j, "readings", 0);
  r.dips = value_or<std::uint32_t>(j, "dips", 0);
  for (const auto& number : kRunNumbers) r.*number.field = double_or_nan(j, number.key);
  r.shared_with = value_or<std::vector<int>>(j, "shared_with", {});
  if (const auto it = j.find("burst"); it != j.end())
    for (const auto& point : *it)
      r.burst.push_back({point.at(0).get<std::int32_t>(), point.at(1).get<float>()});
  return r;
}

Json normal_draw_to_json(const NormalDraw& d) {
  return {{"zone", d.zone},
          {"hold_amps", number_or_null(d.hold_amps)},
          {"hold_low", number_or_null(d.hold_low)},
          {"hold_high", number_or_null(d.hold_high)},
          {"inrush_amps", number_or_null(d.inrush_amps)},
          {"inrush_low", number_or_null(d.inrush_low)},
          {"inrush_high", number_or_null(d.inrush_high)},
          {"runs", d.runs},
          {"provisional", d.provisional}};
}

NormalDraw normal_draw_from_json(const Json& j) {
  return {j.at("zone").get<int>(),         double_or_nan(j, "hold_amps"),
          double_or_nan(j, "hold_low"),    double_or_nan(j, "hold_high"),
          double_or_nan(j, "inrush_amps"), double_or_nan(j, "inrush_low"),
          double_or_nan(j, "inrush_high"), value_or<std::uint32_t>(j, "runs", 0),
          value_or(j, "provisional", true)};
}

Json alert_to_json(const Alert& a) {
  Json findings = Json::array(), details = Json::array(), draws = Json::array();
  for (const auto& f : a.findings) findings.push_back(finding_to_json(f, a.site));
  for (const auto& detail : a.details) details.push_back(detail_to_json(detail));
  for (const auto& draw : a.draws) draws.push_back(draw_to_json(draw));
  return {{"id", a.id},
          {"kind", alert_kind_name(a.kind)},
          {"severity", severity_name(a.severity)},
          {"site", a.site},
          {"site_name", a.site_name},
          {"raised", time_or_null(a.raised)},
          {"subject", a.subject},
          {"text", a.text},
          {"findings", findings},
          {"details", details},
          {"draws", draws},
          {"trouble", a.trouble ? trouble_to_json(*a.trouble) : Json(nullptr)}};
}

Alert alert_from_json(const Json& j) {
  Alert a;
  a.id = j.at("id").get<std::string>();
  a.kind = alert_kind_from_name(j.at("kind").get<std::string>());
  a.severity = severity_from_name(j.at("severity").get<std::string>()).value_or(Severity::watch);
  a.site = j.at("site").get<std::string>();
  a.site_name = j.at("site_name").get<std::string>();
  a.raised = time_or_never(j, "raised");
  a.subject = j.at("subject").get<std::string>();
  a.text = j.at("text").get<std::string>();
  for (const auto& f : j.at("findings")) a.findings.push_back(finding_from_json(f));
  if (j.contains("details"))  // alerts saved before these were known have none
    for (const auto& detail : j["details"]) a.details.push_back(detail_from_json(detail));
  if (j.contains("draws"))
    for (const auto& draw : j["draws"]) a.draws.push_back(draw_from_json(draw));
  if (j.contains("trouble") && j["trouble"].is_object()) a.trouble = trouble_from_json(j["trouble"]);
  return a;
}

}  // namespace coilward
