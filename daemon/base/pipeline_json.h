// JSON forms of the travelling values, in the field names of the contract (section 5). NaN is written as
// null. Thread: any. Reading throws nlohmann::json::exception on a wrong shape: callers read only what they
// wrote.
#pragma once

#include <nlohmann/json_fwd.hpp>

#include "daemon/pipeline.h"

namespace coilward {

using Json = nlohmann::ordered_json;

Json number_or_null(double value);
Json time_or_null(UtcTime time);

Json repaired_zone_to_json(const RepairedZone& zone);
RepairedZone repaired_zone_from_json(const Json& json);
Json repair_to_json(const RepairProof& repair);
RepairProof repair_from_json(const Json& json);
Json forecast_to_json(const LiftForecast& forecast);
LiftForecast forecast_from_json(const Json& json);
// "site" is not in the Finding itself: a pipeline serves one site.
Json finding_to_json(const Finding& finding, std::string_view site);
Finding finding_from_json(const Json& json);
Json run_to_json(const Run& run);
Run run_from_json(const Json& json);
Json normal_draw_to_json(const NormalDraw& draw);
NormalDraw normal_draw_from_json(const Json& json);
Json alert_to_json(const Alert& alert);
Alert alert_from_json(const Json& json);

}  // namespace coilward
