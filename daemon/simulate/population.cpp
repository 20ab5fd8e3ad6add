#include "daemon/simulate/population.h"

#include <fmt/format.h>

#include <algorithm>
#include <nlohmann/json.hpp>

#include "daemon/simulate/day.h"
#include "daemon/simulate/recording_writer.h"
#include "daemon/simulate/simulation.h"
#include "daemon/simulate/text_file.h"

namespace coilward::simulate {
namespace {

constexpr double kLearningDays = 12;  // by then most programmes have run several times

Fault fault_in_turn(const PopulationPlan& plan, int index) {
  if (!plan.faults.empty()) return plan.faults[static_cast<std::size_t>(index) % plan.faults.size()];
  return static_cast<Fault>(index % kFaults);
}

FaultPlan draw_fault(const PopulationPlan& plan, Fault fault, const Scenario& site, Chance& chance) {
  const double latest = std::max(1.0, plan.days * 0.8) * kDay;
  const bool early = chance.happens(plan.from_first_day);
  const double earliest = std::min(kLearningDays, plan.days * 0.4) * kDay;
  FaultPlan it = random_fault(fault, site, early ? 0 : earliest, early ? 1 : latest, site.seed);
  if (chance.happens(plan.repaired)) it.end_s = std::min(it.end_s, it.begin_s + chance.between(3, 12) * kDay);
  return it;
}

// Work on a zone that no fault concerns, so that the truth stays what it was.
void draw_replaced_coil(const PopulationPlan& plan, Scenario& site, Chance chance) {
  if (!chance.happens(plan.coil_replaced)) return;
  Incident it{Incident::Kind::coil_replaced, chance.between(0.3, 0.8) * plan.days * kDay};
  it.zone = chance.pick(site.config.zones).number;
  for (const FaultPlan& fault : site.faults)
    for (const int zone : fault_zones(fault, site.config))
      if (zone == it.zone) return;
  site.incidents.push_back(it);
}

void draw_faults(const PopulationPlan& plan, int index, Scenario& site, Chance& chance) {
  if (chance.happens(plan.healthy)) return;
  const Fault first = fault_in_turn(plan, index);
  site.faults.push_back(draw_fault(plan, first, site, chance));
  if (!chance.happens(plan.two_faults)) return;
  const Fault second = fault_in_turn(plan, index + chance.whole(1, kFaults - 1));
  if (second != first) site.faults.push_back(draw_fault(plan, second, site, chance));
}

}  // namespace

Scenario population_site(const PopulationPlan& plan, int index) {
  Chance chance(plan.seed, "population", static_cast<std::uint64_t>(index));
  RandomOptions options;
  options.days = plan.days;
  options.most_zones = plan.most_zones;
  Scenario site = random_scenario(chance.bits() >> 16, options);
  draw_faults(plan, index, site, chance);
  draw_replaced_coil(plan, site, Chance(plan.seed, "coil replaced", static_cast<std::uint64_t>(index)));
  return site;
}

Result<std::uint64_t> write_population_site(const PopulationPlan& plan, int index,
                                            const std::string& directory) {
  const std::string base = fmt::format("{}/{:05}", directory, index);
  Simulation simulation(population_site(plan, index));
  auto writer = RecordingWriter::open(base + ".jsonl");
  if (!writer) return writer.error();
  std::uint64_t messages = 0;
  for (SimulatedMessage message; simulation.next(message); ++messages)
    if (const auto written = writer->write(message); !written) return written.error();
  if (const auto finished = writer->finish(); !finished) return finished.error();
  const auto config = write_text_file(base + ".toml", config_text(simulation.scenario().config));
  if (!config) return config.error();
  const auto truth = write_text_file(base + ".truth.json", simulation.truth().dump(1) + "\n");
  if (!truth) return truth.error();
  return messages;
}

}  // namespace coilward::simulate
