// From an HTTP request's head to what the API is asked, and what is refused before it is asked. No sockets
// here. Thread: any.
#pragma once

#include <optional>
#include <string>
#include <string_view>

#include "daemon/web/api.h"

namespace coilward {

// The request's own words.
struct RequestHead {
  std::string_view method;
  std::string_view target;           // "/api/v1/zones?x=y"
  std::string_view host;             // empty: there was none
  bool tcp = false;                  // came over TCP, not over the Unix socket
  std::string_view origin = {};      // Origin
  std::string_view fetch_site = {};  // Sec-Fetch-Site
};

// Path and query taken apart and decoded; the body is the caller's to add. bad_input: broken escapes, a key
// twice.
Result<ApiRequest> request_of(const RequestHead& head);

// A refusal, or nullopt. Over TCP there is no login yet: only under a loopback name, so that a page from
// elsewhere cannot come in by a host name that it points to this machine; and reading, and what the forms of
// our own pages post. Those are held to a browser's word that they come from here, and to their token
// (form_guard.h) after that.
std::optional<ApiResponse> refused(const RequestHead& head);

// "localhost", "127.0.0.1", "[::1]", each with or without a port.
bool is_loopback_name(std::string_view host);

}  // namespace coilward
