// What the normal draw keeps over a restart.
#include <nlohmann/json.hpp>

#include "daemon/draw/draw_model.h"

namespace coilward {

Json DrawModel::save() const {
  const auto levels = [](const std::vector<Level>& list) {
    Json json = Json::array();
    for (const Level& level : list) {
      Json past = Json::array();
      for (const Forecast& f : level.past) past.push_back({f.mean, f.variance});
      json.push_back({level.runs, level.wavers, past});
    }
    return json;
  };
  return {{"filter", filter_.save(mains_.states_kept())},
          {"hold", levels(hold_)},
          {"inrush", levels(inrush_)},
          {"warm_up", warm_up_.save()},
          {"run_noise", run_noise_},
          {"passed", to_ms(passed_)},
          {"scale", {hold_scale_, inrush_scale_}},
          {"mains", mains_.save()}};
}

bool DrawModel::restore(const Json& j) {
  if (j.at("hold").size() != hold_.size() || !filter_.restore(j.at("filter"))) return false;
  const auto levels = [](const Json& json, std::vector<Level>& list) {
    for (std::size_t i = 0; i < list.size(); ++i) {
      list[i].runs = json.at(i).at(0);
      list[i].past.clear();
      list[i].wavers = json.at(i).at(1);
      for (const auto& f : json.at(i).at(2)) list[i].past.push_back({f.at(0), f.at(1)});
    }
  };
  levels(j.at("hold"), hold_);
  levels(j.at("inrush"), inrush_);
  warm_up_.restore(j.at("warm_up"));
  run_noise_ = j.at("run_noise").get<std::vector<double>>();
  passed_ = from_ms(j.at("passed"));
  hold_scale_ = j.at("scale").at(0);
  inrush_scale_ = j.at("scale").at(1);
  if (j.contains("mains")) mains_.restore(j["mains"]);  // not in what an earlier version saved
  return true;
}

}  // namespace coilward
