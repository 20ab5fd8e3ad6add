#include "daemon/delivery/late_words.h"

#include <fmt/format.h>

#include <nlohmann/json.hpp>

#include "daemon/alerts/site_time.h"

namespace coilward {
namespace {

UtcTime time_in(const nlohmann::ordered_json& alert, const char* key) {
  const auto it = alert.find(key);
  if (it == alert.end() || !it->is_string()) return kNever;
  return parse_rfc3339(it->get<std::string>()).value_or(kNever);
}

}  // namespace

std::string with_lateness(std::string_view alert_json, UtcTime now, const std::string& timezone) {
  auto alert = nlohmann::ordered_json::parse(alert_json, nullptr, false);
  if (!alert.is_object() || !alert.contains("raised") || !alert["raised"].is_string())
    return std::string(alert_json);
  const UtcTime raised = time_in(alert, "raised");
  const UtcTime due = std::max(raised, time_in(alert, "due"));
  const bool late = raised != kNever && now - due > kLate;
  alert["delayed"] = late;
  if (late) {
    const Words& words =
        Words::in(language_from_name(alert.value("language", "en")).value_or(Language::english));
    alert["subject"] = words.say("late.subject", {{"subject", alert.value("subject", "")},
                                                  {"clock", site_clock_time(raised, timezone)}});
    alert["text"] = words.say("late.text", {{"time", site_date_time(raised, timezone, words)},
                                            {"now", site_date_time(now, timezone, words)}}) +
                    "\n\n" + alert.value("text", "");
  }
  return alert.dump(-1, ' ', false, nlohmann::ordered_json::error_handler_t::replace);
}

}  // namespace coilward
