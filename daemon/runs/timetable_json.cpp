// The timetable as it is kept over a restart.
#include <nlohmann/json.hpp>

#include "daemon/runs/timetable.h"

namespace coilward {

Json Timetable::save() const {
  Json after = Json::array(), lengths = Json::array(), waiting = Json::array(), begins = Json::array(),
       skips = Json::array(), skipped = Json::array(), shorts = Json::array();
  for (const auto& [zone, times] : short_cycles_) shorts.push_back({zone, times});
  for (const auto& s : skips_) skips.push_back({s.zone, to_ms(s.start)});
  for (const auto& [zone, times] : skipped_) skipped.push_back({zone, times});
  for (const auto& b : begins_) begins.push_back({b.zone, to_ms(b.start)});
  for (const auto& w : waiting_) waiting.push_back({w.zone, to_ms(w.start), to_ms(w.end)});
  for (const auto& [zone, a] : after_) after.push_back({zone, a.zones, a.gap_s});
  for (const auto& [zone, list] : length_s_) lengths.push_back({zone, list});
  return {{"together", together_.save()},
          {"absences", absences_.save()},
          {"after", after},
          {"lengths", lengths},
          {"begins", begins},
          {"skips", skips},
          {"skipped", skipped},
          {"last", last_},
          {"last_start", to_ms(last_start_)},
          {"last_end", to_ms(last_end_)},
          {"waiting", waiting},
          {"seen", seen_},
          {"short_cycles", shorts},
          {"told_last", told_last_}};
}

void Timetable::restore(const Json& j) {
  together_.restore(j.at("together"));
  absences_.restore(j.value("absences", Json::array()));
  after_.clear();
  length_s_.clear();
  for (const auto& a : j.at("after"))
    after_[a.at(0)] = {a.at(1).get<std::vector<int>>(), a.at(2).get<std::vector<double>>()};
  for (const auto& l : j.at("lengths")) length_s_[l.at(0)] = l.at(1).get<std::vector<double>>();
  begins_.clear();
  for (const auto& b : j.at("begins")) begins_.push_back({b.at(0), from_ms(b.at(1))});
  skips_.clear();
  for (const auto& s : j.at("skips"))
    skips_.push_back({s.at(0), from_ms(s.at(1)), from_ms(s.at(1)), false, true});
  skipped_.clear();
  for (const auto& s : j.at("skipped")) skipped_[s.at(0)] = s.at(1);
  short_cycles_.clear();
  for (const auto& cycles : j.at("short_cycles")) short_cycles_[cycles.at(0)] = cycles.at(1);
  last_ = j.at("last");
  last_start_ = from_ms(j.at("last_start"));
  last_end_ = from_ms(j.at("last_end"));
  waiting_.clear();
  for (const auto& w : j.at("waiting")) waiting_.push_back({w.at(0), from_ms(w.at(1)), from_ms(w.at(2))});
  seen_ = j.at("seen").get<std::vector<int>>();
  told_last_ = j.at("told_last");
}

}  // namespace coilward
