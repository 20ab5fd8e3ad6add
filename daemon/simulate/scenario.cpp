#include "daemon/simulate/scenario.h"

namespace coilward::simulate {

Scenario scenario_of(const Config& config, const Channels& channels, UtcTime start, double days,
                     std::uint64_t seed) {
  Scenario scenario;
  scenario.config = config;
  scenario.seed = seed;
  scenario.start = start;
  scenario.days = days;
  scenario.site = draw_true_site(config, seed);
  scenario.surroundings = draw_surroundings(seed, days);
  scenario.programme = draw_programme(config, seed, days);
  SensorMake make;
  make.form = PayloadForm::senml_json;
  make.burst = true;
  make.quick_when = channels.command ? QuickWhen::commanded : QuickWhen::current;
  scenario.sensors = make_sensors(config, channels, make, seed);
  return scenario;
}

}  // namespace coilward::simulate
