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
  bool any_host = false;             // opened to the network on purpose: under whatever name it has there
};

// Path and query taken apart and decoded; the body is the caller's to add. bad_input: broken escapes, a key
// twice.
Result<ApiRequest> request_of(const RequestHead& head);

// The other way: "/api/v1/zones/4/history?since=7d", percent-encoded.
std::string request_target(const ApiRequest& request);

// A refusal, or nullopt; who may do what is decided later (gate.h). Over TCP: only under a loopback name
// unless the page is opened to the network, so that a page from elsewhere cannot come in by a host name that
// it points to this machine; only GET and POST; and what is posted is held to a browser's word that it comes
// from here, and to a token after that (form_guard.h). A program that says nothing of where it comes from may
// post to the API alone, with the token in a field that a page from elsewhere cannot send.
std::optional<ApiResponse> refused(const RequestHead& head);

// What a request is answered that came without TLS to where TLS is spoken: where a page is, for a browser
// whose user typed the address without https; a refusal for what would have sent something.
ApiResponse ask_over_tls(const RequestHead& head);

// "localhost", "127.0.0.1", "[::1]", each with or without a port.
bool is_loopback_name(std::string_view host);
// 127.0.0.0/8 or ::1.
bool is_loopback_address(std::string_view address);
// The last address of an X-Forwarded-For field: the one that our own proxy has seen. Empty: there is none.
std::string forwarded_address(std::string_view field);

}  // namespace coilward
