// What a person may do at a site. Thread: any.
#pragma once

#include <cstdint>
#include <optional>
#include <string_view>

namespace coilward {

enum class Role : std::uint8_t {
  homeowner,   // reads, and acknowledges alerts
  technician,  // everything of the site
};

constexpr std::string_view role_name(Role role) {
  return role == Role::technician ? "technician" : "homeowner";
}
constexpr std::optional<Role> role_from_name(std::string_view name) {
  if (name == role_name(Role::technician)) return Role::technician;
  if (name == role_name(Role::homeowner)) return Role::homeowner;
  return std::nullopt;
}

}  // namespace coilward
