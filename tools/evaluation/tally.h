// Adds up the scores of many sites and prints them.
#pragma once

#include <array>
#include <map>
#include <string>
#include <vector>

#include "tools/evaluation/score.h"

namespace coilward::evaluate {

struct ClassTally {
  std::array<int, kOutcomes> outcomes{};
  int timely = 0, could_be_timely = 0;
  std::map<Fault, int> named;  // misnamed as
  std::vector<double> runs_until, hours_until;
  std::vector<double> ohms_with_burst, ohms_without;  // added when it was first said
  int counted() const;
  int of(Outcome outcome) const { return outcomes[static_cast<std::size_t>(outcome)]; }
};

// How often it was right where a channel is there and where not.
struct ByChannel {
  int counted = 0, right = 0, misnamed = 0, missed = 0;
};

class Tally {
 public:
  void add(const SiteRecord& record, const std::vector<Told>& told, const SiteScore& score);
  std::string text() const;
  std::string short_text() const;  // right, false and sure alone: for comparison

 private:
  struct FalseTally {
    std::map<Fault, int> opened;
    double zone_days = 0;
    int zones = 0;
  };
  void add_fault(const SiteRecord& record, const TrueFault& fault, const FaultScore& score);
  std::string fault_table() const;
  std::string speed_table() const;
  std::string confusion() const;
  std::string ohms_table() const;
  std::string false_table() const;
  std::string channel_table() const;

  std::map<Fault, ClassTally> classes_;
  std::map<std::string, ByChannel> by_channel_, by_combination_;
  int segments_ = 0, segments_right_ = 0;
  FalseTally healthy_, faulty_;
  std::vector<Forecast> first_, last_;
};

// Squared error of the forecasts, and a table of how many of each tenth came true.
std::string reliability(const char* title, const std::vector<Forecast>& forecasts);
// Value below which this share lies; NaN of nothing.
double quantile(std::vector<double> values, double share);

}  // namespace coilward::evaluate
