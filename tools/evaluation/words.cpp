#include "tools/evaluation/words.h"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>

namespace coilward::evaluate {
namespace {

constexpr std::size_t kRunsShown = 20;

std::string day(const SiteRecord& record, UtcTime at) {
  return fmt::format("day {:.2f}", seconds_between(record.start, at) / 86400);
}

std::string zones_text(const std::vector<int>& zones) { return fmt::format("{}", fmt::join(zones, ",")); }

bool is_false(const SiteScore& score, std::size_t at) {
  return std::find(score.false_findings.begin(), score.false_findings.end(), at) !=
         score.false_findings.end();
}

std::string run_line(const SiteRecord& record, const AffectedRun& run) {
  std::string out =
      fmt::format("      {} {} zone {:>2}", day(record, run.start), format_rfc3339(run.start), run.zone);
  if (measured(run.amps)) out += fmt::format("  {:.3f} A", run.amps);
  if (measured(run.ohms)) out += fmt::format("  {:.1f} ohms", run.ohms);
  return out + "\n";
}

}  // namespace

std::string site_line(const SiteRecord& record) {
  const Offered& has = record.offered;
  std::string channels;
  for (const auto& [there, name] : {std::pair{has.command, "command"},
                                    {has.burst, "burst"},
                                    {has.supply_volts, "supply volts"},
                                    {has.zone_volts, "zone volts"},
                                    {has.common_current, "common current"},
                                    {has.temperature, "temperature"}})
    if (there) channels += fmt::format("{}{}", channels.empty() ? "" : ", ", name);
  return fmt::format("site {}: {} zones, {} Hz, {}; {}; {} turns, {} messages\n", record.index,
                     record.zones.size(), record.hertz, has.form,
                     channels.empty() ? "current alone" : channels, record.turns, record.messages);
}

std::string fault_line(const SiteRecord& record, const TrueFault& fault, const FaultScore& score) {
  std::string out = fmt::format("  true {} zones {} from {}{} {}", fault_name(fault.fault),
                                zones_text(fault.zones), day(record, fault.begin),
                                fault.repaired ? " to " + day(record, fault.end) : "", fault.size);
  if (!fault.to.empty()) out += fmt::format(" segment {}-{}", fault.from, fault.to);
  if (fault.comes_and_goes) out += " comes and goes";
  out += fmt::format(": {} affected runs; {}", fault.runs.size(), outcome_name(score.outcome));
  if (score.named) out += fmt::format(" ({} {:.2f})", fault_name(*score.named), score.probability);
  if (score.said)
    out += fmt::format(", first right after {} runs, {:.1f} h{}", score.runs_until, score.hours_until,
                       score.timely ? "" : ", late");
  if (measured(score.ohms_said)) out += fmt::format(", at {:.1f} ohms", score.ohms_said);
  if (score.segment_right) out += *score.segment_right ? ", segment first" : ", segment not first";
  return out + "\n";
}

std::string told_line(const SiteRecord& record, const Told& told) {
  const Finding& it = told.finding;
  const char* what = !it.is_open() ? "closed" : it.opened == it.updated ? "opened" : "told";
  std::string out =
      fmt::format("  {:<6} {} {} {} {:.3f} zones {}", what, day(record, told.at), format_rfc3339(told.at),
                  fault_name(it.fault), it.probability, zones_text(it.zones));
  for (const Stretch& place : it.where)
    out += fmt::format(" {}-{} {:.2f}", place.from, place.to, place.probability);
  for (std::size_t i = 0; i < std::min<std::size_t>(2, it.alternatives.size()); ++i)
    out += fmt::format(" or {} {:.2f}", fault_name(it.alternatives[i].fault), it.alternatives[i].probability);
  return out + fmt::format(" [{}]{}\n", it.id, it.is_open() ? "" : " " + it.close_reason);
}

std::string site_story(const SiteRecord& record, const SiteScore& score) {
  std::string out = site_line(record);
  for (const std::string& it : record.incidents) out += "  " + it + "\n";
  for (std::size_t i = 0; i < record.faults.size(); ++i) {
    const TrueFault& fault = record.faults[i];
    out += fault_line(record, fault, score.faults[i]);
    for (std::size_t r = 0; r < std::min(fault.runs.size(), kRunsShown); ++r)
      out += run_line(record, fault.runs[r]);
    if (fault.runs.size() > kRunsShown)
      out += fmt::format("      and {} more\n", fault.runs.size() - kRunsShown);
  }
  out += fmt::format("said: {} times\n", record.told.size());
  for (std::size_t i = 0; i < record.told.size(); ++i) {
    std::string line = told_line(record, record.told[i]);
    if (is_false(score, i)) line.insert(line.size() - 1, " UNEXPLAINED");
    out += line;
  }
  return out;
}

double badness(const SiteRecord& record, const std::vector<Told>& told, const SiteScore& score) {
  double sum = 0;
  for (const FaultScore& it : score.faults) {
    if (it.outcome == Outcome::misnamed || it.outcome == Outcome::wrong_zones) sum += it.probability;
    if (it.outcome == Outcome::missed || it.outcome == Outcome::withdrawn) sum += 0.8;
  }
  for (const std::size_t at : score.false_findings)
    sum += told[at].finding.probability + (record.faults.empty() ? 0.2 : 0);
  return sum;
}

std::string worst_case(const SiteRecord& record, const SiteScore& score) {
  std::string out = site_line(record);
  if (!record.incidents.empty()) out += fmt::format("  besides: {}\n", fmt::join(record.incidents, "; "));
  for (std::size_t i = 0; i < record.faults.size(); ++i)
    out += fault_line(record, record.faults[i], score.faults[i]);
  constexpr std::size_t kShown = 4;
  for (std::size_t i = 0; i < std::min(kShown, score.false_findings.size()); ++i)
    out += "  unexplained:" + told_line(record, record.told[score.false_findings[i]]);
  if (score.false_findings.size() > kShown)
    out += fmt::format("  and {} more unexplained\n", score.false_findings.size() - kShown);
  return out;
}

}  // namespace coilward::evaluate
