#include "daemon/intake/channel_rules.h"

namespace coilward {
namespace {

constexpr double kFahrenheit = 5.0 / 9.0;  // exact by definition: 32 degF is 0 Cel, 212 degF is 100

// The most usual first.
constexpr UnitRule kUnits[] = {
    {"A", Quantity::amps},
    {"mA", Quantity::amps, 1e-3},
    {"V", Quantity::volts},
    {"mV", Quantity::volts, 1e-3},
    {"boolean", Quantity::boolean},
    {"Cel", Quantity::celsius},
    {"degF", Quantity::celsius, kFahrenheit, -32 * kFahrenheit},
    {"K", Quantity::celsius, 1, -273.15},
    {"/", Quantity::boolean},
    {"degC", Quantity::celsius},
    {"\u00B0C", Quantity::celsius},
    {"\u00B0F", Quantity::celsius, kFahrenheit, -32 * kFahrenheit},
};

bool is_word_character(char c) {
  return (c >= '0' && c <= '9') || (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z');
}

// Where the word that ends before `end` begins.
std::size_t word_start(std::string_view name, std::size_t end) {
  while (end > 0 && is_word_character(name[end - 1])) --end;
  return end;
}

}  // namespace

Quantity quantity_of(ChannelKind kind) {
  switch (kind) {
    case ChannelKind::zone_current:
    case ChannelKind::master_current:
    case ChannelKind::common_current:
      return Quantity::amps;
    case ChannelKind::zone_voltage:
    case ChannelKind::supply_voltage:
      return Quantity::volts;
    case ChannelKind::zone_command:
    case ChannelKind::master_command:
      return Quantity::boolean;
    case ChannelKind::air_temperature:
    case ChannelKind::soil_temperature:
      return Quantity::celsius;
  }
  return Quantity::amps;
}

const UnitRule* find_unit(std::string_view name) {
  for (const auto& unit : kUnits)
    if (unit.name == name) return &unit;
  return nullptr;
}

std::string units_of(Quantity quantity) {
  std::string list;
  for (const auto& unit : kUnits)
    if (unit.quantity == quantity) list.append(list.empty() ? "" : ", ").append(unit.name);
  return list;
}

Range plausible(Quantity quantity) {
  switch (quantity) {
    case Quantity::amps:
      return {-0.5, 30};
    case Quantity::volts:
      return {-1, 400};
    case Quantity::celsius:
      return {-60, 90};
    case Quantity::boolean:
      return {0, 1};
  }
  return {0, 1};
}

// Channels have two or three words between slashes: "supply/voltage", "zone/4/current".
std::optional<Channel> channel_at_end(std::string_view name, const Config& config) {
  const auto last = name.rfind('/');
  if (last == std::string_view::npos || last == 0) return std::nullopt;
  const auto middle = name.rfind('/', last - 1);
  if (middle != std::string_view::npos)
    if (const auto channel = parse_channel(name.substr(word_start(name, middle)), config)) return channel;
  return parse_channel(name.substr(word_start(name, last)), config);
}

}  // namespace coilward
