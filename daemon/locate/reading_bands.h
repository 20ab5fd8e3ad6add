// What a meter would show at a place, as far as is known, when the fault is before it and when it is beyond.
// Inside this folder only.
#pragma once

#include <span>
#include <utility>

#include "daemon/locate/judge_readings.h"

namespace coilward {

// One reading that can be taken, by what it is.
struct TestForm {
  ReadingKind kind = ReadingKind::volts_on;
  int stop = 0;
  Toward toward = Toward::valve;          // of ohms
  Conductor conductor = Conductor::zone;  // of source_volts
};

struct Band {
  double low = kOpenOhms, high = -1;
  bool any() const { return high >= low; }
  void take_in(double from, double to);
  bool apart_from(const Band& other) const;
};

// Seen from the controller: is the suspect before what the reading tells apart?
bool is_before(const TestForm& form, const Suspect& suspect);

// Before, beyond; one without suspects is empty. Of a test source: 40 V, common practice.
std::pair<Band, Band> bands_of(const TestForm& form, std::span<const Suspect> suspects, const Ladder& ladder,
                               double ratio, const Judgement& judgement);

}  // namespace coilward
