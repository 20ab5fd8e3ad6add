#include "daemon/diagnosis/event_claims.h"

#include <fmt/format.h>

#include <algorithm>
#include <nlohmann/json.hpp>
#include <utility>

#include "daemon/diagnosis/claims.h"
#include "daemon/diagnosis/wording.h"
#include "daemon/locate/places.h"

namespace coilward {
namespace {

// How sure an event makes: common practice, to be replaced by counts from the field.
constexpr double kSilentRun = 0.93, kStale = 0.95, kFrozen = 0.95, kOffset = 0.9, kImplausible = 0.97,
                 kMovedZero = 0.85, kStuck = 0.95, kMissed = 0.85, kSkipped = 0.75;
// A leaking output's current is a good part of the coil's; a moved zero is a few hundredths of an amp.
constexpr double kZeroShare = 0.35;
// An output that is stuck drives its coil as ever; what is well off that may be either (own judgement).
constexpr double kAsOnLeast = 0.8, kAsOnMost = 1.25, kLeaks = 0.6;
const std::string kAllSilent = "event/all_silent";
// The joint diagnosis's own key: told once, whichever notices first.
const std::string kSupplyLost = "supply/supply_lost";
constexpr double kDeadSupply = 0.95;
// All silent: the supply, the common at the controller, or switched off on purpose (own judgement, by how
// often each is met).
constexpr double kSilentSupply = 0.5, kSilentCommon = 0.25, kSilentCommonWithVolts = 0.6,
                 kNotSwitchedOn = 0.6;

// Never seen to draw: broken before the watch began, or in no programme (own judgement).
const std::string kNeverRan = "event/never_ran";
constexpr double kNeverDrew = 0.6, kNeverDrewBeyond = 0.7;

int zone_of(Channel channel) {
  return channel.kind == ChannelKind::master_current ? kMasterZone : channel.index;
}
std::string subject_of(int zone) { return zone == kMasterZone ? "master" : fmt::format("z{}", zone); }
std::string current_of(int zone) {
  return zone == kMasterZone ? "master/current" : fmt::format("zone/{}/current", zone);
}

Evidence amps(int zone, double observed, double expected, UtcTime run) {
  Evidence e;
  e.channel = current_of(zone);
  e.observed = observed;
  e.expected = expected;
  e.unit = "A";
  e.run = run;
  return e;
}

}  // namespace

// What concerns no one output: the link, the supply. false: it is an output's.
bool EventClaims::of_site(const IdleEvent& event) {
  switch (event.kind) {
    case IdleKind::link_silent:
    case IdleKind::link_back:
      link_silent_ = event.kind == IdleKind::link_silent;
      stale_changed(event.now);
      return true;
    case IdleKind::supply_lost:
      supply_lost(event);
      return true;
    case IdleKind::supply_back:
      book_.clear(kSupplyLost, "the volts are back", event.now);
      return true;
    default:
      if (event.channel.kind != ChannelKind::supply_voltage) return false;
      stale_supply_ = event.kind == IdleKind::stale;
      stale_changed(event.now);
      return true;
  }
}

void EventClaims::idle(const IdleEvent& event, const std::function<double(int)>& normal_of) {
  if (of_site(event)) return;
  const int zone = zone_of(event.channel);
  const std::string key = "event/" + subject_of(zone);
  switch (event.kind) {
    case IdleKind::uncommanded:
      uncommanded(event, normal_of(zone));
      break;
    case IdleKind::uncommanded_over:
      uncommanded_.erase(zone);
      book_.clear(key + "/stuck_on", "no current while off any more", event.now);
      book_.clear(key + "/zero", "reads nothing while off again", event.now);
      break;
    case IdleKind::never_heard:
      unheard_.insert(zone);
      [[fallthrough]];
    case IdleKind::stale:
      stale_.insert(zone);
      stale_changed(event.now);
      break;
    case IdleKind::heard_again:
      unheard_.erase(zone);
      if (stale_.erase(zone) > 0) stale_changed(event.now);
      frozen_.erase(zone);
      book_.clear(key + "/frozen", "its readings vary again", event.now);
      break;
    case IdleKind::frozen:
      frozen_.insert(zone);
      sensor("frozen", zone, kFrozen, event.value, kNotMeasured, "It says the same digits over and over.",
             event.now);
      book_.clear(key + "/stuck_on", "the sensor is frozen", event.now);
      break;
    case IdleKind::offset:
      sensor("zero", zone, kOffset, event.value, event.expected,
             fmt::format("With nothing on it reads {:.3f} A; it used to read {:.3f} A.", event.value,
                         event.expected),
             event.now);
      break;
    default:  // of_site's
      break;
  }
}

void EventClaims::uncommanded(const IdleEvent& event, double normal) {
  const int zone = zone_of(event.channel);
  const double share = event.value / normal;
  uncommanded_[zone] = event.value;
  if (share < kZeroShare) {
    sensor("zero", zone, kMovedZero, event.value, event.expected,
           fmt::format("With nothing on it reads {:.3f} A.", event.value), event.now);
    return;
  }
  const bool as_on = share > kAsOnLeast && share < kAsOnMost;
  const double probability = as_on ? kStuck : kLeaks;
  Claim claim =
      make_claim("event/" + subject_of(zone) + "/stuck_on", subject_of(zone), Fault::stuck_on, {zone},
                 probability, share, fmt::format("It carries {:.3f} A with the command off.", event.value));
  claim.content.alternatives = {{Fault::sensor_fault, 1 - probability}};
  claim.content.evidence = {amps(zone, event.value, 0, event.since)};
  book_.raise(claim, event.now);
}

double EventClaims::uncommanded_amps(int zone) const {
  const auto it = uncommanded_.find(zone);
  return it == uncommanded_.end() ? kNotMeasured : it->second;
}

// One finding from first to last, whatever it was taken for.
void EventClaims::zero_moved(int zone, UtcTime now) {
  const std::string subject = subject_of(zone), key = "event/" + subject + "/stuck_on";
  if (!book_.is_open(key)) return;
  const double zero = uncommanded_amps(zone);
  Claim claim = make_claim(key, subject, Fault::sensor_fault, {zone}, kOffset, 1,
                           fmt::format("It reads {:.3f} A too much, with the zone on and off.", zero));
  claim.content.alternatives = {{Fault::stuck_on, 1 - kOffset}};
  claim.content.evidence = {amps(zone, zero, 0, kNever)};
  book_.raise(claim, now);
}

void EventClaims::sensor(const std::string& what, int zone, double probability, double observed,
                         double expected, const std::string& detail, UtcTime now) {
  Claim claim = make_claim("event/" + subject_of(zone) + "/" + what, subject_of(zone), Fault::sensor_fault,
                           {zone}, probability, 1, detail);
  claim.content.evidence = {amps(zone, observed, expected, kNever)};
  book_.raise(claim, now);
}

std::vector<int> EventClaims::all_zones() const {
  std::vector<int> all;
  for (const auto& zone : config_.zones) all.push_back(zone.number);
  std::sort(all.begin(), all.end());
  return all;
}

std::vector<int> EventClaims::all_outputs() const {
  std::vector<int> all = all_zones();
  if (config_.master.present) all.insert(all.begin(), kMasterZone);
  return all;
}

// However many sensors go quiet, it is one thing to look after: the sensors, their power or the link.
void EventClaims::stale_changed(UtcTime now) {
  if (stale_.empty() && !stale_supply_ && !link_silent_) {
    book_.clear("event/stale", "heard again", now);
    return;
  }
  std::vector<int> zones(stale_.begin(), stale_.end());
  if (link_silent_) zones = all_outputs();
  const bool all = link_silent_ || zones.size() == all_outputs().size();
  const std::string detail =
      zones.empty() ? "The supply voltage sensor has gone quiet."
      : all && zones.size() > 1
          ? "Nothing is heard from any of them: look at the link and the sensors' power first."
      : zones.size() == unheard_.size()
          ? "It was switched on more than once and its sensor has never said anything: look at its topic and "
            "its power."
          : "Nothing has been heard for three of its usual intervals.";
  Claim claim = make_claim("event/stale", zones.size() == 1 ? subject_of(zones[0]) : "sensors",
                           Fault::sensor_fault, zones, kStale, 1, detail);
  for (int zone : zones) claim.content.evidence.push_back(amps(zone, kNotMeasured, kNotMeasured, kNever));
  book_.raise(claim, now);
}

void EventClaims::silent(const Run& run, UtcTime now) {
  const std::string key = "event/" + subject_of(run.zone) + "/silent";
  if (stale_.contains(run.zone) || book_.is_open(key)) return;
  Claim claim = make_claim(key, subject_of(run.zone), Fault::sensor_fault, {run.zone}, kSilentRun, 1,
                           "It was switched on and its sensor said nothing.");
  claim.content.evidence = {amps(run.zone, kNotMeasured, kNotMeasured, run.start)};
  book_.raise(claim, now);
}

void EventClaims::heard_run(const Run& run, UtcTime now) {
  if (run.inferred) return;
  if (std::exchange(all_silent_, false)) book_.clear(kAllSilent, "it runs again", now);
  const std::string key = "event/" + subject_of(run.zone);
  book_.clear(key + "/silent", "heard again", now);
  book_.clear(key + "/missed_run", "it ran again", now);
  book_.clear(key + "/never_ran", "it ran", now);
  book_.clear(kNeverRan, "one of them ran", now);
  book_.clear(key + "/out_of_range", "its readings are possible again", now);
}

void EventClaims::implausible(Channel channel, double value, UtcTime now) {
  if (channel.kind == ChannelKind::supply_voltage) {
    Claim claim = make_claim("event/supply/out_of_range", "supply", Fault::sensor_fault, {}, kImplausible, 1,
                             fmt::format("It reads {:.6g}, which cannot be.", value));
    claim.content.evidence = {
        Evidence{"supply/voltage", value, kNotMeasured, kNotMeasured, kNotMeasured, "V", kNever}};
    book_.raise(claim, now);
    return;
  }
  if (channel.kind != ChannelKind::zone_current && channel.kind != ChannelKind::master_current) return;
  if (!config_.zone(zone_of(channel))) return;
  sensor(
      "out_of_range", zone_of(channel), kImplausible, value, kNotMeasured,
      fmt::format("It reads {:.6g} A, which cannot be{}.", value, value > 30 ? ": are these milliamps?" : ""),
      now);
}

void EventClaims::missed(int zone, UtcTime expected, bool left_time, UtcTime now) {
  const std::string detail =
      left_time
          ? fmt::format("Its turn was at {}.", format_rfc3339(expected))
          : "The others ran without it, more than once. If it was taken out of the programme, all is well.";
  Claim claim = make_claim("event/" + subject_of(zone) + "/missed_run", subject_of(zone), Fault::missed_run,
                           {zone}, left_time ? kMissed : kSkipped, 1, detail);
  if (left_time) claim.content.alternatives = {{Fault::open_circuit, 0.1}};
  claim.content.evidence = {amps(zone, kNotMeasured, kNotMeasured, expected)};
  book_.raise(claim, now);
}

void EventClaims::never_ran(int zone, bool commanded, UtcTime now) {
  const Fault fault = commanded ? Fault::missed_run : Fault::open_circuit;
  const double probability = commanded ? kSkipped : kNeverDrew;
  Claim claim = make_claim("event/" + subject_of(zone) + "/never_ran", subject_of(zone), fault, {zone},
                           probability, 1, "");
  // Not sure enough for the fault's own sentence.
  claim.content.summary = fmt::format(
      "{} has not {} once since the watch began, though others ran for over a week. "
      "Most likely {}. If it is in no programme, all is well.",
      zones_text({zone}), commanded ? "been switched on" : "drawn current",
      commanded ? "it is missing from the programme" : "its wire or its coil is broken");
  if (!commanded) claim.content.alternatives = {{Fault::missed_run, 0.9 - probability}};
  claim.content.evidence = {amps(zone, commanded ? kNotMeasured : 0, kNotMeasured, kNever)};
  book_.raise(claim, now);
}

void EventClaims::never_ran_beyond(const CommonSegment& segment, const std::vector<int>& zones, UtcTime now) {
  const std::string id = config_.commons[static_cast<std::size_t>(segment.common)].id;
  Claim claim = make_claim(kNeverRan, id, Fault::failed_common, zones, kNeverDrewBeyond, 1, "");
  claim.content.summary = fmt::format(
      "{} have not drawn current once since the watch began, though others ran for over a week. "
      "Most likely their common is broken. If they are in no programme, all is well.",
      zones_text(zones));
  claim.content.alternatives = {{Fault::missed_run, 0.95 - kNeverDrewBeyond}};
  claim.content.common = id;
  claim.content.where = {stretch_to(config_, segment.box, 1)};
  for (int zone : zones) claim.content.evidence.push_back(amps(zone, 0, kNotMeasured, kNever));
  book_.raise(claim, now);
}

void EventClaims::supply_lost(const IdleEvent& event) {
  Claim claim = make_claim(kSupplyLost, "supply", Fault::supply_lost, all_zones(), kDeadSupply, 0,
                           fmt::format("It has read {:.1f} V for a quarter of an hour.", event.value));
  claim.content.alternatives = {{Fault::sensor_fault, 1 - kDeadSupply}};
  claim.content.evidence = {
      Evidence{"supply/voltage", event.value, kNotMeasured, kNotMeasured, kNotMeasured, "V", kNever}};
  book_.raise(claim, event.now);
}

void EventClaims::all_silent(UtcTime since, bool commanded, double supply_volts, UtcTime now) {
  if (book_.is_open(kSupplyLost)) return;
  const bool volts = measured(supply_volts);
  const Fault fault = commanded ? Fault::missed_run : volts ? Fault::failed_common : Fault::supply_lost;
  const double probability = commanded ? kNotSwitchedOn : volts ? kSilentCommonWithVolts : kSilentSupply;
  Claim claim = make_claim(kAllSilent, "site", fault, all_zones(), probability, 0, "");
  // Not sure enough for the fault's own sentence.
  claim.content.summary = fmt::format(
      "{}: nothing has {} for {:.0f} days, longer than any pause or rain delay. Most likely {}. If it was "
      "switched off on purpose, all is well.",
      zones_text(all_zones()), commanded ? "been switched on" : "drawn current",
      seconds_between(since, now) / 86400,
      commanded ? "the controller does not start them"
      : volts   ? "the common is broken at the controller"
                : "the transformer's low side is dead");
  if (!commanded && !volts) claim.content.alternatives.push_back({Fault::failed_common, kSilentCommon});
  if (!commanded) claim.content.alternatives.push_back({Fault::missed_run, 0.25});
  if (fault == Fault::failed_common && config_.commons.size() == 1)
    claim.content.common = config_.commons[0].id;
  for (int zone : all_zones()) claim.content.evidence.push_back(amps(zone, 0, kNotMeasured, since));
  book_.raise(claim, now);
  all_silent_ = true;
}

Json EventClaims::save() const {
  return {{"stale", std::vector<int>(stale_.begin(), stale_.end())},
          {"frozen", std::vector<int>(frozen_.begin(), frozen_.end())},
          {"stale_supply", stale_supply_},
          {"link_silent", link_silent_},
          {"unheard", std::vector<int>(unheard_.begin(), unheard_.end())},
          {"uncommanded", uncommanded_},
          {"all_silent", all_silent_}};
}

void EventClaims::restore(const Json& saved) {
  const auto stale = saved.at("stale").get<std::vector<int>>();
  stale_ = {stale.begin(), stale.end()};
  const auto frozen = saved.at("frozen").get<std::vector<int>>();
  frozen_ = {frozen.begin(), frozen.end()};
  stale_supply_ = saved.at("stale_supply");
  link_silent_ = saved.at("link_silent");
  const auto unheard = saved.at("unheard").get<std::vector<int>>();
  unheard_ = {unheard.begin(), unheard.end()};
  all_silent_ = saved.at("all_silent");
  uncommanded_ = saved.value("uncommanded", uncommanded_);
}

}  // namespace coilward
