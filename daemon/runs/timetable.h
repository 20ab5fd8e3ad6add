// Which zone waters after which, for how long: learned from runs, so that a zone that stays silent while its
// neighbours water is noticed. What matters is the gap it leaves: a controller gives a broken zone its time,
// and then the next one starts as late as ever. A zone whose place is taken at once was skipped, which is
// told when it happens again: by mistake or on purpose, nobody else will notice. A rain delay stops every
// zone and is no fault; a changed order or start is followed and not complained about.
//
// Thread: one at a time.
#pragma once

#include <map>
#include <vector>

#include "daemon/base/pipeline_json.h"
#include "daemon/pipeline.h"
#include "daemon/runs/absences.h"
#include "daemon/runs/together.h"

namespace coilward {

// A zone's turn passed and it did not run.
struct TurnMissed {
  int zone = 0;
  UtcTime start = kNever;  // when it should have begun
  UtcTime end = kNever;
  bool gap_seen =
      false;  // the next zone started as late as if it had run; false: it was the last of its cycle
  bool skipped =
      false;  // the next one started at once, in the latest kSkipsTold cycles; or it has no place any more
  bool beside = false;  // those that share its turn ran without it
  bool again = false;   // beside: in the latest kSkipsTold cycles
};

class Timetable {
 public:
  // A run began, or is over. Returns the turns that are known to be missed by that. Without a command channel
  // the end of a run is known only after the next one has begun; what that says waits for it.
  std::vector<TurnMissed> started(int zone, UtcTime start);
  std::vector<TurnMissed> finished(int zone, UtcTime start, UtcTime end);
  // The last zones of a cycle are missed when their time is over.
  std::vector<TurnMissed> advance(UtcTime now);

  Json save() const;
  void restore(const Json& saved);

 private:
  // What follows one zone, the latest few times.
  struct After {
    std::vector<int> zones;     // kEnd: nothing
    std::vector<double> gap_s;  // from its end to the next one's start
  };
  // The first zone of a cycle.
  struct Begin {
    int zone;
    UtcTime start;
  };
  // A run that began while the one before it seemed to last.
  struct Waiting {
    int zone;
    UtcTime start;
    UtcTime end;  // kNever while it runs
  };

  std::vector<TurnMissed> begin(int zone, UtcTime start);
  std::vector<TurnMissed> begin_turn(int turn, UtcTime start);
  std::vector<TurnMissed> begin_waiting();
  void end_turn(UtcTime end);
  std::vector<TurnMissed> with_partners(std::vector<TurnMissed> missed) const;
  std::vector<TurnMissed> missing_tail() const;
  std::vector<TurnMissed> absent_beside();
  std::vector<TurnMissed> absent_for_long();
  int usual_next(int zone) const;  // kUnknown when it varies
  double usual_gap(int zone) const;
  double usual_length(int zone) const;  // NaN until known
  void note_next(int zone, int next, double gap_s);
  std::vector<TurnMissed> end_cycle();
  void note_skipped(int before, int zone, UtcTime start);
  bool is_usual_begin(int zone, UtcTime start) const;
  bool leads_to(int last, UtcTime last_end, int next, UtcTime start, std::vector<TurnMissed>& missed) const;
  std::vector<TurnMissed> missing_between(int last, int next, UtcTime last_end, UtcTime start) const;
  std::vector<TurnMissed> missing_before(int zone, UtcTime start) const;
  void note_begin(int zone, UtcTime start);

  Together together_;
  Absences absences_;
  // What follows what is known by a turn's leader.
  std::map<int, After> after_;
  std::map<int, std::vector<double>> length_s_;
  std::vector<Begin> begins_;  // the latest cycles'
  int last_ = -1;              // latest turn of this cycle; -1: between cycles
  UtcTime last_end_ = kNever;  // kNever while it runs
  UtcTime last_start_ = kNever;
  std::vector<TurnMissed> skips_;  // of this cycle so far
  std::map<int, int> skipped_;     // cycles in a row, by zone
  std::vector<Waiting> waiting_;
  std::vector<int> seen_;  // zones of this cycle
  bool told_last_ = false;
  std::map<int, int> short_cycles_;  // in a row, by the zone that was the last to run
  UtcTime next_look_ = kNever;
};

}  // namespace coilward
