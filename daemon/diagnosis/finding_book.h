// The open findings and their lives: opened, renamed, changed, closed. A finding keeps its id for as long as
// it is about one fault, even when a later run shows that the fault is another than was thought.
#pragma once

#include <functional>
#include <string>
#include <vector>

#include "daemon/base/pipeline_json.h"
#include "daemon/diagnosis/repair_trial.h"
#include "daemon/pipeline.h"

namespace coilward {

// What the diagnosis holds to be so at a moment: a finding without its life.
struct Claim {
  std::string key;      // one cause: "z4/open_circuit", "common/main/failed_common", "event/..."
  std::string subject;  // short form for the id: "z4", "main", "supply"
  // It takes the master output with it, which is none of its zones: what the output feeds is known by those.
  bool master = false;
  Finding content;  // fault, zones, probability, alternatives, where, evidence, common, severity, summary
};

// Told when a finding opens, its fault, zones, severity or closing changes, or its probability moved by 0.05.
using TellFinding = std::function<void(const Finding&)>;

class FindingBook {
 public:
  explicit FindingBook(TellFinding tell) : tell_(std::move(tell)) {}

  // What the joint diagnosis claims now. Findings of its kind that are not claimed any more stay open until
  // `over` says of their zones that they are sound: no news is not good news.
  void conclude(const std::vector<Claim>& claims, UtcTime now,
                const std::function<bool(const std::vector<int>& zones)>& over);

  // A claim from a single event, and its end. The joint diagnosis does not touch these.
  void raise(const Claim& claim, UtcTime now);
  void clear(const std::string& key, const std::string& reason, UtcTime now);
  bool is_open(const std::string& key) const;
  // Someone says it is repaired: each open finding about one of its zones closes when their next runs prove
  // it, and says why when they do not.
  void repaired(const RepairTrial& trial, UtcTime now);
  // A look at a run that shows its level, before what it leads to is concluded. true: the zone draws what it
  // should after runs in which it did not: what those said of it is over.
  bool tried(const Run& run, const DrawSample& sample);
  // The zone was said to be repaired, and its latest run shows that it is not: nothing is to be learned of
  // it.
  bool failed_trial(int zone) const;

  const std::vector<Finding>& open() const { return open_; }

  Json save() const;
  void restore(const Json& saved);

 private:
  struct Life {
    std::string key;
    bool event = false;
    double told_probability = 0;
    UtcTime repaired = kNever;
    std::optional<RepairTrial> trial = std::nullopt;
  };

  int find(const std::string& key) const;
  int heir_of(const Claim& claim, const std::vector<Claim>& claims) const;
  void open_new(const Claim& claim, bool event, UtcTime now);
  void update(std::size_t at, const Claim& claim, UtcTime now);
  bool unproved(std::size_t at) const;
  void say_trial(std::size_t at, UtcTime now);
  void close(std::size_t at, const std::string& reason, UtcTime now);

  TellFinding tell_;
  std::vector<Finding> open_;
  std::vector<Life> lives_;  // beside open_
};

}  // namespace coilward
