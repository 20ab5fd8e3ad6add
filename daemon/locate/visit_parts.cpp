#include "daemon/locate/visit_parts.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "daemon/circuit/coil.h"

namespace coilward {
namespace {

// A place less likely than this needs no part in the bag; the van has it. Own judgement.
constexpr double kWorthCarrying = 0.05;

double chance(const Location& location, PlaceKind kind, Conductor conductor) {
  double sum = 0;
  for (const Place& place : location.places)
    if (place.kind == kind && (kind == PlaceKind::coil || place.conductor == conductor))
      sum += place.probability;
  return sum;
}

class PartList {
 public:
  PartList(const Config& config, const Finding& finding, const Location& location,
           const std::vector<GuideStep>& steps)
      : config_(config), finding_(finding), location_(location), steps_(steps) {
    zone_ = config.zone(location.zone >= 0      ? location.zone
                        : finding.zones.empty() ? -1
                                                : finding.zones.front());
  }

  std::vector<VisitPart> make() {
    if (zone_) {
      wire(Conductor::zone, zone_->wire, "zone wire");
      wire(Conductor::common, config_.commons[static_cast<std::size_t>(zone_->common)].wire, "common");
      coil();
    }
    by_fault();
    tools();
    return std::move(parts_);
  }

 private:
  void add(std::string what, std::string where) { parts_.push_back({std::move(what), std::move(where)}); }

  // A splice is one connector; a length of wire put in between needs two.
  void wire(Conductor conductor, const ConductorConfig& copper, const std::string& name) {
    const bool splice = chance(location_, PlaceKind::splice, conductor) >= kWorthCarrying;
    const bool segment = chance(location_, PlaceKind::segment, conductor) >= kWorthCarrying;
    if (!splice && !segment) return;
    add(fmt::format("{} waterproof splice connectors for direct burial, {}", segment ? 4 : 2,
                    gauge_text(copper)),
        "splices of the " + name);
    if (segment)
      add(fmt::format("a few {} of {} copper wire for direct burial", config_.site.feet ? "feet" : "metres",
                      gauge_text(copper)),
          "the " + name + " between two boxes");
  }

  void coil() {
    const bool likely = chance(location_, PlaceKind::coil, Conductor::zone) >= kWorthCarrying ||
                        finding_.fault == Fault::shorted_coil || finding_.fault == Fault::plunger_not_seated;
    if (!likely) return;
    const bool rated = measured(zone_->hold_amps);
    const double amps = rated ? zone_->hold_amps : circuit::kTypicalHoldVoltAmps / config_.supply.volts;
    add(fmt::format("a solenoid for {:g} V {:g} Hz that holds at {:.2f} A{}", config_.supply.volts,
                    config_.supply.hertz, amps,
                    rated ? "" : " (typical; the rating is not in the configuration)"),
        fmt::format("the valve of zone {}", zone_->number));
    add(fmt::format("2 waterproof splice connectors for direct burial, {}", gauge_text(zone_->wire)),
        "its two leads");
  }

  void by_fault() {
    switch (finding_.fault) {
      case Fault::plunger_not_seated:
        return add("a plunger and a diaphragm for that valve", "when there is dirt or wear below the coil");
      case Fault::shorted_coil:
        return add("a fuse as the controller takes", "it may have blown");
      case Fault::supply_low:
      case Fault::supply_lost:
        add("a fuse as the controller takes", "the 24 volt side");
        return add(
            fmt::format("a transformer, {:g} V, {:g} VA", config_.supply.volts, config_.supply.volt_amps),
            "put in by a licensed electrician where its mains side is wired");
      case Fault::sensor_fault:
        return add("a current sensor of the kind that is there",
                   "when the clamp meter says that the valve is sound");
      case Fault::stuck_on:
        return add("an output module or controller of the kind that is there", "when the output is stuck");
      default:
        return;
    }
  }

  void tools() {
    add("a meter for volts and ohms, and a clamp meter that reads 0.01 A", "the readings below");
    const bool source = std::ranges::any_of(
        steps_, [](const GuideStep& step) { return step.reading.kind == ReadingKind::source_volts; });
    if (source) add("a test source of 40 volts and an earth stake", "the readings against earth");
    if (chance(location_, PlaceKind::segment, Conductor::zone) +
            chance(location_, PlaceKind::segment, Conductor::common) >=
        kWorthCarrying)
      add("spade, flags, and the answer of the utility locating service", "before any digging");
  }

  const Config& config_;
  const Finding& finding_;
  const Location& location_;
  const std::vector<GuideStep>& steps_;
  const ZoneConfig* zone_ = nullptr;
  std::vector<VisitPart> parts_;
};

}  // namespace

std::vector<VisitPart> visit_parts(const Config& config, const Finding& finding, const Location& location,
                                   const std::vector<GuideStep>& steps) {
  return PartList(config, finding, location, steps).make();
}

std::string gauge_text(const ConductorConfig& wire) {
  return wire.awg > 0 ? fmt::format("{} AWG", wire.awg) : fmt::format("{:.2g} mm²", wire.square_mm);
}

}  // namespace coilward
