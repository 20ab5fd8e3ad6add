#include "daemon/config/config.h"

#include <fmt/format.h>

#include <algorithm>
#include <charconv>

namespace coilward {
namespace {

// "zone/<n>/current" and the like; nullopt when the text is of another form.
std::optional<Channel> parse_zone_channel(std::string_view rest) {
  const auto slash = rest.find('/');
  if (slash == std::string_view::npos) return std::nullopt;
  int number = 0;
  const auto [end, error] = std::from_chars(rest.data(), rest.data() + slash, number);
  if (error != std::errc{} || end != rest.data() + slash || rest[0] == '0' || number < 1 || number > kMaxZone)
    return std::nullopt;
  const std::string_view what = rest.substr(slash + 1);
  const auto index = static_cast<std::uint8_t>(number);
  if (what == "current") return Channel{ChannelKind::zone_current, index};
  if (what == "voltage") return Channel{ChannelKind::zone_voltage, index};
  if (what == "command") return Channel{ChannelKind::zone_command, index};
  return std::nullopt;
}

template <class List>
int position_of(const List& list, std::string_view id) {
  for (std::size_t i = 0; i < list.size(); ++i)
    if (list[i].id == id) return static_cast<int>(i);
  return -1;
}

}  // namespace

const ZoneConfig* Config::zone(int number) const {
  if (number == kMasterZone) return master.present ? &master.output : nullptr;
  const auto it = std::lower_bound(zones.begin(), zones.end(), number,
                                   [](const ZoneConfig& z, int n) { return z.number < n; });
  return it != zones.end() && it->number == number ? &*it : nullptr;
}

int Config::box_by_id(std::string_view id) const { return position_of(boxes, id); }
int Config::common_by_id(std::string_view id) const { return position_of(commons, id); }

std::optional<Channel> parse_channel(std::string_view text, const Config& config) {
  constexpr std::string_view kZone = "zone/", kCommon = "common/", kCurrent = "/current";
  if (text.starts_with(kZone)) return parse_zone_channel(text.substr(kZone.size()));
  if (text == "master/current") return Channel{ChannelKind::master_current, 0};
  if (text == "master/command") return Channel{ChannelKind::master_command, 0};
  if (text == "supply/voltage") return Channel{ChannelKind::supply_voltage, 0};
  if (text == "air/temperature") return Channel{ChannelKind::air_temperature, 0};
  if (text == "soil/temperature") return Channel{ChannelKind::soil_temperature, 0};
  if (!text.starts_with(kCommon) || !text.ends_with(kCurrent) ||
      text.size() <= kCommon.size() + kCurrent.size())
    return std::nullopt;
  const int common =
      config.common_by_id(text.substr(kCommon.size(), text.size() - kCommon.size() - kCurrent.size()));
  if (common < 0) return std::nullopt;
  return Channel{ChannelKind::common_current, static_cast<std::uint8_t>(common)};
}

std::string channel_text(Channel channel, const Config& config) {
  switch (channel.kind) {
    case ChannelKind::zone_current:
      return fmt::format("zone/{}/current", channel.index);
    case ChannelKind::zone_voltage:
      return fmt::format("zone/{}/voltage", channel.index);
    case ChannelKind::zone_command:
      return fmt::format("zone/{}/command", channel.index);
    case ChannelKind::master_current:
      return "master/current";
    case ChannelKind::master_command:
      return "master/command";
    case ChannelKind::common_current:
      return channel.index < config.commons.size()
                 ? fmt::format("common/{}/current", config.commons[channel.index].id)
                 : "";
    case ChannelKind::supply_voltage:
      return "supply/voltage";
    case ChannelKind::air_temperature:
      return "air/temperature";
    case ChannelKind::soil_temperature:
      return "soil/temperature";
  }
  return "";
}

}  // namespace coilward
