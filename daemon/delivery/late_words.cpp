#include "daemon/delivery/late_words.h"

#include <fmt/format.h>

#include <nlohmann/json.hpp>

#include "daemon/alerts/site_time.h"

namespace coilward {

std::string with_lateness(std::string_view alert_json, UtcTime now, const std::string& timezone) {
  auto alert = nlohmann::ordered_json::parse(alert_json, nullptr, false);
  if (!alert.is_object() || !alert.contains("raised") || !alert["raised"].is_string())
    return std::string(alert_json);
  const auto raised = parse_rfc3339(alert["raised"].get<std::string>());
  const bool late = raised && now - *raised > kLate;
  alert["delayed"] = late;
  if (late) {
    alert["subject"] = fmt::format("{} (delayed, happened at {})", alert.value("subject", ""),
                                   site_clock_time(*raised, timezone));
    alert["text"] = fmt::format(
        "Delayed: this happened at {}. It could not be delivered before now, {}.\n\n{}",
        site_date_time(*raised, timezone), site_date_time(now, timezone), alert.value("text", ""));
  }
  return alert.dump(-1, ' ', false, nlohmann::ordered_json::error_handler_t::replace);
}

}  // namespace coilward
