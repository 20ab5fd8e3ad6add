#include "daemon/locate/suspect_weights.h"

#include <algorithm>

namespace coilward {
namespace {

// What is left of a common's weight beside a zone that draws by way of it: a reading may be wrong, and a run
// from before the fault says little. Own judgement.
constexpr double kClearedSince = 0.002, kClearedBefore = 0.2;
// Of a splice in the very box of a zone that draws: its other leads may be loose. Own judgement.
constexpr double kOtherLeads = 0.6;
// Of a common whose way is not known: what no other zone shares. Own judgement.
constexpr double kOwnPart = 0.3;
// Where the runs do not point. Own judgement.
constexpr double kNotPointedAt = 0.002;

const BoxConfig* box_of(const Config& config, const Stop& stop) {
  return stop.box < 0 ? nullptr : &config.boxes[static_cast<std::size_t>(stop.box)];
}

}  // namespace

double segment_weight(const Config& config, const Stop& stop, const FaultWeights& weights) {
  const BoxConfig* box = box_of(config, stop);
  // No length is so short that nothing can happen to it.
  return weights.metre * std::max(stop.metres, 0.5) * (box && box->dug ? config.visit.dug_weight : 1);
}

double splice_weight(const Config& config, const Stop& stop, const FaultWeights& weights) {
  const BoxConfig* box = box_of(config, stop);
  if (!box) return weights.splice;
  const double number = box->splices > 0 ? box->splices : 0.05;  // none known of
  return weights.splice * number * (box->repaired ? config.visit.repaired_weight : 1);
}

CommonWitness::CommonWitness(const Config& config, const Finding& finding, const WirePath& path,
                             const std::vector<Neighbour>& neighbours)
    : config_(config),
      finding_(finding),
      path_(path),
      segment_left_(path.stops.size(), 1.0),
      splice_left_(path.stops.size(), 1.0) {
  const ZoneConfig* own = config.zone(path.zone);
  for (const Neighbour& neighbour : neighbours) {
    const ZoneConfig* zone = config.zone(neighbour.zone);
    const bool dead =
        std::find(finding.zones.begin(), finding.zones.end(), neighbour.zone) != finding.zones.end();
    if (own && zone && neighbour.draws && !dead && zone->common == own->common) hear(neighbour, *zone);
  }
}

void CommonWitness::hear(const Neighbour& neighbour, const ZoneConfig& zone) {
  const double left = neighbour.since ? kClearedSince : kClearedBefore;
  for (int stop = 1; stop <= path_.last(); ++stop) {
    const int box = path_.stop(stop).box;
    const auto i = static_cast<std::size_t>(stop);
    // Where it is not said which way the wires go, a part of the common is theirs alone.
    if (box < 0) segment_left_[i] = std::min(segment_left_[i], std::max(left, kOwnPart));
    if (box < 0 || zone.box < 0 || !goes_by(config_, zone.box, box)) continue;
    segment_left_[i] = std::min(segment_left_[i], left);
    splice_left_[i] = std::min(splice_left_[i], zone.box == box ? std::max(left, kOtherLeads) : left);
  }
}

bool CommonWitness::takes_out_all(int stop) const {
  for (int zone : finding_.zones)
    if (const ZoneConfig* z = config_.zone(zone); z && z->box >= 0)
      if (!goes_by(config_, z->box, path_.stop(stop).box)) return false;
  return true;
}

std::vector<double> CommonWitness::said_by_runs(const FaultWeights& weights) const {
  std::vector<double> factor(path_.stops.size(), 0.0);
  bool pointed = false;
  for (const Stretch& stretch : finding_.where) {
    const int stop = path_.stop_named(stretch.to);
    if (stop < 1) continue;
    const Stop& at = path_.stop(stop);
    const double natural = segment_weight(config_, at, weights) + splice_weight(config_, at, weights);
    factor[static_cast<std::size_t>(stop)] += stretch.probability / natural;
    pointed = true;
  }
  if (pointed) {  // in the same measure as when nothing is pointed at
    const double most = *std::max_element(factor.begin(), factor.end());
    for (double& f : factor) f = std::max(f / most, kNotPointedAt);
    return factor;
  }
  for (int stop = 1; stop <= path_.last(); ++stop)
    factor[static_cast<std::size_t>(stop)] =
        takes_out_all(stop) ? std::max(segment_left(stop), kNotPointedAt) : kNotPointedAt;
  return factor;
}

// The common's terminal takes every zone with it.
double CommonWitness::controller_weight(const FaultWeights& weights) const {
  for (const Stretch& stretch : finding_.where)
    if (stretch.to == kControllerName) return weights.controller * 10 * std::max(stretch.probability, 0.01);
  const double left = *std::min_element(segment_left_.begin(), segment_left_.end());
  return weights.controller * (finding_.where.empty() ? left : kNotPointedAt);
}

}  // namespace coilward
