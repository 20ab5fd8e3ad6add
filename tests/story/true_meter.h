// What a technician's meter shows at a simulated site whose zone wire is broken: from the site as it really
// is (its lengths, coils and source, which the configuration does not know), not from what locating expects.
#pragma once

#include <vector>

#include "daemon/base/pipeline_json.h"
#include "daemon/locate/ladder.h"
#include "daemon/locate/wire_path.h"
#include "daemon/simulate/scenario.h"

namespace coilward {

class TrueMeter {
 public:
  // The wire of plan.zone is broken between the box plan.box and the stop before it.
  TrueMeter(const simulate::Scenario& site, const simulate::FaultPlan& plan)
      : site_(site),
        zone_(*simulate::find_zone(site.site, plan.zone)),
        path_(wire_path(site.config, plan.zone)),
        broken_(path_.stop_of_box(plan.box)) {}

  std::string from() const { return path_.stop(broken_ - 1).name; }
  std::string to() const { return path_.stop(broken_).name; }

  // The options of `coilward test-reading` for what was asked for: `next` of contract section 9.
  std::vector<std::string> read(const Json& next) const {
    const std::string at = next["at"].get<std::string>(), kind = next["reading"].get<std::string>();
    const int stop = path_.stop_named(at);
    std::vector<std::string> options = {"--at", at};
    const auto add = [&](std::initializer_list<std::string> words) {
      options.insert(options.end(), words.begin(), words.end());
    };
    if (kind == "volts_on") add({"--volts-on", fmt::format("{:.1f}", volts_on(stop))});
    if (kind == "ohms") {
      const std::string toward = next["toward"].get<std::string>();
      const double ohms = toward == "valve" ? ohms_to_valve(stop) : ohms_to_controller(stop);
      add({"--ohms", ohms >= kOpenOhms ? "OL" : fmt::format("{:.1f}", ohms), "--toward", toward});
    }
    if (kind == "source_volts")
      add({"--source-volts", "40", "--volts-to-earth", driven(next["conductor"], stop) ? "35.2" : "0.1",
           "--conductor", next["conductor"].get<std::string>()});
    return options;
  }

 private:
  // Nothing flows, so that nothing is lost on the way; beyond the break both wires hang on the common.
  double volts_on(int stop) const { return stop < broken_ ? site_.site.open_volts : 0.0; }
  double ohms_to_valve(int stop) const {
    if (stop < broken_) return kOpenOhms;
    double ohms = simulate::ohms_per_metre(zone_.square_mm, zone_.stranded, 20) * zone_.own_metres;
    for (int i = stop + 1; i <= path_.last(); ++i) ohms += stretch_ohms(i);
    return ohms + zone_.valves.front().ohms_20;
  }
  // The controller's switch is open while the zone is off.
  static double ohms_to_controller(int) { return kOpenOhms; }
  bool driven(const Json& conductor, int stop) const { return conductor == "common" || stop < broken_; }
  // Both wires of the stretch that ends at a stop.
  double stretch_ohms(int stop) const {
    const ConductorConfig& common = site_.config.commons[static_cast<std::size_t>(zone_.common)].wire;
    return site_.site.box_metres[static_cast<std::size_t>(path_.stop(stop).box)] *
           (simulate::ohms_per_metre(zone_.square_mm, zone_.stranded, 20) +
            simulate::ohms_per_metre(common.square_mm, common.stranded, 20));
  }

  const simulate::Scenario& site_;
  const simulate::TrueZone& zone_;
  const WirePath path_;
  const int broken_;
};

}  // namespace coilward
