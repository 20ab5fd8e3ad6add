// That a form that acts is one of ours: a secret of this process that only our own pages carry. Thread: any.
#pragma once

#include <map>
#include <optional>
#include <string>
#include <string_view>

#include "daemon/base/result.h"

namespace coilward {

using FormFields = std::map<std::string, std::string>;

// application/x-www-form-urlencoded (WHATWG URL, section 5.1). bad_input: broken escapes, or a name twice.
Result<FormFields> parse_form(std::string_view body);

// 128 random bits as hexadecimal text (own choice: not to be guessed).
std::string make_form_token();
// In a time that does not depend on how much of it is right.
bool same_token(std::string_view a, std::string_view b);

// The Origin and Sec-Fetch-Site fields of a request that acts, empty where there was none. What a browser
// says of where it comes from must be this very site, and it must say something: all that send forms today
// do.
bool from_own_page(std::string_view origin, std::string_view fetch_site, std::string_view host);

}  // namespace coilward
