// A zone's track as it is kept over a restart.
#include <nlohmann/json.hpp>

#include "daemon/runs/zone_track.h"

namespace coilward {

Json ZoneTrack::save() const {
  return {{"watch", watch_.save()},
          {"run", run_ ? run_->save() : Json(nullptr)},
          {"has_command", has_command_},
          {"commanded", commanded_},
          {"off_since", to_ms(off_since_)},
          {"volts", {to_ms(heard_volts_), to_ms(powered_since_), by_volts_}},
          {"doubtful", {to_ms(doubtful_on_), to_ms(doubtful_off_)}},
          {"heard_command", to_ms(heard_command_)},
          {"looks", looks_},
          {"told_cut_out", told_cut_out_},
          {"told_silent", told_silent_},
          {"run_gap_s", number_or_null(run_gap_s_)},
          {"run_gaps", run_gaps_},
          {"above", above_},
          {"below", below_},
          {"above_since", to_ms(above_since_)},
          {"rested", rested_},
          {"longest_run_s", longest_run_s_},
          {"unheard_runs", unheard_runs_},
          {"told", {told_uncommanded_, told_stale_, told_frozen_, told_offset_}}};
}

void ZoneTrack::restore(const Json& j) {
  watch_.restore(j.at("watch"));
  if (!j.at("run").is_null()) run_ = ActiveRun::restore(j.at("run"));
  has_command_ = j.at("has_command");
  commanded_ = j.at("commanded");
  off_since_ = from_ms(j.at("off_since"));
  heard_volts_ = from_ms(j.at("volts").at(0));
  powered_since_ = from_ms(j.at("volts").at(1));
  by_volts_ = j.at("volts").at(2);
  doubtful_on_ = from_ms(j.at("doubtful").at(0));
  doubtful_off_ = from_ms(j.at("doubtful").at(1));
  heard_command_ = from_ms(j.at("heard_command"));
  looks_ = j.at("looks");
  told_cut_out_ = j.at("told_cut_out");
  told_silent_ = j.at("told_silent");
  if (!j.at("run_gap_s").is_null()) run_gap_s_ = j.at("run_gap_s");
  run_gaps_ = j.at("run_gaps");
  above_ = j.at("above");
  below_ = j.at("below");
  above_since_ = from_ms(j.at("above_since"));
  rested_ = j.at("rested");
  longest_run_s_ = j.at("longest_run_s");
  unheard_runs_ = j.at("unheard_runs");
  told_uncommanded_ = j.at("told").at(0);
  told_stale_ = j.at("told").at(1);
  told_frozen_ = j.at("told").at(2);
  told_offset_ = j.at("told").at(3);
}

}  // namespace coilward
