#include "daemon/web/page_words.h"

#include <fmt/format.h>

#include <algorithm>

#include "daemon/alerts/fault_words.h"
#include "daemon/alerts/wording.h"

namespace coilward {
namespace {

bool names(const Finding& finding, int zone) {
  return std::find(finding.zones.begin(), finding.zones.end(), zone) != finding.zones.end();
}

const Finding* worst_of(const SiteView& view, int zone) {
  for (const Finding& finding : view.open)
    if (names(finding, zone)) return &finding;
  return nullptr;
}

// "Zone 4 is not watering" | "Its wire, a splice or its coil is broken."
Verdict split(const std::string& kind, const std::string& sentence) {
  const auto colon = sentence.find(": ");
  if (colon == std::string::npos) return {kind, sentence, {}};
  std::string more = sentence.substr(colon + 2);
  if (!more.empty() && more[0] >= 'a' && more[0] <= 'z') more[0] = static_cast<char>(more[0] - 'a' + 'A');
  return {kind, sentence.substr(0, colon), more};
}

std::string place_words(const std::string& place) {
  return place == "controller" ? "the controller" : "box " + place;
}

Verdict without_findings(const SiteView& view) {
  const auto in = [&](std::string_view state) {
    return std::count_if(view.zones.begin(), view.zones.end(),
                         [&](const ZoneState& zone) { return zone.state == state; });
  };
  const auto all = static_cast<std::ptrdiff_t>(view.zones.size()), silent = in("silent"),
             learning = in("learning") + in("unseen");
  if (!view.trouble.empty())
    return {"blind", "Coilward itself is in trouble",
            fmt::format("{}: {}", view.trouble.front().name, view.trouble.front().why)};
  if (silent > 0)
    return {"blind", fmt::format("{} of {} sensors are silent", silent, all),
            "Nothing is known of their zones."};
  if (learning > 0)
    return {"learning", "No fault so far", fmt::format("Still learning {} of {} zones.", learning, all)};
  return {"fine", "All is well", fmt::format("All {} zones draw what they should.", all)};
}

}  // namespace

SiteView view_of(const SiteAccess& site) {
  SiteView view;
  view.zones = site.zones();
  auto open = site.findings(false);
  if (open)
    view.open = std::move(*open);
  else
    view.unread = open.error().what;
  std::stable_sort(view.open.begin(), view.open.end(),
                   [](const Finding& a, const Finding& b) { return a.severity > b.severity; });
  for (const HealthStage& stage : site.health())
    if (!stage.ok) view.trouble.push_back(stage);
  return view;
}

Verdict verdict_of(const SiteView& view, const Config& config) {
  if (!view.unread.empty()) return {"blind", "Findings cannot be read", view.unread};
  if (view.open.empty()) return without_findings(view);
  const Finding& worst = view.open.front();
  Verdict verdict = split(std::string(severity_name(worst.severity)), headline(worst, config));
  if (view.open.size() > 1)
    verdict.more += fmt::format("{}{} more below.", verdict.more.empty() ? "" : " ", view.open.size() - 1);
  return verdict;
}

Verdict verdict_of_zone(const ZoneState& zone, const SiteView& view, const Config& config) {
  if (const Finding* worst = worst_of(view, zone.number))
    return split(std::string(severity_name(worst->severity)), headline(*worst, config));
  if (zone.state == "silent")
    return {"blind", "Its sensor is silent", "Nothing is known of it at the moment."};
  if (zone.state == "unseen") return {"learning", "It has not run yet", "Nothing is known of it so far."};
  if (zone.state == "learning")
    return {"learning", "No fault so far", "Its normal draw is still being learned."};
  return {"fine", "It draws what it should", {}};
}

ZoneWords zone_words(const ZoneState& zone, const SiteView& view) {
  ZoneWords words{"fine", "normal", zone.last_run ? zone.last_run->hold_amps : kNotMeasured,
                  zone.last_run ? "last run" : "never ran"};
  if (zone.on) words.amps = zone.latest_amps, words.when = "on now";
  if (const Finding* worst = worst_of(view, zone.number)) {
    words.kind = severity_name(worst->severity);
    words.state = fault_phrase(worst->fault);
  } else if (zone.state == "silent") {
    words.kind = "silent", words.state = "sensor silent";
  } else if (zone.state == "unseen") {
    words.kind = "unseen", words.state = "has not run yet";
  } else if (zone.state == "learning") {
    words.kind = "learning", words.state = "still learning";
  }
  return words;
}

const ZoneState* zone_in(const SiteView& view, int number) {
  for (const ZoneState& zone : view.zones)
    if (zone.number == number) return &zone;
  return nullptr;
}

std::string stretch_words(const Stretch& stretch) {
  return fmt::format("between {} and {}", place_words(stretch.from), place_words(stretch.to));
}

std::string conductor_words(const Finding& finding) {
  if (!finding.common.empty()) return "the common " + finding.common;
  if (finding.fault == Fault::failed_common || finding.fault == Fault::common_high_resistance)
    return "the common";
  if (finding.zones.size() == 1)
    return finding.zones.front() == kMasterZone ? "the master's wire"
                                                : fmt::format("the wire of zone {}", finding.zones.front());
  return "the zones' wires";
}

std::string_view severity_words(Severity severity) {
  switch (severity) {
    case Severity::urgent:
      return "Urgent";
    case Severity::soon:
      return "Soon";
    case Severity::watch:
      return "Watch";
  }
  return "Watch";
}

std::string_view run_end_words(RunEnd end) {
  switch (end) {
    case RunEnd::running:
      return "still on";
    case RunEnd::switched_off:
      return "switched off";
    case RunEnd::cut_out:
      return "cut out";
    case RunEnd::silent:
      return "readings stopped";
  }
  return "";
}

}  // namespace coilward
