// Keeps beside the simulation what really went on, for those who judge the findings.
#pragma once

#include "daemon/simulate/electric_site.h"
#include "daemon/simulate/scenario.h"

namespace coilward::simulate {

class Truth {
 public:
  explicit Truth(const Scenario& scenario) : scenario_(scenario), spoiled_(scenario.faults.size()) {}

  // A zone was meant to run: switched on by command; or it was left out by a missed_run.
  void on_turn(int zone, double time);
  void on_missed(int zone, double time) { note(zone, time); }
  std::uint64_t runs() const { return runs_; }
  Json to_json() const;

 private:
  struct Spoiled {
    int zone = 0;
    double time = 0;
  };
  static constexpr std::size_t kKept = 200;
  void note(int zone, double time);
  Json fault(std::size_t which) const;

  const Scenario& scenario_;
  std::vector<std::vector<Spoiled>> spoiled_;
  std::uint64_t runs_ = 0;
};

}  // namespace coilward::simulate
