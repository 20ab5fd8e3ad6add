#include "daemon/web/cookies.h"

#include <fmt/format.h>

#include <algorithm>

namespace coilward {
namespace {

std::string sent_name(std::string_view name, bool secure) {
  return fmt::format("{}{}", secure ? "__Host-" : "", name);
}

}  // namespace

std::string cookie_value(std::string_view field, std::string_view name, bool secure) {
  const std::string start = sent_name(name, secure) + "=";
  while (!field.empty()) {
    std::string_view pair = field.substr(0, field.find(';'));
    field.remove_prefix(std::min(pair.size() + 1, field.size()));
    pair.remove_prefix(std::min(pair.find_first_not_of(' '), pair.size()));
    if (pair.starts_with(start)) return std::string(pair.substr(start.size()));
  }
  return {};
}

std::string set_cookie(std::string_view name, std::string_view value, std::chrono::seconds lasts,
                       bool secure) {
  return fmt::format("{}={}; Path=/; HttpOnly; SameSite=Lax; Max-Age={}{}", sent_name(name, secure), value,
                     lasts.count(), secure ? "; Secure" : "");
}

}  // namespace coilward
