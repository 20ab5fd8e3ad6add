#include "daemon/web/http_request.h"

#include <algorithm>

#include "daemon/web/form_guard.h"
#include "daemon/web/query.h"

namespace coilward {
namespace {

constexpr Cause kWrong = Cause::bad_input;

// "a=b" into the map.
std::optional<Error> add_pair(std::string_view pair, std::map<std::string, std::string>& query) {
  const std::size_t equals = std::min(pair.find('='), pair.size());
  const auto key = percent_decoded(pair.substr(0, equals), true);
  const auto value = percent_decoded(pair.substr(std::min(equals + 1, pair.size())), true);
  if (!key || !value) return Error{kWrong, "the query has a broken %-escape"};
  if (!query.emplace(*key, *value).second) return Error{kWrong, "'" + *key + "' is given twice"};
  return std::nullopt;
}

}  // namespace

Result<ApiRequest> request_of(const RequestHead& head) {
  ApiRequest request;
  request.method = head.method;
  std::string_view target = head.target.substr(0, head.target.find('#'));
  const std::size_t mark = std::min(target.find('?'), target.size());
  const auto path = percent_decoded(target.substr(0, mark));
  if (!path || !path->starts_with('/')) return Error{kWrong, "the path is not a path"};
  request.path = *path;
  std::string_view rest = target.substr(std::min(mark + 1, target.size()));
  while (!rest.empty()) {
    const std::size_t end = std::min(rest.find('&'), rest.size());
    if (end > 0)
      if (auto error = add_pair(rest.substr(0, end), request.query)) return *error;
    rest.remove_prefix(std::min(end + 1, rest.size()));
  }
  return request;
}

bool is_loopback_name(std::string_view host) {
  const std::size_t colon = host.rfind(':');
  const bool bracketed = host.starts_with('[');
  if (colon != std::string_view::npos && (!bracketed || host[colon - 1] == ']')) {
    const std::string_view port = host.substr(colon + 1);
    if (port.empty() || !std::all_of(port.begin(), port.end(), [](char c) { return c >= '0' && c <= '9'; }))
      return false;
    host = host.substr(0, colon);
  }
  std::string name(host);
  std::transform(name.begin(), name.end(), name.begin(),
                 [](char c) { return c >= 'A' && c <= 'Z' ? c + 32 : c; });
  return name == "localhost" || name == "127.0.0.1" || name == "[::1]";
}

std::optional<ApiResponse> refused(const RequestHead& head) {
  if (!head.tcp) return std::nullopt;
  if (!is_loopback_name(head.host))
    return problem(
        403, "Forbidden",
        "this port answers only as localhost, 127.0.0.1 or [::1]; put a reverse proxy that sets Host and "
        "asks for a login before it");
  if (head.method == "GET" || head.method == "HEAD") return std::nullopt;
  if (head.method != "POST" || head.target.starts_with("/api/"))
    return problem(
        403, "Forbidden",
        "over TCP only reading is possible, as there is no login; use `coilward`, which uses the Unix "
        "socket");
  if (!from_own_page(head.origin, head.fetch_site, head.host))
    return problem(403, "Forbidden", "this was not sent by a page of this site");
  return std::nullopt;
}

}  // namespace coilward
