#include "daemon/web/http_request.h"

#include <algorithm>
#include <cctype>

#include "daemon/web/form_guard.h"
#include "daemon/web/query.h"

namespace coilward {
namespace {

constexpr Cause kWrong = Cause::bad_input;
constexpr std::size_t kLongestAddress = 45;  // of IPv6 as text (INET6_ADDRSTRLEN without its end)

// "a=b" into the map.
std::optional<Error> add_pair(std::string_view pair, std::map<std::string, std::string>& query) {
  const std::size_t equals = std::min(pair.find('='), pair.size());
  const auto key = percent_decoded(pair.substr(0, equals), true);
  const auto value = percent_decoded(pair.substr(std::min(equals + 1, pair.size())), true);
  if (!key || !value) return Error{kWrong, "the query has a broken %-escape"};
  if (!query.emplace(*key, *value).second) return Error{kWrong, "'" + *key + "' is given twice"};
  return std::nullopt;
}

std::string encoded_path(std::string_view path) {
  std::string out;
  while (!path.empty()) {
    const std::size_t end = std::min(path.find('/'), path.size());
    out += percent_encoded(path.substr(0, end));
    if (end < path.size()) out += '/';
    path.remove_prefix(std::min(end + 1, path.size()));
  }
  return out;
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

std::string request_target(const ApiRequest& request) {
  std::string target = encoded_path(request.path);
  char separator = '?';
  for (const auto& [key, value] : request.query) {
    target += separator + percent_encoded(key) + "=" + percent_encoded(value);
    separator = '&';
  }
  return target;
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

bool is_loopback_address(std::string_view address) { return address.starts_with("127.") || address == "::1"; }

std::string forwarded_address(std::string_view field) {
  field.remove_prefix(field.rfind(',') == std::string_view::npos ? 0 : field.rfind(',') + 1);
  while (field.starts_with(' ')) field.remove_prefix(1);
  while (field.ends_with(' ')) field.remove_suffix(1);
  if (field.starts_with('[')) field = field.substr(1, field.find(']') - 1);  // "[2001:db8::1]:4711"
  if (std::count(field.begin(), field.end(), ':') == 1) field = field.substr(0, field.find(':'));
  const bool address = std::all_of(field.begin(), field.end(), [](char c) {
    return (c >= '0' && c <= '9') || (c >= 'a' && c <= 'f') || (c >= 'A' && c <= 'F') || c == '.' || c == ':';
  });
  return address && field.size() <= kLongestAddress ? std::string(field) : std::string();
}

ApiResponse ask_over_tls(const RequestHead& head) {
  const bool name = !head.host.empty() && std::all_of(head.host.begin(), head.host.end(), [](char c) {
    return std::isalnum(static_cast<unsigned char>(c)) || c == '.' || c == '-' || c == ':' || c == '[' ||
           c == ']';
  });
  const bool reads = head.method == "GET" || head.method == "HEAD";
  if (!name || !reads || !head.target.starts_with('/'))
    return problem(400, "Not over plain HTTP", "this port speaks TLS: ask https://");
  ApiResponse response;
  response.status = 308;
  response.content_type = "text/plain; charset=utf-8";
  response.location = "https://" + std::string(head.host) + std::string(head.target);
  response.body = "This port speaks TLS: " + response.location + "\n";
  return response;
}

std::optional<ApiResponse> refused(const RequestHead& head) {
  if (!head.tcp) return std::nullopt;
  if (head.host.empty() || (!head.any_host && !is_loopback_name(head.host)))
    return problem(403, "Forbidden",
                   "this port answers only as localhost, 127.0.0.1 or [::1]; behind_proxy in [http] of the "
                   "configuration is for a reverse proxy before it");
  if (head.method == "GET" || head.method == "HEAD") return std::nullopt;
  if (head.method != "POST") return problem(403, "Forbidden", "over TCP there are GET and POST");
  const bool program = head.origin.empty() && head.fetch_site.empty() && head.target.starts_with("/api/");
  if (!program && !from_own_page(head.origin, head.fetch_site, head.host))
    return problem(403, "Forbidden", "this was not sent by a page of this site");
  return std::nullopt;
}

}  // namespace coilward
