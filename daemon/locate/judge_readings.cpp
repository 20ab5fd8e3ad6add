#include "daemon/locate/judge_readings.h"

#include <fmt/format.h>

#include <array>
#include <cmath>

namespace coilward {
namespace {

// A reading may be written down wrong, or taken at another wire. Own judgement.
constexpr double kSlip = 0.01;
// A splice in the very box where volts are measured: the side that comes from the controller is asked for,
// and not always found. Own judgement.
constexpr double kOtherSide = 0.05;
// A leak through earth is of any size, and changes with the water in it: as far as from one of its sizes to
// the next. Own judgement.
constexpr double kLeakShare = 0.4;
// Further from what a place would show than this, in standard deviations, it is not what that place shows.
constexpr double kTooFar = 3.5;

// Density of what the meter shows, and how far off it is. Slips are spread over all that can be entered.
struct Likeness {
  double density = 0, slip = 1, deviations = 0;
};

Likeness normal(double value, double mean, double sd, double range) {
  const double z = (value - mean) / sd;
  return {std::exp(-z * z / 2) / (sd * std::sqrt(2 * M_PI)), 1 / range, std::abs(z)};
}

Likeness of_volts(double value, double expected) {
  if (expected > 0) return normal(value, expected, kMeterVolts + kMeterShare * expected, kMostVolts);
  Likeness like = normal(value, 0, kPickedUpVolts, kMostVolts);
  like.density *= 2;  // never below nothing
  return like;
}

// In decades: ohms go from a tenth to a milliard.
Likeness of_ohms(double value, double expected, double share) {
  constexpr double kDecades = 10, kShoulder = 0.2;
  const double x = std::log10(std::max(value, 0.1)), open = std::log10(kNoPathOhms);
  if (expected < kNoPathOhms) {
    const double sd = std::hypot(kMeterOhms, share * expected);
    const double in_decades = std::max(sd / std::max(expected, 0.1) / std::log(10.0), 0.02);
    return normal(x, std::log10(std::max(expected, 0.1)), in_decades, kDecades);
  }
  const double short_of = std::max(0.0, open - x) / kShoulder;
  return {std::exp(-short_of * short_of / 2) / (kDecades - open), 1 / kDecades, short_of};
}

Likeness of_source(double share, bool whole) {
  if (whole) return normal(share, kGoodSource, kGoodSourceSd, 1.1);
  Likeness like = normal(share, 0, 3 * kBrokenSource, 1.1);
  like.density *= 2;
  return like;
}

bool parts(const Condition& c, Conductor wire, Conductor driven) {
  return c.defect == Defect::open && wire == driven;
}

// Of one reading, when the suspect's defect is as the condition says.
Likeness likeness(const TestReading& r, int stop, const Ladder& ladder, const Condition& c, Conductor wire) {
  switch (r.kind) {
    case ReadingKind::volts_on:
      return of_volts(r.value, volts_on_at(ladder, stop, c));
    case ReadingKind::ohms:
      return of_ohms(r.value,
                     r.toward == Toward::valve ? ohms_toward_valve(ladder, stop, c)
                                               : ohms_toward_controller(ladder, stop, c),
                     c.defect == Defect::earth_ohms ? kLeakShare : kMeterOhmsShare);
    case ReadingKind::source_volts:
      return of_source(r.value / r.source_volts,
                       !(parts(c, wire, r.conductor) && c.spot <= volts_spot(stop)));
  }
  return {};
}

struct Grid {
  std::vector<double> values, weights;
};

// Nine points over 2.4 deviations to both sides, spaced in proportion.
Grid bell(double middle, double sd, bool needed) {
  if (!needed) return {{middle}, {1}};
  Grid grid;
  double sum = 0;
  for (int i = -4; i <= 4; ++i) {
    const double z = 0.6 * i;
    grid.values.push_back(middle * std::exp(sd * z));
    grid.weights.push_back(std::exp(-z * z / 2));
    sum += grid.weights.back();
  }
  for (double& w : grid.weights) w /= sum;
  return grid;
}

// Sum, mean and spread of something weighted.
struct Moments {
  double weight = 0, first = 0, second = 0;
  void add(double w, double x) {
    weight += w;
    first += w * x;
    second += w * x * x;
  }
  double mean() const { return first / weight; }
  double sd() const { return std::sqrt(std::max(0.0, second / weight - mean() * mean())); }
};

class Judge {
 public:
  Judge(std::span<const Suspect> suspects, const Ladder& ladder, const WirePath& path, double ratio,
        std::span<const TestReading> readings)
      : suspects_(suspects), ladder_(ladder), ratio_(ratio) {
    for (std::size_t i = 0; i < readings.size(); ++i)
      if (const int stop = path.stop_named(readings[i].at); stop >= 0 && readings[i].zone == path.zone)
        heard_.push_back({&readings[i], stop, static_cast<int>(i)});
    out_.explained.assign(readings.size(), true);
    alone_.assign(heard_.size(), false);
    without_.assign(heard_.size(), false);
    out_.together = heard_.empty();
  }

  Judgement judge() {
    const Grid supply = bell(kSupplyMiddle, kSupplySd, heard(ReadingKind::volts_on));
    const Grid coil = bell(1, kCoilSd, heard(ReadingKind::ohms));
    double sum = 0;
    for (const Suspect& s : suspects_) sum += out_.probability.emplace_back(of_suspect(s, supply, coil));
    for (double& p : out_.probability) p /= sum;
    finish(supply.values.size() > 1, coil.values.size() > 1);
    return std::move(out_);
  }

 private:
  struct Heard {
    const TestReading* reading;
    int stop, index;
  };

  bool heard(ReadingKind kind) const {
    for (const Heard& h : heard_)
      if (h.reading->kind == kind) return true;
    return false;
  }

  double of_suspect(const Suspect& s, const Grid& supply, const Grid& coil) {
    const auto sizes = sizes_of(s, ladder_, ratio_);
    double sum = 0;
    for (double ohms : sizes)
      for (std::size_t v = 0; v < supply.values.size(); ++v)
        for (std::size_t c = 0; c < coil.values.size(); ++c) {
          Condition condition = condition_of(s, ohms);
          condition.supply_factor = supply.values[v];
          condition.coil_factor = coil.values[c];
          const double w = s.weight / static_cast<double>(sizes.size()) * supply.weights[v] *
                           coil.weights[c] * of_condition(s, condition);
          supply_.add(w, supply.values[v]);
          coil_.add(w, coil.values[c]);
          sum += w;
        }
    return sum;
  }

  double of_condition(const Suspect& s, const Condition& condition) {
    double product = 1;
    int odd = 0, last_odd = -1;
    for (std::size_t i = 0; i < heard_.size(); ++i) {
      const Heard& h = heard_[i];
      Likeness like = likeness(*h.reading, h.stop, ladder_, condition, s.place.conductor);
      if (h.reading->kind != ReadingKind::ohms && condition.spot == splice_spot(h.stop)) {
        Condition other = condition;
        other.spot = volts_spot(h.stop);
        const Likeness side = likeness(*h.reading, h.stop, ladder_, other, s.place.conductor);
        like.density = (1 - kOtherSide) * like.density + kOtherSide * side.density;
        like.deviations = std::min(like.deviations, side.deviations);
      }
      product *= (1 - kSlip) * like.density + kSlip * like.slip;
      if (like.deviations <= kTooFar)
        alone_[i] = true;
      else
        ++odd, last_odd = static_cast<int>(i);
    }
    if (odd == 0) out_.together = true;
    if (odd == 1) without_[static_cast<std::size_t>(last_odd)] = true;
    return product;
  }

  void finish(bool supply, bool coil) {
    if (supply) out_.supply = supply_.mean(), out_.supply_sd = supply_.sd();
    if (coil) out_.coil = coil_.mean(), out_.coil_sd = coil_.sd();
    for (std::size_t i = 0; i < heard_.size(); ++i) {
      out_.explained[static_cast<std::size_t>(heard_[i].index)] = alone_[i];
      if (!out_.together && (without_[i] || !alone_[i])) out_.odd.push_back(heard_[i].index);
    }
  }

  std::span<const Suspect> suspects_;
  const Ladder& ladder_;
  const double ratio_;
  std::vector<Heard> heard_;
  std::vector<bool> alone_, without_;  // by heard reading: explained alone; the only one that is odd
  Moments supply_, coil_;
  Judgement out_;
};

std::vector<double> around(double middle) {
  return {0.75 * middle, 0.87 * middle, middle, 1.15 * middle, 1.33 * middle};
}

}  // namespace

double draw_ratio(const Finding& finding) {
  for (const Evidence& e : finding.evidence)
    if (e.unit == "A" && measured(e.observed) && measured(e.expected) && e.expected > 0)
      return e.observed / e.expected;
  return 1;
}

std::vector<double> sizes_of(const Suspect& suspect, const Ladder& ladder, double ratio) {
  switch (suspect.defect) {
    case Defect::series_ohms: {
      const double ohms = series_ohms_for(ladder, ratio);
      return ohms > 1 ? around(ohms) : std::vector<double>{8, 20, 40};
    }
    case Defect::shunt_ohms:
      return {0.2, 1, 3};  // contact of bare wires, dry to wet
    case Defect::earth_ohms:
      return {30, 100, 300, 1000};
    case Defect::coil_ohms:
      if (ratio > 1 && ratio < 3) return around(std::abs(ladder.coils) / ratio);
      return {1, 3, 8};
    default:
      return {0};
  }
}

Condition condition_of(const Suspect& suspect, double ohms) {
  return {suspect.defect, suspect.spot, ohms, 1, 1};
}

Judgement judge_readings(std::span<const Suspect> suspects, const Ladder& ladder, const WirePath& path,
                         double ratio, std::span<const TestReading> readings) {
  return Judge(suspects, ladder, path, ratio, readings).judge();
}

std::string odd_words(const Judgement& judgement, std::span<const TestReading> readings) {
  if (judgement.together) return {};
  std::string alone, several;
  for (int i : judgement.odd) {
    const auto at = static_cast<std::size_t>(i);
    std::string& words = judgement.explained[at] ? several : alone;
    words += (words.empty() ? "" : "; ") + reading_words(readings[at]);
  }
  std::string text;
  if (!alone.empty()) text = fmt::format("No place explains this reading: {}. ", alone);
  if (alone.empty() && several.empty()) text = "No place explains these readings together. ";
  if (!several.empty())
    text += fmt::format("No place explains all readings together. One of these may be wrong: {}. ", several);
  for (int i : judgement.odd)
    if (readings[static_cast<std::size_t>(i)].kind == ReadingKind::source_volts)
      return text +
             "It is kept. Half of the source's volts is doubtful: a wet splice or damaged insulation. " +
             "Measure it again.";
  return text + "It is kept. Measure it again.";
}

}  // namespace coilward
