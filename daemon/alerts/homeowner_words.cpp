#include <fmt/format.h>

#include <algorithm>

#include "daemon/alerts/alert_case.h"
#include "daemon/alerts/audience_words.h"
#include "daemon/alerts/site_time.h"

namespace coilward {
namespace {

constexpr std::size_t kMostByName = 4;  // more zones than this are numbers only

bool about_site(const Finding& f) {
  return f.fault == Fault::supply_low || f.fault == Fault::supply_lost || f.zones.empty();
}

std::string zone_by_name(int number, const Config& config, const Words& words) {
  if (number == kMasterZone) return words.text("homeowner.master");
  const ZoneConfig* zone = config.zone(number);
  const bool named = zone != nullptr && !zone->name.empty() && zone->name != fmt::format("Zone {}", number);
  if (!named) return words.say("homeowner.zone", {{"number", std::to_string(number)}});
  return words.say("homeowner.zone_named",
                   {{"name", one_line(zone->name, 60)}, {"number", std::to_string(number)}});
}

std::string parts_of_garden(const Finding& f, const Config& config, const Words& words) {
  if (f.zones.empty()) return words.text("homeowner.site");
  if (f.zones.size() > kMostByName && f.zones.front() != kMasterZone)
    return zones_in_words(f.zones, config, words);
  std::vector<std::string> names;
  for (int zone : f.zones) names.push_back(zone_by_name(zone, config, words));
  return listed(names, words);
}

std::string with_opening(const Telling& telling, AlertKind kind, const std::string& line,
                         const Words& words) {
  const bool news = kind == AlertKind::worse;
  const char* key = news && not_repaired(telling.finding) ? "homeowner.not_repaired"
                    : news && telling.worse               ? "homeowner.worse"
                    : news                                ? "homeowner.renamed"
                    : telling.comes_and_goes              ? "homeowner.comes_and_goes"
                    : kind == AlertKind::repeat           ? "homeowner.repeat"
                                                          : nullptr;
  return key ? words.say(key, {{"line", line}}) : line;
}

std::string ending(const Finding& f, const Config& config, const Words& words) {
  const std::string who = about_site(f) ? words.text("homeowner.site") : parts_of_garden(f, config, words);
  if (repair_proved(f)) return words.say("homeowner.repaired", {{"who", who}});
  if (withdrawn(f)) return words.say("homeowner.taken_back", {{"who", who}});
  return about_site(f) ? words.text("homeowner.over_site") : words.say("homeowner.over", {{"who", who}});
}

std::string first_line(const Telling& telling, AlertKind kind, const Config& config, const Words& words) {
  const Finding& f = telling.finding;
  if (kind == AlertKind::closed) return ending(f, config, words);
  const auto line =
      words.say(fmt::format("homeowner.what.{}.{}", f.zones.size() > 1 ? "many" : "one", fault_name(f.fault)),
                {{"who", parts_of_garden(f, config, words)}});
  return with_opening(telling, kind, line, words);
}

std::string closed_section(const Finding& f, const Config& config, const Words& words) {
  const auto at = [&](UtcTime time) { return site_date_time(time, config.site.timezone, words); };
  if (withdrawn(f)) return words.say("homeowner.taken_back_text", {{"began", at(f.opened)}}) + "\n";
  return words.say("homeowner.over_text", {{"began", at(f.opened)}, {"ended", at(f.closed)}}) + "\n";
}

// After "One day this part will stop".
std::string weeks_line(const Finding& f, UtcTime told, const Words& words) {
  if (!f.forecast) return {};
  const auto weeks = std::lround(seconds_between(told, f.forecast->lift.likely) / (7 * 86'400));
  if (weeks < 2) return words.text("homeowner.forecast_soon") + "\n";
  return words.say("homeowner.forecast", {{"weeks", std::to_string(weeks)}}) + "\n";
}

std::string open_section(const Telling& telling, UtcTime told, const Config& config, const Words& words) {
  const Finding& f = telling.finding;
  const auto of_fault = [&](const char* table) {
    return words.text(fmt::format("homeowner.{}.{}", table, fault_name(f.fault))) + "\n";
  };
  std::string text =
      words.say("homeowner.since", {{"time", site_date_time(f.opened, config.site.timezone, words)}});
  text += "\n" + of_fault("garden") + weeks_line(f, told, words) + "\n" + of_fault("do");
  if (telling.comes_and_goes) text += words.text("homeowner.quiet") + "\n";
  return text;
}

// The finding's id without the fault's name: enough to find it by, and read out over a telephone.
std::string number_of(const Finding& f) {
  const std::string tail = fmt::format("-{}", fault_name(f.fault));
  return f.id.ends_with(tail) ? f.id.substr(0, f.id.size() - tail.size()) : f.id;
}

std::string who_knows(const Finding& f, const Listener& listener, const Words& words) {
  if (listener.others.empty()) return words.say("homeowner.not_told", {{"number", number_of(f)}}) + "\n";
  return words.say(listener.others.size() > 1 ? "homeowner.told_several" : "homeowner.told",
                   {{"names", listed(listener.others, words)}}) +
         "\n";
}

std::string subject_of(const std::vector<Telling>& tellings, AlertKind kind, const Config& config,
                       const Words& words) {
  std::string line = first_line(tellings.front(), kind, config, words);
  if (line.ends_with('.')) line.pop_back();
  if (tellings.size() > 1) line += words.say("list.more", {{"count", std::to_string(tellings.size() - 1)}});
  return one_line(words.say("homeowner.subject", {{"site", config.site.name}, {"line", line}}),
                  kLongestSubject);
}

}  // namespace

Spoken homeowner_words(const std::vector<Telling>& tellings, const Alert& alert, const Listener& listener,
                       const Config& config) {
  const Words& words = Words::in(listener.language);
  Spoken said{subject_of(tellings, alert.kind, config, words), {}};
  if (listener.unanswered_h > 0)
    said.text =
        words.say("homeowner.nobody_answers", {{"hours", fmt::format("{:g}", listener.unanswered_h)}}) +
        "\n\n";
  const char* joint = "";
  for (const auto& telling : tellings) {
    said.text += joint + first_line(telling, alert.kind, config, words) + "\n";
    said.text += alert.kind == AlertKind::closed ? closed_section(telling.finding, config, words)
                                                 : open_section(telling, alert.raised, config, words);
    joint = "\n";
  }
  if (alert.kind == AlertKind::closed) return said;
  said.text += "\n" + words.text(fmt::format("homeowner.{}", severity_name(alert.severity))) + "\n";
  said.text += who_knows(tellings.front().finding, listener, words);
  return said;
}

}  // namespace coilward
