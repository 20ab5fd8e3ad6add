#include <algorithm>

#include "daemon/simulate/programme.h"

namespace coilward::simulate {
namespace {

unsigned draw_weekdays(Chance& chance) {
  return chance.pick<unsigned>({0x7F, 0x7F, 0x55, 0x2A, 0x54, 0x3E, 0x24, 0x49});
}

// Every zone once, mostly in order of number; sometimes two share a turn.
std::vector<Turn> draw_turns(const Config& config, Chance& chance) {
  std::vector<int> order;
  for (const ZoneConfig& zone : config.zones) order.push_back(zone.number);
  if (chance.happens(0.3))
    for (std::size_t i = order.size(); i > 1; --i)
      std::swap(order[i - 1], order[chance.whole(0, int(i) - 1)]);
  const bool in_pairs = order.size() >= 4 && chance.happens(0.15);
  const int usual_minutes = chance.pick<int>({4, 6, 8, 10, 12, 15});
  std::vector<Turn> turns;
  for (std::size_t i = 0; i < order.size(); ++i) {
    Turn turn{{order[i]}, 60.0 * std::max(2, usual_minutes + chance.whole(-2, 2))};
    if (in_pairs && i + 1 < order.size() && chance.happens(0.3)) turn.zones.push_back(order[++i]);
    turns.push_back(std::move(turn));
  }
  return turns;
}

Programme draw_one(const Config& config, Chance& chance) {
  Programme programme;
  programme.weekdays = draw_weekdays(chance);
  programme.turns = draw_turns(config, chance);
  programme.start_minutes = {chance.whole(0, 16) * 30};
  programme.gap_s = chance.pick<double>({0, 0, 1, 2, 5, 15, 60});
  if (config.zones.size() <= 8 && chance.happens(0.2))
    programme.start_minutes.push_back(18 * 60 + chance.whole(0, 4) * 30);
  return programme;
}

}  // namespace

ProgrammePlan draw_programme(const Config& config, std::uint64_t seed, double days) {
  Chance chance(seed, "programme");
  ProgrammePlan plan;
  plan.programmes.push_back(draw_one(config, chance));
  plan.master_runs = config.master.present;
  plan.drift_s = chance.normal(0.5);
  if (days > 20 && chance.happens(0.25)) {  // changed in mid-season
    Programme changed = draw_one(config, chance);
    plan.programmes[0].to_day = changed.from_day = chance.whole(10, static_cast<int>(days) - 5);
    plan.programmes.push_back(std::move(changed));
  }
  for (double day = chance.scale(6, 80); day < days - 1; day += chance.scale(8, 80))
    plan.rain_delays.emplace_back(day, day + chance.whole(1, 4));
  return plan;
}

}  // namespace coilward::simulate
