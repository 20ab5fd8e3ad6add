#include "daemon/alerts/alert_book.h"

#include <fmt/format.h>

#include <algorithm>
#include <nlohmann/json.hpp>
#include <tuple>
#include <utility>

#include "daemon/alerts/wording.h"

namespace coilward {
namespace {

constexpr int kSavedVersion = 1;

// Of two groups due at the same instant the more pressing is said first.
constexpr AlertKind kKinds[] = {AlertKind::worse, AlertKind::opened, AlertKind::closed, AlertKind::repeat};

// What was said together repeats together, without waiting.
Millis grouping(AlertKind kind, const AlertConfig& rules) {
  const bool grouped = kind == AlertKind::opened || kind == AlertKind::closed;
  return grouped ? Millis{static_cast<std::int64_t>(rules.group_s * 1000)} : Millis{0};
}

// FNV-1a, 32 bits: the same on every machine, unlike std::hash.
std::uint32_t fnv1a(std::string_view text, std::uint32_t hash = 2166136261u) {
  for (unsigned char c : text) hash = (hash ^ c) * 16777619u;
  return hash;
}

}  // namespace

std::string alert_id(const std::vector<Finding>& findings, AlertKind kind, int ordinal) {
  std::string id = fmt::format("{}.{}.{}", findings.front().id, alert_kind_name(kind), ordinal);
  if (findings.size() == 1) return id;
  std::uint32_t hash = fnv1a("");
  for (std::size_t i = 1; i < findings.size(); ++i) hash = fnv1a(findings[i].id + "\n", hash);
  return id + fmt::format("+{}-{:08x}", findings.size() - 1, hash);
}

void AlertBook::finding(const Finding& finding, UtcTime now) {
  catch_up(now);
  if (AlertCase* known = open_case(finding.id); known != nullptr && !finding.is_open())
    known->hear_closed(finding, now);
  else if (finding.is_open())
    if (AlertCase* c = case_for(finding)) c->hear_open(finding, now);
}

AlertCase* AlertBook::open_case(std::string_view finding_id) {
  for (auto& [key, c] : cases_)
    if (c.active && c.finding.id == finding_id) return &c;
  return nullptr;
}

// Its own case; else that of the same cause when nothing else is open there; else a new one.
AlertCase* AlertBook::case_for(const Finding& finding) {
  if (AlertCase* own = open_case(finding.id)) return own;
  std::string key = cause_key(finding);
  if (const auto it = cases_.find(key); it != cases_.end()) {
    if (!it->second.open()) return &it->second;
    key += "/" + finding.id;
  }
  if (!cases_.contains(key) && !make_room()) return nullptr;
  return &cases_[key];
}

bool AlertBook::make_room() {
  if (cases_.size() < kMaxCauses) return true;
  auto oldest = cases_.end();
  for (auto it = cases_.begin(); it != cases_.end(); ++it)
    if (!it->second.active && (oldest == cases_.end() || it->second.last_gone < oldest->second.last_gone))
      oldest = it;
  if (oldest == cases_.end()) {
    ++dropped_;
    return false;
  }
  cases_.erase(oldest);
  return true;
}

void AlertBook::forget_old(UtcTime now) {
  std::erase_if(cases_, [now](const auto& entry) {
    const AlertCase& c = entry.second;
    return !c.active && (c.last_gone == kNever || now - c.last_gone > kForgotten);
  });
  pauses_.forget_ended(now);
}

// A case's next step as pauses and the hourly limit allow it.
std::optional<AlertStep> AlertBook::step(const AlertCase& c) const {
  auto step = c.next_step(config_->alerts);
  if (!step) return step;
  const auto limit = static_cast<std::size_t>(std::max(1, config_->alerts.max_per_hour));
  if (!step->urgent_news && c.said.size() >= limit)
    step->due = std::max(step->due, c.said.front() + std::chrono::hours{1});
  if (step->kind == AlertKind::repeat && !c.flapping && !c.snoozed())
    step->due = std::max(step->due, c.repeat_time(repeat_after_pauses(c), config_->alerts));
  else
    step->due = pauses_.may_be_said(c.finding.zones, step->due);
  return step;
}

// The repeat hours that fall into a pause are left out, not put off.
int AlertBook::repeat_after_pauses(const AlertCase& c) const {
  const auto allowed = [&](int index) {
    return pauses_.may_be_said(c.finding.zones, c.repeat_time(index, config_->alerts));
  };
  int index = c.repeats;
  for (UtcTime end = allowed(index); c.repeat_time(index, config_->alerts) < end; end = allowed(index))
    while (c.repeat_time(index, config_->alerts) < end) ++index;
  return index;
}

// Before the pauses that left them out are forgotten.
void AlertBook::leave_out_repeats(UtcTime now) {
  for (auto& [key, c] : cases_) {
    const auto next = c.next_step(config_->alerts);
    if (next && next->kind == AlertKind::repeat && !c.flapping && !c.snoozed() && next->due <= now) {
      const int skipped = repeat_after_pauses(c) - c.repeats;
      c.repeats += skipped;
      c.ordinals[static_cast<std::size_t>(AlertKind::repeat)] += skipped;
    }
  }
}

std::optional<AlertBook::Group> AlertBook::next_group() const {
  std::optional<Group> first;
  for (AlertKind kind : kKinds) {
    std::vector<std::pair<UtcTime, std::string_view>> waiting;
    for (const auto& [key, c] : cases_)
      if (const auto next = step(c); next && next->kind == kind) waiting.emplace_back(next->due, key);
    if (waiting.empty()) continue;
    const UtcTime due =
        std::min_element(waiting.begin(), waiting.end())->first + grouping(kind, config_->alerts);
    if (first && first->due <= due) continue;
    first = Group{kind, due, {}};
    for (const auto& [when, key] : waiting)
      if (when <= due) first->keys.emplace_back(key);
  }
  return first;
}

void AlertBook::catch_up(UtcTime now) {
  while (const auto group = next_group()) {
    if (group->due > now) break;
    ready_.push_back(tell(*group, now));
  }
  leave_out_repeats(now);
  forget_old(now);
}

Alert AlertBook::tell(const Group& group, UtcTime now) {
  std::vector<AlertCase*> cases;
  for (const auto& key : group.keys) cases.push_back(&cases_.at(key));
  std::sort(cases.begin(), cases.end(), [](const AlertCase* a, const AlertCase* b) {
    return std::tie(b->finding.severity, a->seen, a->finding.id) <
           std::tie(a->finding.severity, b->seen, b->finding.id);
  });
  std::vector<Telling> tellings;
  Alert alert;
  alert.kind = group.kind;
  for (AlertCase* c : cases) {
    // Whoever was told the worst of it is told the rest too.
    alert.severity = std::max({alert.severity, c->finding.severity, c->told_severity});
    tellings.push_back({c->finding, c->news_is_worse, c->times, c->flapping});
    c->mark_told(group.kind, group.due, now, config_->alerts);
    if (group.kind == AlertKind::opened) tellings.back().comes_and_goes = c->flapping;
    if (group.kind == AlertKind::opened) tellings.back().times = c->times;
  }
  for (const auto& telling : tellings) {
    alert.findings.push_back(telling.finding);
    alert.details.push_back({telling.worse, telling.times, telling.comes_and_goes});
  }
  if (auto draw = draws_.of(alert.findings.front())) alert.draws.push_back(std::move(*draw));
  alert.site = config_->site.id;
  alert.site_name = config_->site.name;
  alert.raised = group.due;
  alert.id =
      alert_id(alert.findings, group.kind, cases.front()->ordinals[static_cast<std::size_t>(group.kind)]);
  const Spoken said = spoken(alert, {}, *config_);
  alert.subject = said.subject;
  alert.text = said.text;
  return alert;
}

std::vector<Alert> AlertBook::advance(UtcTime now) {
  catch_up(now);
  return std::exchange(ready_, {});
}

UtcTime AlertBook::next_due() const {
  if (!ready_.empty()) return ready_.front().raised;
  const auto group = next_group();
  return group ? group->due : kNever;
}

Result<bool> AlertBook::acknowledge(std::string_view finding_id, std::string_view who, UtcTime now,
                                    UtcTime until) {
  if (until != kNever && (until <= now || until - now > kLongestPause))
    return Error{Cause::bad_input, fmt::format("a snooze ends later than now and within 31 days: {} does not",
                                               format_rfc3339(until))};
  catch_up(now);
  AlertCase* c = open_case(finding_id);
  if (c == nullptr || !c->open())
    return Error{Cause::not_found, fmt::format("no open finding is called {}", finding_id)};
  c->acknowledge(who, now, until);
  return true;
}

UtcTime AlertBook::acknowledged_until(std::string_view finding_id) const {
  for (const auto& [key, c] : cases_)
    if (c.open() && c.finding.id == finding_id) return c.acknowledged_until;
  return kNever;
}

bool AlertBook::unanswered(std::string_view finding_id) const {
  for (const auto& [key, c] : cases_)
    if (c.open() && c.finding.id == finding_id) return !c.acknowledged;
  return false;
}

std::string AlertBook::acknowledged_by(std::string_view finding_id) const {
  for (const auto& [key, c] : cases_)
    if (c.open() && c.acknowledged && c.finding.id == finding_id) return c.acknowledged_by;
  return {};
}

Result<bool> AlertBook::pause(UtcTime until, PauseScope scope, std::string_view who, UtcTime now) {
  catch_up(now);
  if (!scope.is_site() && config_->zone(scope.zone) == nullptr)
    return Error{Cause::bad_input, fmt::format("the site has no zone {}", scope.zone)};
  return pauses_.pause(scope, until, std::string(who), now);
}

Result<bool> AlertBook::resume(PauseScope scope, std::string_view /*who*/, UtcTime now) {
  catch_up(now);
  return pauses_.resume(scope, now);
}

Json AlertBook::save() const {
  Json cases = Json::array(), ready = Json::array();
  for (const auto& [key, c] : cases_) cases.push_back({{"key", key}, {"case", alert_case_to_json(c)}});
  for (const auto& alert : ready_) ready.push_back(alert_to_json(alert));
  return {{"alert_book", kSavedVersion}, {"cases", std::move(cases)}, {"pauses", pauses_.save()},
          {"draws", draws_.save()},      {"ready", std::move(ready)}, {"dropped", dropped_}};
}

Result<bool> AlertBook::restore(const Json& saved) {
  AlertBook fresh(*config_);
  try {
    if (saved.at("alert_book").get<int>() != kSavedVersion)
      return Error{Cause::bad_input, "the alert book was saved by another version"};
    for (const auto& one : saved.at("cases"))
      fresh.cases_[one.at("key").get<std::string>()] = alert_case_from_json(one.at("case"));
    fresh.pauses_.restore(saved.at("pauses"));
    if (saved.contains("draws")) fresh.draws_.restore(saved["draws"]);
    for (const auto& alert : saved.at("ready")) fresh.ready_.push_back(alert_from_json(alert));
    fresh.dropped_ = saved.at("dropped").get<std::uint64_t>();
  } catch (const nlohmann::json::exception& e) {
    *this = AlertBook(*config_);
    return Error{Cause::bad_input, fmt::format("the saved alert book is not readable: {}", e.what())};
  }
  *this = std::move(fresh);
  return true;
}

}  // namespace coilward
