// openapi.json of this folder as text, so that the running daemon can hand it out.
#pragma once

#include <string_view>

namespace coilward {

extern const std::string_view kOpenApiText;

}  // namespace coilward
