#include "daemon/mqtt/broker_address.h"

#include <fmt/format.h>

#include <charconv>

namespace coilward {
namespace {

bool take_prefix(std::string_view& text, std::string_view prefix) {
  if (!text.starts_with(prefix)) return false;
  text.remove_prefix(prefix.size());
  return true;
}

bool is_port(std::string_view text) {
  int port = 0;
  const auto [end, error] = std::from_chars(text.data(), text.data() + text.size(), port);
  return error == std::errc{} && end == text.data() + text.size() && port >= 1 && port <= 65535;
}

Error bad_url(std::string_view url, std::string_view why) {
  return {Cause::bad_config,
          fmt::format("\"{}\": {}; allowed is mqtt://host:port or mqtts://host:port", url, why)};
}

// Where the host ends and ":port" begins; an IPv6 address is in brackets.
std::size_t end_of_host(std::string_view rest) {
  if (!rest.starts_with('[')) return std::min(rest.find(':'), rest.size());
  const std::size_t bracket = rest.find(']');
  return bracket == std::string_view::npos ? 0 : bracket + 1;
}

std::string without_brackets(std::string_view host) {
  if (host.starts_with('[')) host = host.substr(1, host.size() - 2);
  return std::string(host);
}

}  // namespace

Result<BrokerAddress> parse_broker_url(std::string_view url) {
  BrokerAddress address;
  std::string_view rest = url;
  address.tls = take_prefix(rest, "mqtts://");
  if (!address.tls && !take_prefix(rest, "mqtt://")) return bad_url(url, "unknown scheme");
  if (rest.ends_with('/')) rest.remove_suffix(1);
  // The url itself is not repeated in this one: it may hold a password.
  if (rest.find('@') != std::string_view::npos) {
    return Error{Cause::bad_config, "mqtt url holds credentials: use username and password_file"};
  }
  if (rest.find_first_of("/?# ") != std::string_view::npos) return bad_url(url, "more than host and port");
  const std::size_t host_end = end_of_host(rest);
  address.host = without_brackets(rest.substr(0, host_end));
  if (address.host.empty()) return bad_url(url, "no host");
  address.port = address.tls ? "8883" : "1883";
  rest.remove_prefix(host_end);
  if (rest.empty()) return address;
  if (!take_prefix(rest, ":") || !is_port(rest)) return bad_url(url, "no such port");
  address.port = rest;
  return address;
}

std::string BrokerAddress::text() const {
  return host.find(':') == std::string::npos ? host + ":" + port : "[" + host + "]:" + port;
}

std::string BrokerAddress::library_uri() const { return (tls ? "ssl://" : "tcp://") + text(); }

}  // namespace coilward
