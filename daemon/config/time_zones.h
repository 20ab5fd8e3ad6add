// Which names are time zones, by the system's own database (/usr/share/zoneinfo). Thread: any.
#pragma once

#include <string>

namespace coilward {

bool is_time_zone(const std::string& name);
// For a name that is none: "did you mean 'America/Boise'?", or an example.
std::string time_zone_hint(const std::string& wrong);

}  // namespace coilward
