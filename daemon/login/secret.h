// Secrets that this program makes itself: ids of sessions, tokens of links and forms. They are random and
// long, so that a plain hash of them may lie on a disk (a password's may not: password.h). Thread: any.
#pragma once

#include <string>
#include <string_view>

namespace coilward {

// 256 random bits as 43 characters of base64url (OWASP asks for 64 bits at least in a session's id).
std::string random_secret();
// 128 random bits, as above: 22 characters.
std::string random_token();
// What is kept of a secret: its BLAKE2b-256 as 64 hexadecimal digits.
std::string kept_form(std::string_view secret);
// Another secret that follows from it and does not lead back: `purpose` tells one from the other.
std::string derived_secret(std::string_view secret, std::string_view purpose);
// In a time that does not depend on how much of it is right. Two empty texts are not the same secret.
bool same_secret(std::string_view a, std::string_view b);
// For people to type once: "K7QM-2XWD-94FT", 60 random bits without letters that look alike.
std::string set_up_code();
// As a person typed it: capitals, without blanks and dashes.
std::string plain_code(std::string_view typed);

}  // namespace coilward
