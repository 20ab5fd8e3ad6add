// RFC 4648 section 5 without padding, as web push writes keys. Thread: any.
#pragma once

#include <optional>
#include <string>
#include <string_view>

namespace coilward_plugins {

std::string base64url(std::string_view bytes);
// Padding at the end is allowed; nullopt: something else than the 64 digits, or a length that cannot be.
std::optional<std::string> base64url_bytes(std::string_view text);

}  // namespace coilward_plugins
