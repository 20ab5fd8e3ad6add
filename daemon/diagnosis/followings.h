// What each output comes to under one set of causes or another. Many sets act alike on an output (a bad
// common acts alike on what lies beyond it, wherever it is), so that each way of acting on it is followed
// once.
#pragma once

#include <compare>
#include <map>
#include <memory>
#include <optional>
#include <vector>

#include "daemon/diagnosis/phase.h"

namespace coilward {

// Thread: one. What it is made of outlives it and stays as it is.
class Followings {
 public:
  Followings(const std::vector<ZoneFilter>& filters, const std::vector<ZoneElectrics>& fitted)
      : filters_(filters), fitted_(fitted) {}

  // Logarithm of the output's evidence under the set; none: it was not followed under it.
  std::optional<double> evidence(int zone, const std::vector<Phase>& phases) const;
  // from: the set acts on the output's runs before as the standing one, which its filter has followed. Done
  // again where nobody has kept the result: they are large, and most are of sets that are soon given up.
  std::shared_ptr<const Followed> follow(int zone, UtcTime from, const std::vector<Phase>& phases);

 private:
  // Of a cause what makes a difference to one output.
  struct Influence {
    SiteClass site_class;
    double size;
    UtcTime since, until, grows_from, grows_to;
    bool keeps;
    double first_share, second_share;
    int other;  // the other one of two on touching wires
    friend auto operator<=>(const Influence&, const Influence&) = default;
  };
  struct Way {
    int zone;
    std::vector<Influence> influences;
    friend auto operator<=>(const Way&, const Way&) = default;
  };
  struct Result {
    double log_evidence = 0;
    std::weak_ptr<const Followed> whole;
  };
  static Way way(int zone, const std::vector<Phase>& phases);

  const std::vector<ZoneFilter>& filters_;
  const std::vector<ZoneElectrics>& fitted_;
  std::map<Way, Result> results_;
};

}  // namespace coilward
