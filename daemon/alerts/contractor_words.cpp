// For someone with many sites: one line a finding, with site and severity in front, so that lines of many
// sites sort into a list of visits.
#include <fmt/format.h>

#include <algorithm>
#include <set>
#include <span>
#include <tuple>

#include "daemon/alerts/audience_words.h"
#include "daemon/alerts/contractor_digest.h"
#include "daemon/alerts/fault_words.h"
#include "daemon/alerts/site_time.h"

namespace coilward {
namespace {

std::string severity_word(Severity severity, const Words& words) {
  return words.text(fmt::format("severity.{}", severity_name(severity)));
}

std::string site_of(const Alert& alert) {
  return one_line(alert.site_name.empty() ? alert.site : alert.site_name, 80);
}

std::string where_part(const Finding& f, const Words& words) {
  if (f.where.empty()) return {};
  return words.say("contractor.where",
                   {{"from", one_line(f.where.front().from, 60)}, {"to", one_line(f.where.front().to, 60)}});
}

std::string forecast_part(const Finding& f, const Config& config, const Words& words) {
  if (!f.forecast) return {};
  return words.say("contractor.forecast",
                   {{"zone", words.say("next.zone", {{"number", std::to_string(f.forecast->zone)}})},
                    {"likely", site_day(f.forecast->lift.likely, config.site.timezone, words)}});
}

struct Ranked {
  const Alert* alert;
  const Finding* finding;  // nullptr: a trouble of the installation
};

// What needs a visit first comes first: severity, then zones out, then how long.
bool before(const Ranked& a, const Ranked& b) {
  const auto rank = [](const Ranked& r) {
    const bool over = r.finding ? !r.finding->is_open() : !r.alert->trouble || !r.alert->trouble->lasting;
    const Severity severity = r.finding ? r.finding->severity : r.alert->severity;
    const auto zones = r.finding ? r.finding->zones.size() : 0;
    const UtcTime since = r.finding ? r.finding->opened : r.alert->raised;
    return std::make_tuple(over, -static_cast<int>(severity), -static_cast<int>(zones), since, r.alert->site,
                           r.finding ? r.finding->id : r.alert->id);
  };
  return rank(a) < rank(b);
}

// Points into `alerts`, which outlive it.
std::vector<Ranked> ranked(std::span<const Alert> alerts) {
  std::vector<Ranked> list;
  for (const auto& alert : alerts) {
    if (alert.findings.empty()) list.push_back({&alert, nullptr});
    for (const auto& finding : alert.findings) list.push_back({&alert, &finding});
  }
  std::sort(list.begin(), list.end(), before);
  return list;
}

std::string zones_text(const Finding& f, const Config& config, const Words& words) {
  return zones_in_words(f.zones, config, words);
}

std::string line_of(const Ranked& r, const Listener& listener, const Config& config) {
  const Words& words = Words::in(listener.language);
  const std::string site = site_of(*r.alert);
  if (r.finding == nullptr) {
    const std::string subject =
        spoken(*r.alert, {Audience::technician, listener.language, {}, 0}, config).subject;
    const auto end = subject.find("] ");
    return words.say("contractor.line_plain",
                     {{"severity", severity_word(r.alert->severity, words)},
                      {"site", site},
                      {"line", end == std::string::npos ? subject : subject.substr(end + 2)}});
  }
  const Finding& f = *r.finding;
  const auto at = [&](UtcTime time) { return site_date_time(time, config.site.timezone, words); };
  return words.say(f.is_open() ? "contractor.line" : "contractor.line_over",
                   {{"severity", severity_word(f.severity, words)},
                    {"site", site},
                    {"who", zones_text(f, config, words)},
                    {"phrase", std::string(fault_phrase(f.fault, words))},
                    {"sure", std::to_string(in_hundred(f.probability))},
                    {"where", where_part(f, words)},
                    {"forecast", forecast_part(f, config, words)},
                    {"time", at(f.opened)},
                    {"began", at(f.opened)},
                    {"ended", f.is_open() ? std::string() : at(f.closed)}});
}

}  // namespace

Spoken contractor_words(const std::vector<Telling>&, const Alert& alert, const Listener& listener,
                        const Config& config) {
  const Words& words = Words::in(listener.language);
  const auto list = ranked(std::span(&alert, 1));
  const Finding& f = *list.front().finding;
  Spoken said;
  said.subject = words.say(alert.kind == AlertKind::closed ? "contractor.subject_over" : "contractor.subject",
                           {{"severity", severity_word(alert.severity, words)},
                            {"site", site_of(alert)},
                            {"who", zones_text(f, config, words)},
                            {"phrase", std::string(fault_phrase(f.fault, words))}});
  if (list.size() > 1) said.subject += words.say("list.more", {{"count", std::to_string(list.size() - 1)}});
  said.subject = one_line(said.subject, kLongestSubject);
  for (const auto& one : list)
    said.text +=
        line_of(one, listener, config) + "\n" + words.say("contractor.id", {{"id", one.finding->id}}) + "\n";
  return said;
}

Spoken contractor_digest(const std::vector<Alert>& alerts, const Listener& listener, const Config& config) {
  const Words& words = Words::in(listener.language);
  std::set<std::string> sites;
  std::size_t counts[3] = {};
  Spoken said;
  for (const auto& one : ranked(alerts)) {
    const bool open =
        one.finding ? one.finding->is_open() : one.alert->trouble && one.alert->trouble->lasting;
    if (open) sites.insert(one.alert->site);
    if (open) ++counts[static_cast<std::size_t>(one.finding ? one.finding->severity : one.alert->severity)];
    said.text += line_of(one, listener, config) + "\n";
  }
  if (said.text.empty()) said.text = words.text("contractor.digest.nothing") + "\n";
  const bool one_site = sites.size() < 2 && !alerts.empty();
  said.subject = one_line(words.say(one_site ? "contractor.digest.subject_one" : "contractor.digest.subject",
                                    {{"site", one_site ? site_of(alerts.front()) : std::string()},
                                     {"sites", std::to_string(sites.size())},
                                     {"urgent", std::to_string(counts[2])},
                                     {"soon", std::to_string(counts[1])},
                                     {"watch", std::to_string(counts[0])}}),
                          kLongestSubject);
  return said;
}

}  // namespace coilward
