#include "tools/evaluation/evaluation.h"

#include <fmt/format.h>

#include <algorithm>
#include <atomic>
#include <chrono>
#include <map>
#include <numeric>
#include <thread>

#include "tools/evaluation/tally.h"
#include "tools/evaluation/trial.h"
#include "tools/evaluation/words.h"

namespace coilward::evaluate {
namespace {

using Scores = std::vector<SiteScore>;

std::string worst_cases(const std::vector<SiteRecord>& records, const Scores& scores, int count) {
  std::vector<std::size_t> order(records.size());
  std::iota(order.begin(), order.end(), 0);
  std::vector<double> bad;
  for (std::size_t i = 0; i < records.size(); ++i)
    bad.push_back(badness(records[i], records[i].told, scores[i]));
  std::stable_sort(order.begin(), order.end(), [&](std::size_t a, std::size_t b) { return bad[a] > bad[b]; });
  std::string out = "\nworst cases (look with --site)\n";
  for (std::size_t i = 0; i < std::min<std::size_t>(order.size(), static_cast<std::size_t>(count)); ++i)
    if (bad[order[i]] > 0) out += worst_case(records[order[i]], scores[order[i]]);
  return out;
}

std::string costs(const std::vector<SiteRecord>& records, double elapsed) {
  Cost sum;
  for (const SiteRecord& it : records) {
    sum.simulate_s += it.cost.simulate_s;
    sum.pipeline_s += it.cost.pipeline_s;
    sum.intake_s += it.cost.intake_s;
  }
  std::uint64_t messages = 0;
  for (const SiteRecord& it : records) messages += it.messages;
  std::string out =
      fmt::format("{:.1f} s elapsed, {:.0f} messages a second; {:.1f} s simulation, {:.1f} s pipeline",
                  elapsed, static_cast<double>(messages) / elapsed, sum.simulate_s, sum.pipeline_s);
  if (sum.intake_s > 0) out += fmt::format(", of that about {:.1f} s intake", sum.intake_s);
  return out + "\n";
}

int tell_failures(const std::vector<SiteRecord>& records) {
  int failed = 0;
  for (const SiteRecord& it : records)
    if (!it.error.empty()) ++failed, fmt::print(stderr, "site {}: {}\n", it.index, it.error);
  return failed == 0 ? 0 : 1;
}

// Which forms of payload occurred, and at how many sites.
std::string forms(const std::vector<SiteRecord>& records) {
  std::map<std::string, int> counts;
  for (const SiteRecord& it : records) ++counts[it.offered.form];
  std::string out = "payloads:";
  for (const auto& [form, count] : counts) out += fmt::format(" {} {}", form, count);
  return out + "\n\n";
}

std::string head(const std::vector<SiteRecord>& records, const simulate::PopulationPlan& plan) {
  std::uint64_t messages = 0, turns = 0;
  double zone_days = 0;
  for (const SiteRecord& it : records) {
    messages += it.messages, turns += it.turns;
    zone_days += static_cast<double>(it.zones.size()) * plan.days;
  }
  return fmt::format("seed {}: {} sites, {:g} days, {} turns ({:.1f} a zone and week), {} messages\n",
                     plan.seed, records.size(), plan.days, turns,
                     zone_days > 0 ? 7 * static_cast<double>(turns) / zone_days : 0, messages);
}

int tell_one(const SiteRecord& record) {
  fmt::print("{}", site_story(record, score(record, record.told)));
  return tell_failures({record});
}

}  // namespace

std::vector<SiteRecord> try_sites(const EvaluationOptions& options) {
  std::vector<SiteRecord> records(static_cast<std::size_t>(options.plan.sites));
  std::atomic<int> next = 0;
  const auto work = [&] {
    for (int index; (index = next++) < options.plan.sites;)
      records[static_cast<std::size_t>(index)] =
          try_site(index, population_site(options.plan, index), options.time_intake);
  };
  std::vector<std::jthread> workers;
  for (int i = 0; i < options.threads; ++i) workers.emplace_back(work);
  workers.clear();  // joins
  return records;
}

int evaluate(const EvaluationOptions& options) {
  if (options.site >= 0)
    return tell_one(try_site(options.site, population_site(options.plan, options.site), options.time_intake));
  const auto began = std::chrono::steady_clock::now();
  const std::vector<SiteRecord> records = try_sites(options);
  const double elapsed = std::chrono::duration<double>(std::chrono::steady_clock::now() - began).count();
  Tally tally, thumb;
  Scores scores;
  for (const SiteRecord& record : records) {
    scores.push_back(score(record, record.told));
    tally.add(record, record.told, scores.back());
    thumb.add(record, record.thumb, score(record, record.thumb));
  }
  fmt::print("{}{}{}{}", head(records, options.plan), forms(records), tally.text(),
             worst_cases(records, scores, options.worst));
  fmt::print("\nthe rule of thumb on the same runs: 20 % off the mean of five\n{}", thumb.short_text());
  if (options.timing) fmt::print("\n{}", costs(records, elapsed));
  return tell_failures(records);
}

}  // namespace coilward::evaluate
