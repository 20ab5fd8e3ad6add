#include "daemon/intake/sample_judge.h"

#include <fmt/format.h>

#include <cmath>

namespace coilward {
namespace {

std::string_view view_of(coilward_text text) {
  return text.data ? std::string_view(text.data, text.size) : std::string_view();
}

void refuse(Sample& sample, Reject reason, std::string why) {
  sample.reject = reason;
  sample.why = std::move(why);
}

// A channel that the user gave to the sensor counts, then the name's, then the topic's.
std::optional<Channel> channel_of(std::string_view name, const TopicSource& source, const Config& config) {
  if (name.empty() || (source.sensor >= 0 && source.channel)) return source.channel;
  const auto named = channel_at_end(name, config);
  return named ? named : source.channel;
}

// The payload's unit counts, then the configured one, then the channel's own.
std::string_view unit_of(std::string_view said, const TopicSource& source, const Config& config) {
  if (!said.empty() || source.sensor < 0) return said;
  return config.sensors[static_cast<std::size_t>(source.sensor)].unit;
}

bool convert(Sample& sample, double raw, std::string_view unit, const Config& config) {
  const Quantity quantity = quantity_of(sample.channel->kind);
  sample.value = raw;
  if (unit.empty()) return true;
  const UnitRule* rule = find_unit(unit);
  if (rule && rule->quantity == quantity) {
    sample.value = raw * rule->factor + rule->offset;
    return true;
  }
  refuse(sample, Reject::wrong_unit,
         fmt::format("found unit \"{}\" for {}; allowed are {}", unit.substr(0, 32),
                     channel_text(*sample.channel, config), units_of(quantity)));
  return false;
}

Range range_of(Channel channel, const TopicSource& source, const Config& config) {
  Range range = plausible(quantity_of(channel.kind));
  if (source.sensor < 0) return range;
  const double rating = config.sensors[static_cast<std::size_t>(source.sensor)].max_value;
  if (measured(rating)) range.high = rating;
  return range;
}

void judge_value(Sample& sample, const TopicSource& source, const Config& config) {
  const Quantity quantity = quantity_of(sample.channel->kind);
  if (!std::isfinite(sample.value))
    return refuse(sample, Reject::bad_value, "the value is not a finite number");
  if (quantity == Quantity::boolean) {
    if (sample.value != 0 && sample.value != 1)
      refuse(sample, Reject::bad_value, fmt::format("found {}; a command is 1 or 0", sample.value));
    return;
  }
  const Range range = range_of(*sample.channel, source, config);
  if (sample.value >= range.low && sample.value <= range.high) return;
  const std::string_view unit = channel_unit(sample.channel->kind);
  refuse(
      sample, Reject::implausible,
      fmt::format("found {:g} {}; plausible are {:g} to {:g} {}{}", sample.value, unit, range.low, range.high,
                  unit, quantity == Quantity::celsius ? "" : fmt::format(": is the unit m{}?", unit)));
}

}  // namespace

Sample judged(const coilward_value& value, const TopicSource& source, const Config& config) {
  Sample sample;
  sample.time_kind = value.time_kind;
  sample.time_us = value.time_us;
  sample.channel = channel_of(view_of(value.name), source, config);
  if (!sample.channel)
    refuse(sample, Reject::not_a_channel,
           fmt::format("neither the topic nor the name \"{}\" ends in a channel of this site",
                       view_of(value.name).substr(0, 64)));
  else if (convert(sample, value.value, unit_of(view_of(value.unit), source, config), config))
    judge_value(sample, source, config);
  return sample;
}

}  // namespace coilward
