// For tests: a site that has been learned, and what was told of it.
#pragma once

#include <gtest/gtest.h>

#include <string>

#include "daemon/diagnosis/fake_site.h"

namespace coilward {

inline void learn(FakeSite& site, FindingLog& log, int days = 8) {
  for (int day = 0; day < days; ++day) site.water(log.runs);
  ASSERT_TRUE(log.told.empty()) << log.told[0].id << " " << log.told[0].summary;
}

inline std::string shown(const FindingLog& log) {
  std::string text;
  for (const auto& f : log.told) {
    text += f.id + " " + std::string(fault_name(f.fault)) + " " + format_rfc3339(f.updated) +
            (f.is_open() ? " p " : " closed p ") + std::to_string(f.probability) + " zones";
    for (int zone : f.zones) text += " " + std::to_string(zone);
    for (const auto& a : f.alternatives)
      text += "; " + std::string(fault_name(a.fault)) + " " + std::to_string(a.probability);
    text += "\n";
  }
  return text;
}

inline const Finding& only_open(const FindingLog& log) {
  static const Finding none;
  EXPECT_EQ(log.diagnosis.open_findings().size(), 1U) << shown(log);
  return log.diagnosis.open_findings().empty() ? none : log.diagnosis.open_findings()[0];
}

}  // namespace coilward
