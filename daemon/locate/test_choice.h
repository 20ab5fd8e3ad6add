// The test readings that can be taken for a fault, what each would show, and the one to take next. Thread:
// any.
#pragma once

#include <optional>
#include <span>
#include <string>
#include <vector>

#include "daemon/locate/judge_readings.h"
#include "daemon/locate/visit_plan.h"

namespace coilward {

// A place is taken for found at this probability when no reading is worth its while any more, and at the
// second one in any case. Own judgement: at most one in ten is dug for in vain
// (measured by locate_chances_test.cpp: one in thirty).
inline constexpr double kFound = 0.90, kCertain = 0.995;

struct ExpectedReading {
  bool before = false;  // the fault is between the controller and the place; else beyond it
  double low = 0, high = 0;
};

struct NextReading {
  ReadingKind kind = ReadingKind::volts_on;
  int zone = 0;
  std::string at;
  Toward toward = Toward::valve;          // of ohms
  Conductor conductor = Conductor::zone;  // of source_volts
  int minutes = 0;                        // the way to it included
  std::vector<ExpectedReading> expect;
  std::string caution;
};

struct TestChoice {
  std::optional<NextReading> next;  // none: another reading would not help
  double minutes = 0;               // of work to be expected from here, by the costs of [visit]
  bool exact = true;                // see VisitPlan
};

TestChoice choose_test(const Config& config, const Finding& finding, const WirePath& path,
                       const Ladder& ladder, std::span<const Suspect> suspects, const Judgement& judgement,
                       std::span<const TestReading> readings);

}  // namespace coilward
