#include "daemon/diagnosis/zone_hypotheses.h"

#include "daemon/diagnosis/exposure.h"
#include "daemon/diagnosis/zone_grids.h"

#include <cmath>
#include <complex>
#include <utility>

namespace coilward {
namespace {

using Ohms = std::complex<double>;

// Chance per day that a healthy output becomes faulty, by class. Common practice, as rough as it is: broken
// wires and splices lead, then bad splices, stuck valves and coils with shorted turns.
constexpr std::array<double, kZoneClasses> kHazard = {0,    3e-6, 2e-3, 1.2e-4, 4e-5, 5e-5,
                                                      5e-5, 5e-5, 6e-5, 5e-5,   4e-6};
// Chance per run that it ends by itself: a flickering splice, debris washed out of a valve.
constexpr std::array<double, kZoneClasses> kHeals = {0,     0,     0.02, 0.01,  0.003, 0.001,
                                                     0.002, 0.002, 0.01, 0.005, 0.01};
// The chance that something is wrong on the first day, over the hazard of a day.
constexpr double kFirstDay = 40;
// The chance that what is first thought normal is off by some per cent.
constexpr double kFirstOffset = 0.10;
// Share of repairs that put in another coil.
constexpr double kMendedByOther = 0.15;
// The chance of being sound below which someone has been told.
constexpr double kWouldBeTold = 0.10;
// Chance per run that a bad splice gets a step worse, or better (wet, dry).
constexpr double kGetsWorse = 0.12, kGetsBetter = 0.04;

// Less than the first is not worth a visit, nor told from a sensor's drift.
constexpr double kAddedOhms[] = {4, 6, 8.5, 12, 16.5, 23, 32, 44, 60, 85, 120, 170, 250};
// A splice begins small, as a rule: each step is as likely a beginning as so much of the one below it; own
// judgement.
constexpr double kBeginsNext = 0.85;
// What a sound output may be off by: an early guess or a season's trace, a sensor for another. This, the
// drift and the splice's wander below are own judgement.
constexpr double kOffsets[] = {0.015, 0.045}, kOffsetShares[] = {0.7, 0.15};
// Or it wavers more from run to run than was thought so far: a bad splice does so too, but draws less by it.
constexpr double kWaversShare = 0.15, kHoldWavers = 0.01, kInrushWavers = 0.03;
constexpr double kWideLater = 0.25;
// What lasts of an output does so within this, from run to run, relative.
constexpr double kDrift = 0.002;

Ohms hold_of(const ZoneElectrics& z) { return z.hold_impedance(); }
Ohms inrush_of(const ZoneElectrics& z) { return z.inrush_impedance(); }

// Of the sensors that fail, so many go blind: as often as all gains together; own judgement.
constexpr double kBlindShare = 1;
// One that is the same for days lies somewhere between two sizes.
constexpr double kBetweenSizes = 0.15;

std::vector<SizedPrediction> splices(const ZoneElectrics& z, double wanders) {
  std::vector<SizedPrediction> row;
  double share = 1, sum = 0;
  for (double ohms : kAddedOhms) {
    Prediction p = added_ohms(z, ohms, wanders);
    if (wanders == kSpliceKeeps) {
      p.hold_tolerance = kBetweenSizes * std::abs(std::log(p.hold));
      p.inrush_tolerance = kBetweenSizes * std::abs(std::log(p.inrush));
    }
    row.push_back({ohms, share, p});
    sum += share;
    share *= kBeginsNext;
  }
  for (auto& sized : row) sized.share *= 0.5 / sum;
  return row;
}

// Limited by the wire up to the short, or ended by a fuse or the controller's cut-out.
Prediction shorted(const ZoneElectrics& z, double source_ohms, bool at_valve) {
  const double wire = (at_valve ? 1.0 : 0.4) * z.copper_ohms() + source_ohms + 1.5;
  Prediction p;
  p.hold = p.inrush = std::max(2.0, std::abs(hold_of(z)) / wire);
  p.hold_wander = p.inrush_wander = 0.35;
  // The supply sags as far as the transformer and the wire let it.
  p.volts = p.zone_volts = 0.6;
  p.volts_wander = 0.6;
  p.cut_out = 0.5;
  p.high_before_cut = true;
  p.fall_tolerance = 2;
  return p;
}

Prediction tripped() {
  Prediction p;
  p.hold = 0;
  p.inrush = 5;
  p.inrush_wander = 0.8;
  p.volts_wander = 0.15;
  p.cut_out = 0.85;  // it takes a moment, which most sensors see
  p.high_before_cut = true;
  return p;
}

std::vector<SizedPrediction> offsets() {
  std::vector<SizedPrediction> row;
  for (std::size_t i = 0; i < std::size(kOffsets); ++i) {
    Prediction p;
    p.hold_tolerance = p.inrush_tolerance = kOffsets[i];
    row.push_back({kOffsets[i], kOffsetShares[i], p});
  }
  Prediction wavering;
  wavering.hold_tolerance = wavering.inrush_tolerance = kOffsets[0];
  wavering.hold_wander = kHoldWavers;
  wavering.inrush_wander = kInrushWavers;
  row.push_back({kOffsets[0], kWaversShare, wavering});
  return row;
}

}  // namespace

Prediction open_wire() {
  Prediction p;
  p.hold = p.inrush = 0;
  p.cut_out = 0.1;
  p.dips = 0.05;
  return p;
}

namespace {

// It reads nothing, whatever flows: but for that, a broken wire.
Prediction blind_sensor() {
  Prediction p = open_wire();
  p.back = 1;
  return p;
}

}  // namespace

Prediction added_ohms(const ZoneElectrics& z, double ohms, double wanders) {
  Prediction p;
  p.hold = current_ratio(hold_of(z), hold_of(z) + ohms);
  p.inrush = current_ratio(inrush_of(z), inrush_of(z) + ohms);
  p.hold_wander = wanders * std::abs(std::log(p.hold));
  p.inrush_wander = wanders * std::abs(std::log(p.inrush));
  p.dips = 0.05;  // a bad splice is a moving one
  const double resistance = hold_of(z).real();
  p.fall = (resistance + ohms) / resistance * std::pow(p.hold, 4);
  p.unseated = chance_unseated(p.inrush);
  p.hold_unseated = current_ratio(hold_of(z), inrush_of(z) + ohms);
  p.unseated_sd = z.inrush_sd;
  return p;
}

Fault fault_of(ZoneClass zone_class) {
  switch (zone_class) {
    case ZoneClass::open_circuit:
      return Fault::open_circuit;
    case ZoneClass::shorted_full:
    case ZoneClass::shorted_part:
      return Fault::shorted_coil;
    case ZoneClass::high_resistance:
      return Fault::high_resistance;
    case ZoneClass::partial_open:
      return Fault::partial_open;
    case ZoneClass::plunger_not_seated:
      return Fault::plunger_not_seated;
    case ZoneClass::earth_leakage:
      return Fault::earth_leakage;
    case ZoneClass::healthy:
    case ZoneClass::replaced:
    case ZoneClass::offset:
    case ZoneClass::sensor_gain:
      break;
  }
  return Fault::sensor_fault;
}

void ZoneHypotheses::add(ZoneClass zone_class, double size, Prediction prediction) {
  const auto c = static_cast<std::size_t>(zone_class);
  if (count_[c]++ == 0) begin_[c] = list_.size();
  list_.push_back({zone_class, size, prediction, 0});
}

void ZoneHypotheses::add(ZoneClass zone_class, const std::vector<SizedPrediction>& row) {
  for (const auto& sized : row) {
    add(zone_class, sized.size, sized.prediction);
    list_.back().share = std::max(sized.share, 1e-6);
  }
}

ZoneHypotheses::ZoneHypotheses(const ZoneElectrics& z, double source_ohms) {
  add(ZoneClass::healthy, 0, {});
  add(ZoneClass::replaced, other_coils());
  add(ZoneClass::offset, offsets());
  add(ZoneClass::open_circuit, 0, open_wire());
  add(ZoneClass::shorted_full, 0, shorted(z, source_ohms, true));
  add(ZoneClass::shorted_full, 0, shorted(z, source_ohms, false));
  add(ZoneClass::shorted_full, 0, tripped());
  add(ZoneClass::shorted_part, lost_turns(z));
  add(ZoneClass::high_resistance, splices(z, kSpliceKeeps));
  add(ZoneClass::high_resistance, splices(z, kSpliceWanders));
  add(ZoneClass::partial_open, valves_lost(z));
  add(ZoneClass::plunger_not_seated, plungers_out(z));
  add(ZoneClass::earth_leakage, leaks_to_earth(z));
  add(ZoneClass::sensor_gain, sensor_gains());
  add(ZoneClass::sensor_gain, {{0, kBlindShare, blind_sensor()}});
  for (std::size_t i = 0; i < size(); ++i)
    if (list_[i].share == 0)
      list_[i].share = 1.0 / static_cast<double>(count_[static_cast<std::size_t>(list_[i].zone_class)]);
  find_moves();
}

double ZoneHypotheses::chance(const Belief& belief, ZoneClass zone_class) const {
  const auto c = static_cast<std::size_t>(zone_class);
  double sum = 0;
  for (std::size_t i = begin_[c]; i < begin_[c] + count_[c]; ++i) sum += belief[i].chance;
  return sum;
}

double ZoneHypotheses::sound(const Belief& belief) const {
  return belief[0].chance + chance(belief, ZoneClass::offset);
}

Belief ZoneHypotheses::first() const {
  Belief belief(size());
  double faulty = 0;
  for (std::size_t i = 1; i < size(); ++i) {
    const auto c = static_cast<std::size_t>(list_[i].zone_class);
    if (list_[i].zone_class == ZoneClass::offset)
      faulty += belief[i].chance = kFirstOffset * list_[i].share;
    else if (list_[i].zone_class != ZoneClass::replaced)
      faulty += belief[i].chance = kFirstDay * kHazard[c] * list_[i].share;
  }
  belief[0].chance = 1 - faulty;
  return belief;
}

// The same, one size up: a class may have more rows than one, each rising.
bool ZoneHypotheses::is_next(std::size_t i, std::size_t next) const {
  return next < size() && list_[next].zone_class == list_[i].zone_class && list_[next].size > list_[i].size;
}

void ZoneHypotheses::find_moves() {
  for (std::size_t i = 0; i < size(); ++i) {
    const auto c = static_cast<std::size_t>(list_[i].zone_class);
    // Those that keep what they are do not grow: the others are there for that.
    const bool grows =
        list_[i].zone_class == ZoneClass::high_resistance && list_[i].prediction.hold_tolerance == 0;
    const bool has_next = is_next(i, i + 1), has_previous = i > 0 && is_next(i - 1, i);
    Move move;
    move.heals = kHeals[c];
    move.begins = i == 0 ? 0 : kHazard[c] * list_[i].share;
    // What is known by then is off by a wide margin far less often than a first guess.
    if (list_[i].zone_class == ZoneClass::offset && list_[i].size > kOffsets[0]) move.begins *= kWideLater;
    move.up = (1 - move.heals) * (grows && has_next ? kGetsWorse : 0);
    move.down = (1 - move.heals) * (grows && has_previous ? kGetsBetter : 0);
    move.stays = 1 - move.heals - move.up - move.down;
    moves_.push_back(move);
  }
}

namespace {

// Of a level as it was learned.
Slacks fresh(const Observation& next) {
  return {{0, next.hold_lasting_sd * next.hold_lasting_sd},
          {0, next.inrush_lasting_sd * next.inrush_lasting_sd},
          {0, next.returned_lasting_sd * next.returned_lasting_sd},
          {0, next.fall_lasting_sd * next.fall_lasting_sd}};
}

// As a hypothesis begins: what is not known of the level, and what it leaves open itself.
Slacks begun(Slacks level, const Prediction& p) {
  level.hold.variance += p.hold_tolerance * p.hold_tolerance;
  level.inrush.variance += p.inrush_tolerance * p.inrush_tolerance;
  level.fall.variance += p.fall_variance();
  return level;
}

// What is left of a belief after one run counts from what is thought normal then: that has moved by what was
// learned.
void carry(Slacks& slacks, const Observation& last, const Observation& next) {
  slacks.hold.mean -= next.hold_own - last.hold_own;
  slacks.inrush.mean -= next.inrush_own - last.inrush_own;
  slacks.returned.mean -= next.returned_own - last.returned_own;
  for (Slack* it : {&slacks.hold, &slacks.inrush, &slacks.returned}) it->variance += kDrift * kDrift;
}

// Two sizes that come to one: where one of them is so much the likelier, the other moves no slack.
constexpr double kWorthMixing = 1e-5;
void join(Hypothetical& into, double chance, const Slacks& slacks) {
  if (chance > kWorthMixing * into.chance) into.slacks = mixed(into.slacks, into.chance, slacks, chance);
  into.chance += chance;
}

}  // namespace

// Who mends a zone may put in another coil; nobody mends what nobody was told of.
void ZoneHypotheses::put_in_others(std::vector<double>& begins, double put_in_all) const {
  const auto other = static_cast<std::size_t>(ZoneClass::replaced);
  for (std::size_t i = begin_[other]; i < begin_[other] + count_[other]; ++i)
    begins[i] += put_in_all * list_[i].share;
}

// What was known of the level was known of the coil before. Sound again is as it was learned, whatever a
// sound output would have had to be meanwhile.
Slacks ZoneHypotheses::begun_slacks(std::size_t i, const Slacks& sound, const Observation& next) const {
  const bool as_learned = i == 0 || list_[i].zone_class == ZoneClass::replaced;
  return begun(as_learned ? fresh(next) : sound, list_[i].prediction);
}

std::vector<double> ZoneHypotheses::step(Belief& belief, const Observation* last, const Observation& next,
                                         double least) const {
  std::vector<double> begun_now(belief.size());
  const double healthy = belief[0].chance, intact = sound(belief);
  // What a run taught is in what is thought normal; what it did not, the next one shows again.
  if (!last || last->taught)
    belief[0].slacks = fresh(next);
  else
    carry(belief[0].slacks, *last, next);
  const double exposure = last ? exposure_days(last->start, next.start) : 1;
  double healed = 0, settled = 0, broken = 0, off = 0;
  Hypothetical below;  // the size before, as it was
  for (std::size_t i = 1; i < belief.size(); ++i) {
    Hypothetical& it = belief[i];
    const Move& move = moves_[i];
    const bool offset = list_[i].zone_class == ZoneClass::offset;
    const double grown = below.chance * moves_[i - 1].up;
    const double begins = exposure * move.begins;
    const double new_one = (offset ? healthy : intact) * begins;
    const double shrunk = i + 1 < belief.size() ? belief[i + 1].chance * moves_[i + 1].down : 0;
    (offset ? settled : healed) += it.chance * move.heals;
    (offset ? off : broken) += begins;
    if (last)
      carry(it.slacks, *last, next);
    else
      it.slacks = begun(fresh(next), list_[i].prediction);
    const Hypothetical before = std::exchange(below, it);
    it.chance = it.chance * move.stays + shrunk;  // the next size's slack is much the same
    if (it.chance + grown + new_one < least) {
      it.chance = 0;
      continue;
    }
    if (grown > 0) join(it, grown, before.slacks);
    begun_now[i] = new_one;
  }
  const double mended = intact < kWouldBeTold ? kMendedByOther : 0;
  put_in_others(begun_now, mended * healed);
  const auto offsets = static_cast<std::size_t>(ZoneClass::offset);
  for (std::size_t i = begin_[offsets]; i < begin_[offsets] + count_[offsets]; ++i)
    belief[i].chance *= 1 - broken;
  belief[0].chance = healthy * (1 - broken - off);
  begun_now[0] = settled + (1 - mended) * healed;
  return begun_now;
}

}  // namespace coilward
