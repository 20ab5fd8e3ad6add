// The header lines of a mail: RFC 5322, with RFC 2047 encoded words where a text is not ASCII. Thread: any.
#pragma once

#include <ctime>
#include <string>
#include <string_view>
#include <vector>

namespace coilward_plugins {

// An unstructured header value (a subject): itself when it is ASCII and short enough, else UTF-8 base64
// encoded words of at most 75 characters (RFC 2047 section 2), folded. Control characters become spaces, so
// that no text starts a header of its own; bytes that are not UTF-8 become '?'.
std::string header_text(std::string_view text);

// "<id@domain>" with whatever RFC 5322 atext does not allow replaced.
std::string message_id(std::string_view id, std::string_view domain);

// The address between < and >, or all of it; empty when it has no '@' or holds blanks or control characters.
std::string bare_address(std::string_view address);
std::string domain_of(std::string_view address);

// RFC 5322 section 3.3, in UTC: "Mon, 04 May 2026 06:12:09 +0000".
std::string mail_date(std::time_t time);

// `text` with bytes that are not UTF-8 replaced by '?'.
std::string clean_utf8(std::string_view text);

}  // namespace coilward_plugins
