#include "daemon/alerts/pauses.h"

#include <fmt/format.h>

#include <algorithm>
#include <nlohmann/json.hpp>

namespace coilward {

Result<bool> Pauses::pause(PauseScope scope, UtcTime until, std::string who, UtcTime now) {
  if (until <= now)
    return Error{Cause::bad_input,
                 fmt::format("a pause must end later than now: {} is past", format_rfc3339(until))};
  if (until - now > kLongestPause)
    return Error{Cause::bad_input, fmt::format("a pause lasts 31 days at most; {} is later than {}",
                                               format_rfc3339(until), format_rfc3339(now + kLongestPause))};
  if (AlertPause* already = running(scope, now)) {
    already->until = until;
    already->who = std::move(who);
    return true;
  }
  pauses_.push_back({scope, now, until, std::move(who)});
  return true;
}

Result<bool> Pauses::resume(PauseScope scope, UtcTime now) {
  if (AlertPause* pause = running(scope, now)) {
    pause->until = now;
    return true;
  }
  return Error{Cause::not_found, scope.is_site() ? std::string("the site's alerts are not paused")
                                                 : fmt::format("zone {} is not paused", scope.zone)};
}

AlertPause* Pauses::running(PauseScope scope, UtcTime now) {
  for (auto& pause : pauses_)
    if (pause.scope == scope && pause.from <= now && now < pause.until) return &pause;
  return nullptr;
}

std::vector<AlertPause> Pauses::running(UtcTime now) const {
  std::vector<AlertPause> found;
  for (const auto& pause : pauses_)
    if (now < pause.until) found.push_back(pause);
  return found;
}

void Pauses::forget_ended(UtcTime now) {
  std::erase_if(pauses_, [now](const AlertPause& pause) { return now - pause.until > kRemembered; });
}

const AlertPause* Pauses::covering(PauseScope scope, UtcTime at) const {
  for (const auto& pause : pauses_)
    if (pause.scope == scope && pause.from <= at && at < pause.until) return &pause;
  return nullptr;
}

UtcTime Pauses::covered_until(const std::vector<int>& zones, UtcTime at) const {
  if (const AlertPause* site = covering(PauseScope::site(), at)) return site->until;
  if (zones.empty()) return at;
  UtcTime until = UtcTime::max();
  for (int zone : zones) {
    const AlertPause* pause = covering(PauseScope::only(zone), at);
    if (pause == nullptr) return at;
    until = std::min(until, pause->until);
  }
  return until;
}

UtcTime Pauses::may_be_said(const std::vector<int>& zones, UtcTime due) const {
  for (UtcTime at = due;;) {
    const UtcTime until = covered_until(zones, at);
    if (until == at) return at;
    at = until;
  }
}

Json Pauses::save() const {
  Json json = Json::array();
  for (const auto& pause : pauses_)
    json.push_back({{"zone", pause.scope.zone},
                    {"from", format_rfc3339(pause.from)},
                    {"until", format_rfc3339(pause.until)},
                    {"who", pause.who}});
  return json;
}

void Pauses::restore(const Json& json) {
  pauses_.clear();
  for (const auto& one : json)
    pauses_.push_back({PauseScope{one.at("zone").get<int>()},
                       parse_rfc3339(one.at("from").get<std::string>()).value_or(kNever),
                       parse_rfc3339(one.at("until").get<std::string>()).value_or(kNever),
                       one.at("who").get<std::string>()});
}

}  // namespace coilward
