#include "daemon/diagnosis/zone_grids.h"

#include <algorithm>
#include <cmath>
#include <functional>

namespace coilward {
namespace {

using Ohms = std::complex<double>;

// Sizes stand at most so far apart in the logarithm of the holding current; half of it is the tolerance of
// each, with which neighbours add up to an even chance over all levels (within 3 % of it). How many there are
// does not depend on the coil, so that a chance stays that of its size when the coil is known better.
constexpr double kStep = 0.10, kTolerance = 0.5 * kStep;
constexpr int kTurnSteps = 26, kPlungerSteps = 8, kLeakSteps = 11;
// How well an inrush is foretold from the holding current: a coil's resistance is only roughly known.
constexpr double kInrushShare = 0.15;
constexpr double kLeastTurns = 0.25, kMostTurns = 0.975;
constexpr double kLeastLeak = 0.06, kMostLeak = 2.0;
constexpr double kLeastGain = 0.4, kMostGain = 2.2;
// Standard deviations, relative: of the valves on one output, of the coils of different makes, and of their
// inrush for a given holding current (common practice: 0.2 to 0.3 A hold, 0.35 to 0.5 A inrush).
constexpr double kValvesDiffer = 0.05, kCoilsDiffer = 0.28, kCoilsInrushDiffer = 0.15;
// How well a fault's fall is foretold from its level, and how much the falls of different makes differ,
// deviations of the logarithm. Shorted turns carry a current of their own and heat the rest; own judgement.
constexpr double kTurnsFall = 0.4, kPlungerFall = 0.2, kCoilsFallDiffer = 0.6;
// A warmer coil's current is nearer to the leak's in phase, which makes up for much of its fall: for how much
// depends on how resistive the coil is, iron and all. In impedances; own judgement.
constexpr double kResistive = 0.5, kLeastLeakFall = 0.25, kLeakFall = 0.7;
constexpr double kLittle = 1e-3;  // for a slope, by difference
// A plunger that does not seat has half of its way left or more.
constexpr double kLeastWay = 0.5;
Prediction seen_as(double hold, double inrush) {
  Prediction p;
  p.hold = hold;
  p.inrush = inrush;
  p.hold_tolerance = kTolerance;
  p.inrush_tolerance = std::hypot(kTolerance, kInrushShare * std::log(inrush / hold), 0.01);
  return p;
}

void add_up_to_one(std::vector<SizedPrediction>& row) {
  double sum = 0;
  for (const auto& sized : row) sum += sized.share;
  for (auto& sized : row) sized.share /= sum;
}

// Sizes from `from` to `to`, at which the holding ratio, rising or falling all the way, has moved by a step
// each.
std::vector<SizedPrediction> spaced(int steps, double from, double to,
                                    const std::function<Prediction(double)>& at,
                                    const std::function<double(double)>& chance_up_to) {
  const double first = std::log(at(from).hold), last = std::log(at(to).hold);
  std::vector<SizedPrediction> row;
  double before = from;
  for (int i = 0; i < steps; ++i) {
    // The size in the middle of this step and the one at its end, by halving.
    const auto size_at = [&](double place) {
      const double wanted = first + (last - first) * place;
      double low = from, high = to;
      for (int k = 0; k < 40; ++k) {
        const double middle = 0.5 * (low + high);
        const bool beyond = (std::log(at(middle).hold) - wanted) * (last - first) > 0;
        (beyond ? high : low) = middle;
      }
      return 0.5 * (low + high);
    };
    const double middle = size_at((i + 0.5) / steps), end = size_at((i + 1.0) / steps);
    row.push_back({middle, std::abs(chance_up_to(end) - chance_up_to(before)), at(middle)});
    before = end;
  }
  add_up_to_one(row);
  return row;
}

double normal_cdf(double z) { return 0.5 * std::erfc(-z / std::sqrt(2.0)); }

// One plunger or more of those in parallel, each as far out as the others.
std::vector<SizedPrediction> some_out(const ZoneElectrics& z, int out) {
  const double n = z.valves;
  const auto at = [&](double way) {
    const double reactance = z.seated_ohms + way * (z.open_ohms - z.seated_ohms);
    const Ohms seated = Ohms{z.coil_ohms, z.seated_ohms} * n, open = Ohms{z.coil_ohms, reactance} * n;
    const Ohms admittance = (n - out) / seated + double(out) / open;
    Prediction p = seen_as(current_ratio(z.hold_impedance(), z.copper_ohms() + 1.0 / admittance), 1.0);
    const double more = current_ratio(z.copper_ohms() + seated, z.copper_ohms() + open);
    p.fall = (n - out + out * std::pow(more, 5)) / (n - out + out * more);
    p.fall_tolerance = kPlungerFall;
    return p;
  };
  // The way left is even from half to all; how far "all" raises the current is known as well as the inrush
  // is.
  const double spread =
      z.inrush_sd / std::max(0.1, std::log(current_ratio(z.hold_impedance(), z.inrush_impedance())));
  const auto weight = [&](double way) {
    const double sd = std::max(0.04, spread * way);
    return normal_cdf((1 - way) / sd) - normal_cdf((kLeastWay - way) / sd);
  };
  const double most = std::min(1 + 2 * spread, 0.95 * z.seated_ohms / (z.seated_ohms - z.open_ohms));
  auto row = spaced(kPlungerSteps, std::max(0.15, kLeastWay - spread), std::max(1.05, most), at,
                    [](double way) { return way; });
  for (auto& sized : row) {
    sized.share *= weight(sized.size);
    sized.size *= out;
    sized.prediction.inrush_tolerance = 0.01;  // at switch-on every plunger is out
  }
  add_up_to_one(row);
  return row;
}

// How a coil's current and the leak beside it fall together, over the coil's alone. level: both over the
// coil's.
double leaking_fall(double level) {
  const double reactive = std::sqrt(1 - kResistive * kResistive);
  const Ohms coil = 1.0 / Ohms{kResistive, reactive}, warmer = 1.0 / Ohms{kResistive + kLittle, reactive};
  const double leak = std::sqrt(std::max(0.0, level * level - reactive * reactive)) - kResistive;
  return std::log(std::abs(coil + leak) / std::abs(warmer + leak)) /
         std::log(std::abs(coil) / std::abs(warmer));
}

}  // namespace

std::vector<SizedPrediction> lost_turns(const ZoneElectrics& z) {
  const auto at = [&](double turns) {
    const Ohms hold{z.copper_ohms() + turns * z.coil_ohms, turns * turns * z.seated_ohms};
    const Ohms inrush{z.copper_ohms() + turns * z.coil_ohms, turns * turns * z.open_ohms};
    return seen_as(current_ratio(z.hold_impedance(), hold), current_ratio(z.inrush_impedance(), inrush));
  };
  const auto with_fall = [&](double turns) {
    Prediction p = at(turns);
    const double resistance = (z.copper_ohms() + turns * z.coil_ohms) / (z.copper_ohms() + z.coil_ohms);
    p.fall = turns * turns * resistance * std::pow(p.hold, 4);
    p.fall_tolerance = kTurnsFall;
    return p;
  };
  return spaced(kTurnSteps, kMostTurns, kLeastTurns, with_fall, [](double turns) { return turns; });
}

std::vector<SizedPrediction> plungers_out(const ZoneElectrics& z) {
  std::vector<SizedPrediction> all;
  for (int out = 1; out <= std::min(z.valves, kMostValves); ++out) {
    auto row = some_out(z, out);
    all.insert(all.end(), row.begin(), row.end());
  }
  add_up_to_one(all);
  return all;
}

// Current through resistance to earth adds in phase with the volts, and does not come back on the common.
std::vector<SizedPrediction> leaks_to_earth(const ZoneElectrics& z) {
  const auto at = [&](double share) {
    const Ohms hold = 1.0 / z.hold_impedance(), inrush = 1.0 / z.inrush_impedance();
    const double leak = share * std::abs(hold);
    Prediction p =
        seen_as(std::abs(hold + leak) / std::abs(hold), std::abs(inrush + leak) / std::abs(inrush));
    p.returned = std::abs(hold) / std::abs(hold + leak);
    p.fall = std::max(kLeastLeakFall, leaking_fall(p.hold));
    p.fall_tolerance = kLeakFall;
    return p;
  };
  return spaced(kLeakSteps, kLeastLeak, kMostLeak, at, [](double share) { return std::log(share); });
}

// The valves on one output are of one make, as a rule; each takes within some per cent of its share.
std::vector<SizedPrediction> valves_lost(const ZoneElectrics& z) {
  std::vector<SizedPrediction> row;
  for (int lost = 1; lost < std::min(z.valves, kMostValves); ++lost)
    for (double off = -1; off <= 1; ++off) {
      const double scale = double(z.valves) / (z.valves - lost) * std::exp(off * kStep);
      const Ohms hold{z.copper_ohms() + scale * z.coil_ohms, scale * z.seated_ohms};
      const Ohms inrush{z.copper_ohms() + scale * z.coil_ohms, scale * z.open_ohms};
      Prediction p =
          seen_as(current_ratio(z.hold_impedance(), hold), current_ratio(z.inrush_impedance(), inrush));
      p.inrush_tolerance = std::hypot(p.inrush_tolerance, 0.02);
      row.push_back({double(lost), std::exp(-0.5 * std::pow(off * kStep / kValvesDiffer, 2)), p});
    }
  if (!row.empty()) add_up_to_one(row);
  return row;
}

std::vector<SizedPrediction> other_coils() {
  std::vector<SizedPrediction> row;
  for (double place = -2.2; place <= 2.2; place += kStep / kCoilsDiffer) {
    const double ratio = std::exp(place * kCoilsDiffer);
    Prediction p = seen_as(ratio, ratio);
    p.inrush_tolerance = kCoilsInrushDiffer;
    p.fall_tolerance = kCoilsFallDiffer;
    row.push_back({ratio, std::exp(-0.5 * place * place), p});
  }
  add_up_to_one(row);
  return row;
}

std::vector<SizedPrediction> sensor_gains() {
  std::vector<SizedPrediction> row;
  for (double gain = kLeastGain; gain < kMostGain; gain *= std::exp(kStep)) {
    if (std::abs(std::log(gain)) < 0.08) continue;  // what a sensor may be off by
    Prediction p = seen_as(gain, gain);
    p.returned = 1 / gain;
    row.push_back({gain, 1, p});
  }
  add_up_to_one(row);
  return row;
}

}  // namespace coilward
