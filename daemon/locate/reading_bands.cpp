#include "daemon/locate/reading_bands.h"

#include <algorithm>
#include <cmath>

namespace coilward {
namespace {

// What a reading shows is given as so many standard deviations to both sides.
constexpr double kBand = 2;
constexpr double kUsualSource = 40;

void show_volts(double volts, const Judgement& judgement, Band& band) {
  const double sd =
      volts > 0 ? std::hypot(kMeterVolts + kMeterShare * volts, judgement.supply_sd * volts) : kPickedUpVolts;
  band.take_in(std::max(0.0, volts - kBand * sd), volts + kBand * sd);
}

void show_ohms(double ohms, const Ladder& ladder, const Judgement& judgement, Band& band) {
  if (ohms >= kNoPathOhms) return band.take_in(kNoPathOhms, kOpenOhms);
  const double coil = std::min(ohms, ladder.dc_ohms) * judgement.coil_sd;
  const double sd = std::hypot(kMeterOhms, kMeterOhmsShare * ohms, coil);
  band.take_in(std::max(0.0, ohms - kBand * sd), ohms + kBand * sd);
}

std::pair<Band, Band> source_bands() {
  Band before, beyond;
  before.take_in(0, 1);
  beyond.take_in(kUsualSource * (kGoodSource - kBand * kGoodSourceSd), kUsualSource);
  return {before, beyond};
}

}  // namespace

void Band::take_in(double from, double to) {
  low = std::min(low, from);
  high = std::max(high, to);
}

bool Band::apart_from(const Band& other) const {
  return any() && other.any() && (high < other.low || other.high < low);
}

bool is_before(const TestForm& form, const Suspect& s) {
  switch (form.kind) {
    case ReadingKind::volts_on:
      return s.spot <= volts_spot(form.stop);
    case ReadingKind::ohms:
      return form.toward == Toward::valve ? s.spot <= splice_spot(form.stop) : s.spot < volts_spot(form.stop);
    case ReadingKind::source_volts:
      return s.defect == Defect::open && s.place.conductor == form.conductor &&
             s.spot <= volts_spot(form.stop);
  }
  return false;
}

std::pair<Band, Band> bands_of(const TestForm& form, std::span<const Suspect> suspects, const Ladder& ladder,
                               double ratio, const Judgement& judgement) {
  if (form.kind == ReadingKind::source_volts) return source_bands();
  Band before, beyond;
  for (const Suspect& s : suspects)
    for (double ohms : sizes_of(s, ladder, ratio)) {
      Condition c = condition_of(s, ohms);
      c.supply_factor = judgement.supply;
      c.coil_factor = judgement.coil;
      Band& band = is_before(form, s) ? before : beyond;
      if (form.kind == ReadingKind::volts_on)
        show_volts(volts_on_at(ladder, form.stop, c), judgement, band);
      else
        show_ohms(form.toward == Toward::valve ? ohms_toward_valve(ladder, form.stop, c)
                                               : ohms_toward_controller(ladder, form.stop, c),
                  ladder, judgement, band);
    }
  return {before, beyond};
}

}  // namespace coilward
