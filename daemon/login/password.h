// Passwords: only their argon2id hash is kept (RFC 9106). Hashing takes 19 MiB and some tens of milliseconds
// on purpose, half a second on a small board: not on the core thread. Thread: any.
#pragma once

#include <optional>
#include <string>
#include <string_view>

#include "daemon/base/result.h"

namespace coilward {

// What is wrong with it as a password for `name`, for people; nullopt: nothing. At least 10 characters and no
// rules about their kind (NIST SP 800-63B section 5.1.1.2, which asks for 8 at least), at most 200 bytes.
std::optional<std::string> password_fault(std::string_view password, std::string_view name);

// The hash with its salt and cost, as text. world: no memory for it.
Result<std::string> hash_password(std::string_view password);
bool password_matches(std::string_view password, const std::string& hash);
// The hash of no password: to compare with where there is no such name, so that the answer takes as long.
const std::string& hash_of_nobody();

}  // namespace coilward
