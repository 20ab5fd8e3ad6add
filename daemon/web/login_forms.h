// Pieces of the pages of a login. The folder's own header. Thread: the core's.
#pragma once

#include <string>
#include <string_view>

#include "daemon/login/logins.h"
#include "daemon/web/api_route.h"

namespace coilward {

using Attempt = Logins::Attempt;

inline constexpr const char* kNotTheSame = "The two passwords are not the same.";
inline constexpr const char* kPasswordRule =
    "<p class=\"soft\">At least 10 characters. Some words that do not belong together are easy to keep and "
    "hard "
    "to guess.</p>";

// What was wrong with a form, said to screen readers too; empty for nothing.
std::string wrong_part(const std::string& wrong);
std::string person_field(const std::string& name);
// For one that is known already.
std::string password_field(const std::string& name, const std::string& words);
// For a new one, twice.
std::string new_password_fields();

// What a page shows of itself: the way in, and another password for who is in. next: where to go on
// to.
std::string log_in_part(const std::string& token, const std::string& name, const std::string& next,
                        const std::string& wrong);
std::string change_password_part(const std::string& token, const std::string& name, const std::string& wrong);
// As token_field of a page.
std::string token_input(const std::string& token);

// 303
ApiResponse see_other(std::string path);
// With the cookies of who was let in. secure: over TLS.
ApiResponse let_in_response(bool secure, const LoginAnswer& answer, std::string path);
ApiResponse let_in_response(const Call& call, const LoginAnswer& answer, std::string path);
// With how long to wait, where there is something to wait for.
ApiResponse waiting(ApiResponse response, const LoginAnswer& answer);

}  // namespace coilward
