// What state.db's snapshot holds (StateBatch::snapshot): pipeline, alert book, intake and notices side by
// side. Shared by the daemon, `replay --state` and the command line on files, so that each can go on where
// another ended.
// Thread: any.
#pragma once

#include <nlohmann/json.hpp>
#include <string>
#include <string_view>

#include "daemon/base/pipeline_json.h"
#include "daemon/base/result.h"

namespace coilward {

struct SiteSnapshot {
  Json pipeline;
  Json alerts;
  Json intake;
  Json notices;  // this and the next of the daemon alone; who has none hands on what was there
  Json routes;
};

// {"pipeline": Pipeline::save(), "alerts": AlertBook::save(), "intake": Intake::save(), "notices":
// Notices::save(), "routes": Routes::save()}
std::string site_snapshot_text(const SiteSnapshot& parts);
// A member that is missing is null; an empty text gives all null. bad_input: not such a text.
Result<SiteSnapshot> read_site_snapshot(std::string_view text);

}  // namespace coilward
