// The cookies of a login (RFC 6265): sent to this site alone, not seen by scripts, and not sent with what
// other sites post. Over TLS their names have the prefix __Host-, which a browser takes from this very host
// over TLS only. Thread: any.
#pragma once

#include <chrono>
#include <string>
#include <string_view>

namespace coilward {

inline constexpr std::string_view kSessionCookie = "coilward_session";
inline constexpr std::string_view kLinkCookie = "coilward_link";    // a read-only link was opened
inline constexpr std::string_view kKnownCookie = "coilward_known";  // somebody has logged in here before

// The value in a Cookie field; empty: it is not there. secure: the request came over TLS.
std::string cookie_value(std::string_view field, std::string_view name, bool secure);
// A Set-Cookie field. lasts: 0 takes it away.
std::string set_cookie(std::string_view name, std::string_view value, std::chrono::seconds lasts,
                       bool secure);

}  // namespace coilward
