#include "daemon/locate/suspects.h"

#include <algorithm>

#include "daemon/locate/judge_readings.h"
#include "daemon/locate/suspect_weights.h"

namespace coilward {
namespace {

// Puts suspects in the order of the way.
class SuspectList {
 public:
  SuspectList(const Config& config, const Finding& finding, const WirePath& path,
              const std::vector<Neighbour>& neighbours)
      : config_(config), finding_(finding), path_(path), common_(config, finding, path, neighbours) {}

  std::vector<Suspect> make() {
    add();
    double sum = 0;
    for (const Suspect& s : list_) sum += s.weight;
    for (Suspect& s : list_) s.weight /= sum;
    return std::move(list_);
  }

 private:
  int last() const { return path_.last(); }
  const std::string& name(int stop) const { return path_.stop(stop).name; }

  void add() {
    switch (finding_.fault) {
      case Fault::open_circuit:
        return add_wire(Defect::open, kOpenWeights);
      case Fault::failed_common:
        return add_commons(Defect::open, kOpenWeights);
      case Fault::high_resistance:
        return add_wire(Defect::series_ohms, kCorrosionWeights);
      case Fault::common_high_resistance:
        return add_commons(Defect::series_ohms, kCorrosionWeights);
      case Fault::shorted_coil:
        return add_short();
      case Fault::earth_leakage:
        return add_zone_wire(Defect::earth_ohms, kLeakWeights, 1);
      case Fault::crossed_wires:
        return add_crossing();
      case Fault::partial_open:
        return add_branch();
      case Fault::plunger_not_seated:
        return add_plunger();
      case Fault::supply_low:
      case Fault::supply_lost:
      case Fault::stuck_on:
      case Fault::missed_run:
        return put(PlaceKind::controller, Conductor::zone, 0, Defect::none, 1);
      case Fault::sensor_fault:
        return;
    }
  }

  void put(PlaceKind kind, Conductor conductor, int stop, Defect defect, double weight) {
    Suspect s;
    s.place.kind = kind;
    s.place.conductor = conductor;
    s.defect = defect;
    s.weight = weight;
    if (kind == PlaceKind::segment) {
      s.place.from = name(stop - 1);
      s.place.to = name(stop);
      s.spot = segment_spot(stop);
    } else if (kind == PlaceKind::splice) {
      s.place.at = name(stop);
      s.spot = splice_spot(stop);
    } else if (kind == PlaceKind::coil) {
      s.place.at = name(stop);
      s.place.zone = path_.zone;
      s.spot = coil_spot(stop);
    }
    if (weight > 0) list_.push_back(std::move(s));
  }

  void add_zone_wire(Defect defect, const FaultWeights& w, double coils) {
    put(PlaceKind::controller, Conductor::zone, 0, defect, w.controller);
    for (int stop = 1; stop <= last(); ++stop) {
      put(PlaceKind::segment, Conductor::zone, stop, defect, segment_weight(config_, path_.stop(stop), w));
      put(PlaceKind::splice, Conductor::zone, stop, defect, splice_weight(config_, path_.stop(stop), w));
    }
    put(PlaceKind::coil, Conductor::zone, last(), defect, w.coil * coils);
  }

  // One zone dead or weak: its own wire, and the common as far as no other zone clears it.
  void add_wire(Defect defect, const FaultWeights& w) {
    const ZoneConfig* zone = config_.zone(path_.zone);
    // All of several coils must have failed at once.
    const double coils = zone && zone->valves > 1 ? kSeveralCoils : 1;
    add_zone_wire(defect, w, coils);
    for (int stop = 1; stop <= last(); ++stop) add_common_stop(stop, defect, w);
    heed_alternative(defect == Defect::open ? Fault::failed_common : Fault::common_high_resistance);
  }

  // What the diagnosis left to the common, as long as it does, is not less here.
  void heed_alternative(Fault fault) {
    double said = 0, common = 0, rest = 0;
    for (const Alternative& a : finding_.alternatives)
      if (a.fault == fault) said = a.probability / (a.probability + finding_.probability);
    for (const Suspect& s : list_) (s.place.conductor == Conductor::common ? common : rest) += s.weight;
    if (common <= 0 || rest <= 0 || common >= said * (common + rest)) return;
    for (Suspect& s : list_)
      if (s.place.conductor == Conductor::common) s.weight *= said * rest / ((1 - said) * common);
  }

  void add_common_stop(int stop, Defect defect, const FaultWeights& w) {
    const Stop& at = path_.stop(stop);
    put(PlaceKind::segment, Conductor::common, stop, defect,
        kCommonShare * segment_weight(config_, at, w) * common_.segment_left(stop));
    put(PlaceKind::splice, Conductor::common, stop, defect,
        splice_weight(config_, at, w) * common_.splice_left(stop));
  }

  // Several zones at once: the common, where the runs have put it.
  void add_commons(Defect defect, const FaultWeights& w) {
    const auto said = common_.said_by_runs(w);
    put(PlaceKind::controller, Conductor::common, 0, defect, common_.controller_weight(w));
    for (int stop = 1; stop <= last(); ++stop) {
      const Stop& at = path_.stop(stop);
      const auto i = static_cast<std::size_t>(stop);
      put(PlaceKind::segment, Conductor::common, stop, defect, said[i] * segment_weight(config_, at, w));
      // A splice parts what leads on from it as well as what leads to it.
      const double on = stop < last() ? kLeadsOn * said[i + 1] : 0;
      put(PlaceKind::splice, Conductor::common, stop, defect,
          std::max(said[i], on) * splice_weight(config_, at, w));
    }
  }

  void add_short() {
    if (draw_ratio(finding_) < kPartOfTurns) {
      put(PlaceKind::coil, Conductor::zone, last(), Defect::coil_ohms, 0.95);
      put(PlaceKind::splice, Conductor::zone, last(), Defect::shunt_ohms, 0.05);
      return;
    }
    for (int stop = 1; stop <= last(); ++stop) {
      put(PlaceKind::segment, Conductor::zone, stop, Defect::shunt_ohms,
          segment_weight(config_, path_.stop(stop), kShortWeights));
      put(PlaceKind::splice, Conductor::zone, stop, Defect::shunt_ohms,
          splice_weight(config_, path_.stop(stop), kShortWeights));
    }
    put(PlaceKind::coil, Conductor::zone, last(), Defect::coil_ohms, kShortWeights.coil);
  }

  // Where both wires lie side by side.
  void add_crossing() {
    int shared = last();
    for (int zone : finding_.zones)
      if (const ZoneConfig* z = config_.zone(zone); z && z->box >= 0)
        while (shared > 0 && !goes_by(config_, z->box, path_.stop(shared).box)) --shared;
    put(PlaceKind::controller, Conductor::zone, 0, Defect::crossed, kCrossWeights.controller);
    for (int stop = 1; stop <= shared; ++stop) {
      put(PlaceKind::segment, Conductor::zone, stop, Defect::crossed,
          segment_weight(config_, path_.stop(stop), kCrossWeights));
      put(PlaceKind::splice, Conductor::zone, stop, Defect::crossed,
          splice_weight(config_, path_.stop(stop), kCrossWeights));
    }
  }

  void add_branch() {
    put(PlaceKind::coil, Conductor::zone, last(), Defect::branch_open, kOpenWeights.coil);
    put(PlaceKind::splice, Conductor::zone, last(), Defect::branch_open, kOpenWeights.splice);
    // At the valve's own leads: what is before them.
    if (!list_.empty()) list_.back().spot = volts_spot(last());
  }

  void add_plunger() {
    put(PlaceKind::coil, Conductor::zone, last(), Defect::plunger_out, 0.85);
    put(PlaceKind::splice, Conductor::zone, last(), Defect::series_ohms, 0.05);
    if (!list_.empty() && last() > 0) list_.back().spot = volts_spot(last());
    for (int stop = 1; stop < last(); ++stop)
      put(PlaceKind::splice, Conductor::zone, stop, Defect::series_ohms, 0.05 / last());
    put(PlaceKind::controller, Conductor::zone, 0, Defect::series_ohms, 0.05);
  }

  const Config& config_;
  const Finding& finding_;
  const WirePath& path_;
  const CommonWitness common_;
  std::vector<Suspect> list_;
};

}  // namespace

int zone_to_measure(const Config& config, const Finding& finding) {
  for (const bool boxed : {true, false})
    for (int zone : finding.zones) {
      const ZoneConfig* configured = config.zone(zone);
      if (zone != kMasterZone && (!boxed || (configured && configured->box >= 0))) return zone;
    }
  return finding.zones.empty() ? -1 : kMasterZone;
}

std::vector<Suspect> suspects_of(const Config& config, const Finding& finding, const WirePath& path,
                                 const std::vector<Neighbour>& neighbours) {
  return SuspectList(config, finding, path, neighbours).make();
}

}  // namespace coilward
