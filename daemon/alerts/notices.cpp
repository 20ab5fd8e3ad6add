#include "daemon/alerts/notices.h"

#include <fmt/format.h>

#include <algorithm>
#include <nlohmann/json.hpp>

#include "daemon/alerts/wording.h"

namespace coilward {
namespace {

// An id is part of a mail's Message-ID: no blank in it.
std::string dashed(std::string text) {
  std::replace(text.begin(), text.end(), ' ', '-');
  return text;
}

// Notices saved before the catalogue was brought their texts along.
std::vector<std::pair<std::string, std::string>> fields_of(const Json& saved) {
  if (saved.contains("fields"))
    return saved["fields"].get<std::vector<std::pair<std::string, std::string>>>();
  return {{"line", saved.at("subject").get<std::string>()}, {"why", saved.at("text").get<std::string>()}};
}

}  // namespace

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

void Notices::last(const std::vector<SiteTrouble>& now_lasting, UtcTime now) {
  for (const SiteTrouble& trouble : now_lasting) raise(trouble, now);
  for (auto& [key, notice] : notices_)
    if (notice.trouble.lasts &&
        std::none_of(now_lasting.begin(), now_lasting.end(),
                     [&](const SiteTrouble& t) { return t.key == notice.trouble.key; }))
      notice.lasting = false;
}

UtcTime Notices::due(const Notice& notice) const {
  if (!notice.lasting && !notice.told) return kNever;
  if (!notice.lasting) return notice.last_told;  // over: at once
  if (notice.told) return notice.last_told + kNoticeRepeat;
  const UtcTime held = notice.began + Millis{static_cast<std::int64_t>(config_->alerts.trouble_hold_s * 1e3)};
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
  Alert alert;
  alert.id = fmt::format("{}.{}.{}.{}", config_->site.id, dashed(notice.trouble.key),
                         format_compact(notice.began), ++notice.messages);
  alert.kind = AlertKind::installation;
  alert.severity = notice.trouble.severity;
  alert.site = config_->site.id;
  alert.site_name = config_->site.name;
  alert.raised = now;
  alert.trouble = AlertTrouble{notice.trouble.key, notice.trouble.fields, notice.began, notice.lasting,
                               notice.lasting && notice.told};
  const Spoken said = spoken(alert, {}, *config_);
  alert.subject = said.subject;
  alert.text = said.text;
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
                    {"fields", n.trouble.fields},
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
                   fields_of(one), one.value("lasts", true)};
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
