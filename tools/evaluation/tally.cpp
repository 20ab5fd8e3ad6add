#include "tools/evaluation/tally.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <numeric>

namespace coilward::evaluate {
namespace {

constexpr double kDaysPerMonth = 30.44;

std::string share(int part, int whole) {
  return whole == 0 ? "-" : fmt::format("{:.1f}%", 100.0 * part / whole);
}

std::string number(double value, const char* format = "{:.1f}") {
  return measured(value) ? fmt::format(fmt::runtime(format), value) : "-";
}

double squared_error(const std::vector<Forecast>& forecasts) {
  double sum = 0;
  for (const Forecast& it : forecasts) sum += std::pow(it.probability - (it.right ? 1 : 0), 2);
  return forecasts.empty() ? kNotMeasured : sum / static_cast<double>(forecasts.size());
}

}  // namespace

int ClassTally::counted() const {
  return std::accumulate(outcomes.begin(), outcomes.end(), 0) - of(Outcome::not_counted);
}

double quantile(std::vector<double> values, double share) {
  if (values.empty()) return kNotMeasured;
  std::sort(values.begin(), values.end());
  const auto at = static_cast<std::size_t>(std::ceil(share * static_cast<double>(values.size())));
  return values[std::clamp<std::size_t>(at, 1, values.size()) - 1];
}

namespace {

std::vector<std::string> channel_names(const Offered& has) {
  std::vector<std::string> names;
  for (const auto& [there, name] : {std::pair{has.command, "command"},
                                    {has.burst, "burst"},
                                    {has.supply_volts, "supply volts"},
                                    {has.common_current, "common current"},
                                    {has.temperature, "temperature"}})
    names.push_back(fmt::format("{} {}", there ? "with" : "without", name));
  return names;
}

// One letter a channel: those whose presence changes most.
std::string combination(const Offered& has) {
  return fmt::format("{}{}{}{}{}", has.command ? 'C' : '-', has.supply_volts ? 'S' : '-',
                     has.burst ? 'B' : '-', has.common_current ? 'R' : '-', has.temperature ? 'T' : '-');
}

void count(ByChannel& into, Outcome outcome) {
  ++into.counted;
  into.right += outcome == Outcome::right;
  into.misnamed += outcome == Outcome::misnamed || outcome == Outcome::wrong_zones;
  into.missed += outcome == Outcome::missed || outcome == Outcome::withdrawn;
}

}  // namespace

std::string Tally::channel_table() const {
  std::string out = fmt::format("{:<26}{:>6}{:>8}{:>19}{:>19}\n", "by channels", "true", "right",
                                "misnamed or zones", "missed or withdr.");
  const auto rows = [&](const std::map<std::string, ByChannel>& table) {
    for (const auto& [name, it] : table)
      out += fmt::format("{:<26}{:>6}{:>8}{:>19}{:>19}\n", name, it.counted, share(it.right, it.counted),
                         it.misnamed, it.missed);
  };
  rows(by_channel_);
  out += "Command, Supply volts, Burst, Return on the common, Temperature\n";
  rows(by_combination_);
  return out;
}

void Tally::add_fault(const SiteRecord& record, const TrueFault& fault, const FaultScore& score) {
  ClassTally& tally = classes_[fault.fault];
  ++tally.outcomes[static_cast<std::size_t>(score.outcome)];
  if (score.outcome == Outcome::not_counted) return;
  for (const std::string& name : channel_names(record.offered)) count(by_channel_[name], score.outcome);
  count(by_combination_[combination(record.offered)], score.outcome);
  tally.timely += score.timely;
  if (score.outcome == Outcome::misnamed) ++tally.named[*score.named];
  if (score.said) {
    tally.runs_until.push_back(static_cast<double>(score.runs_until));
    tally.hours_until.push_back(score.hours_until);
  }
  if (measured(score.ohms_said))
    (record.offered.burst ? tally.ohms_with_burst : tally.ohms_without).push_back(score.ohms_said);
  if (score.segment_right) ++segments_, segments_right_ += *score.segment_right;
}

void Tally::add(const SiteRecord& record, const std::vector<Told>& told, const SiteScore& score) {
  for (std::size_t i = 0; i < score.faults.size(); ++i) add_fault(record, record.faults[i], score.faults[i]);
  FalseTally& unexplained = record.faults.empty() ? healthy_ : faulty_;
  unexplained.zone_days += score.unexplained_zone_days;
  for (const std::size_t at : score.false_findings) ++unexplained.opened[told[at].finding.fault];
  first_.insert(first_.end(), score.first.begin(), score.first.end());
  last_.insert(last_.end(), score.last.begin(), score.last.end());
}

std::string Tally::fault_table() const {
  std::string out = fmt::format("{:<23}{:>6}{:>6}{:>8}{:>7}{:>7}{:>7}{:>7}{:>8}{:>9}\n", "fault", "true",
                                "right", "", "zones", "misn.", "withd.", "missed", "timely", "uncount.");
  ClassTally all;
  const auto row = [&](std::string_view name, const ClassTally& it) {
    out += fmt::format("{:<23}{:>6}{:>6}{:>8}{:>7}{:>7}{:>7}{:>7}{:>8}{:>9}\n", name, it.counted(),
                       it.of(Outcome::right), share(it.of(Outcome::right), it.counted()),
                       it.of(Outcome::wrong_zones), it.of(Outcome::misnamed), it.of(Outcome::withdrawn),
                       it.of(Outcome::missed), share(it.timely, it.counted()), it.of(Outcome::not_counted));
  };
  for (const auto& [fault, it] : classes_) {
    row(fault_name(fault), it);
    all.timely += it.timely;
    for (std::size_t i = 0; i < it.outcomes.size(); ++i) all.outcomes[i] += it.outcomes[i];
  }
  row("all", all);
  return out;
}

std::string Tally::speed_table() const {
  std::string out = fmt::format("{:<23}{:>6}{:>13}{:>8}{:>14}{:>8}\n", "until first right", "said",
                                "runs: median", "95%", "hours: median", "95%");
  for (const auto& [fault, it] : classes_)
    out += fmt::format("{:<23}{:>6}{:>13}{:>8}{:>14}{:>8}\n", fault_name(fault), it.runs_until.size(),
                       number(quantile(it.runs_until, 0.5), "{:.0f}"),
                       number(quantile(it.runs_until, 0.95), "{:.0f}"), number(quantile(it.hours_until, 0.5)),
                       number(quantile(it.hours_until, 0.95)));
  return out;
}

std::string Tally::confusion() const {
  std::string out = "misnamed as\n";
  for (const auto& [fault, it] : classes_) {
    if (it.named.empty()) continue;
    out += fmt::format("{:<23}", fault_name(fault));
    for (const auto& [named, count] : it.named) out += fmt::format("  {} {}", fault_name(named), count);
    out += "\n";
  }
  return out;
}

std::string Tally::ohms_table() const {
  std::string out =
      fmt::format("{:<37}{:>6}{:>9}{:>7}\n", "ohms added when first right", "said", "median", "95%");
  for (const Fault fault : {Fault::high_resistance, Fault::common_high_resistance}) {
    const auto it = classes_.find(fault);
    if (it == classes_.end()) continue;
    for (const auto* values : {&it->second.ohms_with_burst, &it->second.ohms_without})
      out += fmt::format("{:<23}{:<14}{:>6}{:>9}{:>7}\n", fault_name(fault),
                         values == &it->second.ohms_without ? "without burst" : "with burst", values->size(),
                         number(quantile(*values, 0.5)), number(quantile(*values, 0.95)));
  }
  return out;
}

std::string Tally::false_table() const {
  std::string out;
  const auto part = [&](const char* name, const FalseTally& it) {
    const double months = it.zone_days / kDaysPerMonth;
    int all = 0;
    std::string list;
    for (const auto& [fault, count] : it.opened) {
      all += count;
      list += fmt::format("  {} {}", fault_name(fault), count);
    }
    out += fmt::format("{:<15}{:>6} in {:>7.0f} zone-months: {:>6} per 100{}\n", name, all, months,
                       number(months > 0 ? 100 * all / months : kNotMeasured, "{:.2f}"), list);
  };
  out += "findings that no fault explains\n";
  part("healthy sites", healthy_);
  part("faulty sites", faulty_);
  return out;
}

std::string reliability(const char* title, const std::vector<Forecast>& forecasts) {
  struct Tenth {
    int count = 0, right = 0;
    double sum = 0;
  };
  std::array<Tenth, 10> tenths{};
  for (const Forecast& it : forecasts) {
    Tenth& tenth = tenths[static_cast<std::size_t>(std::clamp(it.probability * 10, 0.0, 9.0))];
    ++tenth.count;
    tenth.right += it.right;
    tenth.sum += it.probability;
  }
  std::string out = fmt::format("probability {}: {} findings, Brier score {}\n", title, forecasts.size(),
                                number(squared_error(forecasts), "{:.4f}"));
  for (std::size_t i = 0; i < tenths.size(); ++i)
    if (const Tenth& it = tenths[i]; it.count > 0)
      out += fmt::format("  {:.1f}-{:.1f}{:>6}  said {:.3f}  came true {:.3f}\n", static_cast<double>(i) / 10,
                         static_cast<double>(i + 1) / 10, it.count, it.sum / it.count,
                         static_cast<double>(it.right) / it.count);
  return out;
}

std::string Tally::short_text() const { return fault_table() + "\n" + confusion() + "\n" + false_table(); }

std::string Tally::text() const {
  std::string out = fault_table() + "\n" + speed_table() + "\n" + confusion() + "\n" + ohms_table();
  out += fmt::format("\nsegment of failed_common ranked first: {} of {} ({})\n\n", segments_right_, segments_,
                     share(segments_right_, segments_));
  out += false_table() + "\n" + channel_table() + "\n";
  return out + reliability("as first said", first_) + reliability("as last said", last_);
}

}  // namespace coilward::evaluate
