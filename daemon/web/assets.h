// What pages bring along: style, scripts and symbols, part of the program, so that nothing comes from
// elsewhere. Thread: any.
#pragma once

#include <string>
#include <string_view>

#include "daemon/web/api.h"

namespace coilward {

struct Asset {
  std::string_view name;  // "live.js"
  std::string_view content_type;
  std::string_view text;
};

// nullptr: there is none of this name.
const Asset* find_asset(std::string_view name);
// The answer that brings it. forever: the address has its version.
ApiResponse asset_response(std::string_view name, bool forever);
// "/assets/live.js?v=1f3a...": another address when the text is another, so that a browser may keep it for
// good.
std::string asset_path(std::string_view name);

}  // namespace coilward
