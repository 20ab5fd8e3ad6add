#include "daemon/intake/decoder_set.h"

#include <fmt/format.h>

#include "daemon/intake/channel_rules.h"

namespace coilward {
namespace {

Result<Decoder> measure_decoder(const Config& config, PluginHost& host, const std::string& name) {
  const auto settings = config.decoder_settings.find(name);
  return host.decoder(
      name, settings == config.decoder_settings.end() ? nlohmann::ordered_json::object() : settings->second,
      {config.file, 0, "[decoder." + name + "]"});
}

Result<bool> check_names(const Config& config) {
  for (const auto& [name, settings] : config.decoder_settings)
    if (name != "number" && name != "senml" && name != "json")
      return Error{
          Cause::bad_config,
          fmt::format(
              "{}: [decoder.{}]: allowed are decoder.number, decoder.senml and decoder.json, those of "
              "topics under measure/; any other has its settings in its [[sensor]]",
              config.file, name)};
  return true;
}

// A unit that cannot be the channel's is a slip in the file, not in the payload.
Result<bool> check_unit(const Config& config, const SensorConfig& sensor) {
  const auto channel = parse_channel(sensor.channel, config);
  const UnitRule* unit = find_unit(sensor.unit);
  if (!channel || sensor.unit.empty() || (unit && unit->quantity == quantity_of(channel->kind))) return true;
  return Error{Cause::bad_config,
               fmt::format("{}:{}: sensor.unit: found \"{}\" for {}; allowed are {}", config.file,
                           sensor.line, sensor.unit, sensor.channel, units_of(quantity_of(channel->kind)))};
}

}  // namespace

Result<DecoderSet> DecoderSet::make(const Config& config, PluginHost& host) {
  if (const auto fine = check_names(config); !fine) return fine.error();
  auto number = measure_decoder(config, host, "number");
  if (!number) return number.error();
  auto senml = measure_decoder(config, host, "senml");
  if (!senml) return senml.error();
  auto json = measure_decoder(config, host, "json");
  if (!json) return json.error();
  DecoderSet set(std::move(*number), std::move(*senml), std::move(*json));
  for (const SensorConfig& sensor : config.sensors) {
    if (const auto fine = check_unit(config, sensor); !fine) return fine.error();
    auto decoder = host.decoder(sensor.decoder, sensor.settings,
                                {config.file, sensor.line, "[[sensor]] " + sensor.topic});
    if (!decoder) return decoder.error();
    set.sensors_.push_back(std::move(*decoder));
  }
  return set;
}

Decoder& DecoderSet::choose(const TopicSource& source, std::string_view payload) {
  if (source.sensor >= 0) return sensors_[static_cast<std::size_t>(source.sensor)];
  const auto first = payload.find_first_not_of(" \t\r\n");
  const unsigned char byte = first == std::string_view::npos ? 0 : static_cast<unsigned char>(payload[first]);
  if (byte == '[' || (byte >= 0x80 && byte <= 0x9F)) return senml_;  // RFC 8949 section 3: major type 4
  return byte == '{' ? json_ : number_;
}

}  // namespace coilward
