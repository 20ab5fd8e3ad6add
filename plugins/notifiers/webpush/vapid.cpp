#include "plugins/notifiers/webpush/vapid.h"

#include <algorithm>
#include <nlohmann/json.hpp>

#include "plugins/notifiers/webpush/base64url.h"

namespace coilward_plugins {
namespace {

constexpr std::string_view kHttps = "https://";

bool sound(std::string_view url) {
  return std::all_of(url.begin(), url.end(),
                     [](unsigned char c) { return c > 0x20 && c < 0x7f && c != '"'; });
}

}  // namespace

std::string push_origin(std::string_view endpoint) {
  if (!endpoint.starts_with(kHttps) || !sound(endpoint)) return {};
  const auto end = std::min(endpoint.size(), endpoint.find_first_of("/?#", kHttps.size()));
  const std::string_view host = endpoint.substr(kHttps.size(), end - kHttps.size());
  if (host.empty() || host.find_first_of("@\\") != std::string_view::npos) return {};
  return std::string(endpoint.substr(0, end));
}

std::string vapid_token(const PushKey& key, std::string_view origin, std::string_view contact,
                        std::time_t until) {
  const nlohmann::ordered_json head = {{"typ", "JWT"}, {"alg", "ES256"}},
                               claims = {{"aud", origin}, {"exp", until}, {"sub", contact}};
  const std::string text = base64url(head.dump()) + "." + base64url(claims.dump());
  return text + "." + base64url(key.sign(text));
}

std::string vapid_field(const PushKey& key, std::string_view origin, std::string_view contact,
                        std::time_t now) {
  return "vapid t=" + vapid_token(key, origin, contact, now + kVapidLasts) + ", k=" + base64url(key.point());
}

}  // namespace coilward_plugins
