#include "daemon/alerts/notices.h"

#include <fmt/format.h>

#include <algorithm>
#include <nlohmann/json.hpp>

#include "daemon/alerts/site_time.h"
#include "daemon/alerts/wording.h"

namespace coilward {

void Notices::raise(const SiteTrouble& trouble, UtcTime now) {
  if (!notices_.contains(trouble.key) && notices_.size() >= kMostNotices) return;
  Notice& notice = notices_[trouble.key];
  notice.trouble = trouble;
  if (notice.lasting) return;
  notice.lasting = true;
  if (!notice.told) notice.began = now;
}

void Notices::over(std::string_view key, UtcTime) {
  if (const auto it = notices_.find(key); it != notices_.end()) it->second.lasting = false;
}

UtcTime Notices::due(const Notice& notice) {
  if (!notice.lasting && !notice.told) return kNever;
  if (!notice.lasting) return notice.last_told;  // over: at once
  if (notice.told) return notice.last_told + kNoticeRepeat;
  const UtcTime held = notice.began + kNoticeHold;
  return notice.last_told == kNever ? held : std::max(held, notice.last_told + kNoticeQuiet);
}

UtcTime Notices::next_due() const {
  UtcTime first = kNever;
  for (const auto& [key, notice] : notices_)
    if (const UtcTime at = due(notice); at != kNever && (first == kNever || at < first)) first = at;
  return first;
}

std::vector<Alert> Notices::advance(UtcTime now) {
  std::vector<Alert> alerts;
  for (auto& [key, notice] : notices_)
    if (const UtcTime at = due(notice); at != kNever && at <= now) alerts.push_back(tell(notice, now));
  return alerts;
}

Alert Notices::tell(Notice& notice, UtcTime now) const {
  const bool still = notice.lasting && notice.told;
  Alert alert;
  alert.id = fmt::format("{}.{}.{}.{}", config_->site.id, notice.trouble.key, format_compact(notice.began),
                         ++notice.messages);
  alert.kind = AlertKind::installation;
  alert.severity = notice.trouble.severity;
  alert.site = config_->site.id;
  alert.site_name = config_->site.name;
  alert.raised = now;
  alert.subject = one_line(fmt::format("[{}] {}{}", config_->site.name,
                                       still            ? "Still: "
                                       : notice.lasting ? ""
                                                        : "Over: ",
                                       notice.trouble.subject),
                           250);
  alert.text = fmt::format("{}\nSince: {}.\n", notice.trouble.subject,
                           site_date_time(notice.began, config_->site.timezone));
  alert.text =
      notice.lasting ? alert.text + "\n" + notice.trouble.text + "\n" : "This is over: " + alert.text;
  notice.lasting = notice.lasting && notice.trouble.lasts;
  notice.told = notice.lasting;
  notice.last_told = now;
  return alert;
}

Json Notices::save() const {
  Json list = Json::array();
  for (const auto& [key, n] : notices_)
    list.push_back({{"key", key},
                    {"severity", severity_name(n.trouble.severity)},
                    {"subject", n.trouble.subject},
                    {"text", n.trouble.text},
                    {"lasts", n.trouble.lasts},
                    {"lasting", n.lasting},
                    {"told", n.told},
                    {"began", time_or_null(n.began)},
                    {"last_told", time_or_null(n.last_told)},
                    {"messages", n.messages}});
  return {{"notices", std::move(list)}};
}

Result<bool> Notices::restore(const Json& saved) {
  const auto time = [](const Json& json) {
    return json.is_null() ? kNever : parse_rfc3339(json.get<std::string>()).value_or(kNever);
  };
  notices_.clear();
  try {
    for (const auto& one : saved.at("notices")) {
      Notice n;
      n.trouble = {one.at("key").get<std::string>(),
                   severity_from_name(one.at("severity").get<std::string>()).value_or(Severity::soon),
                   one.at("subject").get<std::string>(), one.at("text").get<std::string>(),
                   one.value("lasts", true)};
      n.lasting = one.at("lasting").get<bool>();
      n.told = one.at("told").get<bool>();
      n.began = time(one.at("began"));
      n.last_told = time(one.at("last_told"));
      n.messages = one.at("messages").get<int>();
      notices_[n.trouble.key] = n;
    }
  } catch (const nlohmann::json::exception& e) {
    notices_.clear();
    return Error{Cause::bad_input, fmt::format("the saved notices are not readable: {}", e.what())};
  }
  return true;
}

}  // namespace coilward
