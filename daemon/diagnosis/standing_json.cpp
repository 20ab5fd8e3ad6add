#include "daemon/diagnosis/standing_json.h"

#include <algorithm>
#include <nlohmann/json.hpp>

namespace coilward {

Json phases_to_json(const std::vector<Phase>& phases) {
  Json list = Json::array();
  for (const auto& p : phases)
    list.push_back({{"class", static_cast<int>(p.cause.site_class)},
                    {"segment", p.cause.segment},
                    {"common", p.cause.common},
                    {"size", p.cause.size},
                    {"zones", p.cause.zones},
                    {"log_prior", p.cause.log_prior},
                    {"grows", {to_ms(p.cause.grows_from), to_ms(p.cause.grows_to)}},
                    {"keeps", p.cause.keeps},
                    {"shares", {p.cause.first_share, p.cause.second_share}},
                    {"since", to_ms(p.since)},
                    {"until", to_ms(p.until)}});
  return list;
}

std::vector<Phase> phases_from_json(const Json& saved, const SiteElectrics& site) {
  std::vector<Phase> phases;
  const int outputs = static_cast<int>(site.zones.size()), segments = static_cast<int>(site.segments.size());
  for (const auto& j : saved) {
    Phase p;
    p.cause = {static_cast<SiteClass>(j.at("class").get<int>()),
               j.at("segment"),
               j.at("common"),
               j.at("size"),
               j.at("zones").get<std::vector<int>>(),
               j.at("log_prior"),
               from_ms(j.at("grows").at(0)),
               from_ms(j.at("grows").at(1)),
               j.value("keeps", false),
               j.at("shares").at(0),
               j.at("shares").at(1)};
    p.since = from_ms(j.at("since"));
    p.until = from_ms(j.at("until"));
    const bool known = p.cause.segment < segments && std::all_of(p.cause.zones.begin(), p.cause.zones.end(),
                                                                 [&](int z) { return z < outputs; });
    if (known) phases.push_back(std::move(p));
  }
  return phases;
}

}  // namespace coilward
