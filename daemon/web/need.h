// What a route needs of who asks for it. Each one in the table (route_table.cpp) states it. Thread: any.
#pragma once

#include <cstddef>
#include <cstdint>
#include <string_view>

namespace coilward {

enum class Need : std::uint8_t {
  open,         // nothing: the way in, and files that say nothing of the site
  read,         // may look: a read-only link is enough
  acknowledge,  // lives there: a homeowner
  technician,   // works there
  person,       // has logged in, as whoever it is: for what is that person's own
  local,        // comes by the Unix socket: a local user's power
};

constexpr std::string_view need_name(Need need) {
  constexpr std::string_view kNames[] = {"open", "read", "acknowledge", "technician", "person", "local"};
  return kNames[static_cast<std::size_t>(need)];
}

}  // namespace coilward
