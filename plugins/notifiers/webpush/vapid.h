// Who sends, told to a push service: RFC 8292 (VAPID). Thread: any.
#pragma once

#include <ctime>
#include <string>
#include <string_view>

#include "plugins/notifiers/webpush/push_key.h"

namespace coilward_plugins {

// RFC 8292 section 2 allows a day at most; half of it leaves room for a clock that is off.
inline constexpr std::time_t kVapidLasts = 12 * 3600;

// "https://push.example.net" of an endpoint; empty when it is no https address with a host, or holds a login.
std::string push_origin(std::string_view endpoint);

// The JWT (RFC 7519) that `key` signs: for this origin until then, on behalf of `contact` (mailto: or
// https:).
std::string vapid_token(const PushKey& key, std::string_view origin, std::string_view contact,
                        std::time_t until);

// The value of the Authorization field (RFC 8292 section 3).
std::string vapid_field(const PushKey& key, std::string_view origin, std::string_view contact,
                        std::time_t now);

}  // namespace coilward_plugins
