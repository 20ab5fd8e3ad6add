#include "daemon/alerts/routes.h"

#include <fmt/format.h>

#include <algorithm>
#include <nlohmann/json.hpp>
#include <utility>

#include "daemon/alerts/held_alerts.h"
#include "daemon/alerts/quiet_hours.h"

namespace coilward {
namespace {

constexpr int kSavedRoutes = 1;

template <class List, class One>
bool holds(const List& list, const One& one) {
  return std::find(list.begin(), list.end(), one) != list.end();
}

Millis in_hours(double count) { return Millis{static_cast<std::int64_t>(count * 3600e3)}; }

// Of the installation, or of nothing but sensors: no homeowner can do anything about it.
bool about_our_watching(const Alert& alert) {
  return alert.trouble || std::all_of(alert.findings.begin(), alert.findings.end(),
                                      [](const Finding& f) { return f.fault == Fault::sensor_fault; });
}

bool wakes(const Alert& alert) {
  return alert.severity == Severity::urgent &&
         (alert.kind == AlertKind::opened || alert.kind == AlertKind::worse);
}

// Leaves those that `keep` says.
void keep_findings(Alert& alert, const Routes::Unanswered& keep) {
  const auto details = tellings_of(alert);
  const auto all = std::exchange(alert.findings, {});
  alert.details.clear();
  for (std::size_t i = 0; i < all.size(); ++i)
    if (keep(all[i].id)) {
      alert.findings.push_back(all[i]);
      alert.details.push_back({details[i].worse, details[i].times, details[i].comes_and_goes});
    }
}

bool asked_for(const PersonConfig& person, const Alert& alert) {
  if (alert.severity < person.at_least) return false;
  if (alert.trouble) return person.faults.empty() || holds(person.faults, Fault::sensor_fault);
  return std::any_of(alert.findings.begin(), alert.findings.end(), [&](const Finding& f) {
    const bool zone =
        person.zones.empty() || f.zones.empty() ||
        std::any_of(f.zones.begin(), f.zones.end(), [&](int z) { return holds(person.zones, z); });
    return zone && (person.faults.empty() || holds(person.faults, f.fault));
  });
}

}  // namespace

bool Routes::wanted(const PersonConfig& person, const Alert& alert) const {
  if (alert.kind == AlertKind::test || !asked_for(person, alert)) return false;
  if (alert.trouble && person.after_h > 0) return false;  // it cannot be acknowledged
  if (person.audience != Audience::homeowner || !about_our_watching(alert)) return true;
  for (const auto& other : everyone(*config_))
    if (other.audience != Audience::homeowner && asked_for(other, alert)) return false;
  return true;
}

std::vector<std::string> Routes::others(const PersonConfig& person, const Alert& alert) const {
  std::vector<std::string> names;
  for (const auto& other : config_->people)
    if (other.name != person.name && other.audience != Audience::homeowner && other.after_h == 0 &&
        asked_for(other, alert))
      names.push_back(other.name);
  return names;
}

Listener Routes::listener(const PersonConfig& person, const Alert& alert) const {
  return {person.audience, person.language, others(person, alert), 0};
}

void Routes::alert(const Alert& alert, UtcTime now) {
  for (const auto& person : everyone(*config_)) {
    if (!wanted(person, alert)) continue;
    Desk& desk = desks_[person.name];
    if (person.after_h > 0 && !knows_already(desk, alert, now)) continue;
    hand_out(person, desk, alert, 0, now);
  }
}

// True: this person is told of it already. Otherwise it waits for an answer of the others.
bool Routes::knows_already(Desk& desk, const Alert& alert, UtcTime now) {
  const auto told = [&](const Finding& f) { return desk.told.contains(f.id); };
  const bool known = std::any_of(alert.findings.begin(), alert.findings.end(), told);
  UtcTime since = now;
  for (const auto& waiting : desk.unanswered)
    if (covers(alert, waiting.alert)) since = std::min(since, waiting.from);
  std::erase_if(desk.unanswered, [&](const Waiting& w) { return covers(alert, w.alert); });
  if (alert.kind == AlertKind::closed) {
    for (const auto& f : alert.findings) desk.told.erase(f.id);
    return known;
  }
  if (!known) desk.unanswered.push_back({alert, since});
  return known;
}

void Routes::hand_out(const PersonConfig& person, Desk& desk, const Alert& alert, double unanswered_h,
                      UtcTime now) {
  Alert latest = alert;
  for (const auto& held : desk.held)
    if (covers(alert, held.alert)) latest = merged_with(held.alert, latest);
  std::erase_if(desk.held, [&](const Waiting& w) { return covers(alert, w.alert); });
  if (!wakes(alert) && held_until(person, now) > now) {
    if (desk.held.size() >= kMostHeld) desk.held.erase(desk.held.begin());
    return desk.held.push_back({std::move(latest), now});
  }
  Listener who = listener(person, alert);
  who.unanswered_h = unanswered_h;
  send(person, latest, spoken(latest, who, *config_), now);
}

void Routes::look_at_unanswered(const PersonConfig& person, Desk& desk, const Unanswered& unanswered,
                                UtcTime now) {
  for (auto it = desk.unanswered.begin(); it != desk.unanswered.end();) {
    if (it->from + in_hours(person.after_h) > now) {
      ++it;
      continue;
    }
    Alert alert = std::move(it->alert);
    it = desk.unanswered.erase(it);
    keep_findings(alert, unanswered);
    if (alert.findings.empty()) continue;
    alert.kind = AlertKind::opened;  // to this person it is news
    for (const auto& f : alert.findings) desk.told.insert(f.id);
    hand_out(person, desk, alert, person.after_h, now);
  }
}

UtcTime Routes::held_until(const PersonConfig& person, UtcTime from) const {
  if (!person.quiet) return from;
  return quiet_until(*person.quiet, from, config_->site.timezone).value_or(from);
}

void Routes::look_at_held(const PersonConfig& person, Desk& desk, UtcTime now) {
  std::vector<Alert> due;
  UtcTime end = kNever;
  for (const auto& held : desk.held)
    if (const UtcTime until = held_until(person, held.from); until <= now) {
      due.push_back(held.alert);
      end = std::max(end, until);
    }
  if (due.empty()) return;
  std::erase_if(desk.held, [&](const Waiting& w) { return held_until(person, w.from) <= now; });
  const Spoken said = spoken_digest(due, end, listener(person, due.front()), *config_);
  send(person, due.size() == 1 ? due.front() : digest_of(due, person.name, end), said, end);
}

void Routes::send(const PersonConfig& person, const Alert& alert, const Spoken& said, UtcTime due) {
  for (const auto& name : person.by) {
    const auto notifier = std::find_if(config_->notifiers.begin(), config_->notifiers.end(),
                                       [&](const PluginUse& use) { return use.name == name; });
    if (notifier == config_->notifiers.end() || alert.severity < notifier->at_least) continue;
    const Json json = message_json(alert, said, person, due);
    ready_.push_back(
        {alert.id, name, json.dump(-1, ' ', false, Json::error_handler_t::replace), said.subject});
    return;
  }
}

std::vector<RoutedMessage> Routes::advance(UtcTime now, const Unanswered& unanswered) {
  std::set<std::string> known;
  for (const auto& person : everyone(*config_)) {
    known.insert(person.name);
    const auto desk = desks_.find(person.name);
    if (desk == desks_.end()) continue;
    look_at_unanswered(person, desk->second, unanswered, now);
    look_at_held(person, desk->second, now);
  }
  std::erase_if(desks_, [&](const auto& desk) { return !known.contains(desk.first); });
  return std::exchange(ready_, {});
}

UtcTime Routes::next_due() const {
  UtcTime first = kNever;
  const auto consider = [&first](UtcTime time) {
    if (first == kNever || time < first) first = time;
  };
  for (const auto& person : everyone(*config_)) {
    const auto desk = desks_.find(person.name);
    if (desk == desks_.end()) continue;
    for (const auto& held : desk->second.held) consider(held_until(person, held.from));
    for (const auto& waiting : desk->second.unanswered) consider(waiting.from + in_hours(person.after_h));
  }
  return first;
}

Json Routes::save() const {
  const auto list = [](const std::vector<Waiting>& all) {
    Json json = Json::array();
    for (const auto& one : all)
      json.push_back({{"alert", alert_to_json(one.alert)}, {"from", time_or_null(one.from)}});
    return json;
  };
  Json people = Json::array();
  for (const auto& [name, desk] : desks_)
    people.push_back({{"name", name},
                      {"held", list(desk.held)},
                      {"unanswered", list(desk.unanswered)},
                      {"told", desk.told}});
  return {{"routes", kSavedRoutes}, {"people", people}};
}

Result<bool> Routes::restore(const Json& saved) {
  desks_.clear();
  const auto list = [](const Json& json) {
    std::vector<Waiting> all;
    for (const auto& one : json)
      all.push_back({alert_from_json(one.at("alert")),
                     parse_rfc3339(one.at("from").get<std::string>()).value_or(kNever)});
    return all;
  };
  try {
    if (saved.at("routes").get<int>() != kSavedRoutes)
      return Error{Cause::bad_input, "routes of another version"};
    for (const auto& one : saved.at("people"))
      desks_[one.at("name").get<std::string>()] = {list(one.at("held")), list(one.at("unanswered")),
                                                   one.at("told").get<std::set<std::string>>()};
  } catch (const nlohmann::json::exception& e) {
    desks_.clear();
    return Error{Cause::bad_input, fmt::format("what waits for people is not readable: {}", e.what())};
  }
  return true;
}

}  // namespace coilward
